import { expect, it } from 'vitest'

import { newRandom } from './random.ts'

it('repeats itself for one seed and differs for the next', () => {
  const take = (seed: number): number[] => {
    const random = newRandom(seed)
    return Array.from({ length: 20 }, () => random.uniform())
  }
  expect(take(5)).toEqual(take(5))
  expect(take(5)).not.toEqual(take(6))
  // the multiplicative seed must not fall into the generator's fixed point 0
  for (const seed of [0, 1, 0x5bd1e995, -1]) expect(new Set(take(seed)).size).toBe(20)
})

it('has the moments of the uniform and the normal distribution', () => {
  const random = newRandom(3)
  const n = 20_000
  const uniforms = Array.from({ length: n }, () => random.uniform())
  const normals = Array.from({ length: n }, () => random.gaussian())
  const mean = (values: number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length
  const variance = (values: number[]): number => mean(values.map((value) => (value - mean(values)) ** 2))
  // five standard errors: sqrt(1/12/n), 1/sqrt(n), sqrt(2/n)
  expect(Math.abs(mean(uniforms) - 0.5)).toBeLessThan(5 * Math.sqrt(1 / 12 / n))
  expect(Math.abs(mean(normals))).toBeLessThan(5 / Math.sqrt(n))
  expect(Math.abs(variance(normals.slice(0, 2000)) - 1)).toBeLessThan(5 * Math.sqrt(2 / 2000))
  const inside = normals.filter((value) => Math.abs(value) < 1).length / n
  expect(Math.abs(inside - 0.6827)).toBeLessThan(0.02)
})
