import { linearRegression, linearRegressionLine, mean, standardDeviation } from 'simple-statistics'
import { describe, expect, it } from 'vitest'

import { narrowestStrip, roundedLine } from '../../src/transitions/rounded-line.ts'
import { between, newRandom } from '../support/random.ts'

const numbers = (...values: number[]): Float64Array => Float64Array.from(values)

describe('roundedLine', () => {
  it('weighs slopes by the room that two points leave: a triangle', () => {
    // heights 0 and 1, a length of 1 apart: slopes from 0 to 2, most room at 1; a triangle's variance is its half base^2 / 6
    const found = roundedLine(numbers(0, 1), numbers(0, 1))!
    expect(found.slope).toBeCloseTo(1, 4)
    expect(found.sigma).toBeCloseTo(Math.sqrt(1 / 6), 3)
  })

  it('is bounded by whatever point comes nearest', () => {
    // a point in the middle, half a step up, forbids nothing at slope 1 but cuts off the flat and the steep ones
    const found = roundedLine(numbers(0, 1, 2), numbers(0, 1, 2))!
    expect(found.slope).toBeCloseTo(1, 4)
    expect(found.sigma).toBeLessThan(Math.sqrt(1 / 24) + 1e-3)
    // 0, 1, 1: between slope 0, where only b = 1/2 is left, and slope 1, where only b = 0 - 1/2 + 1 is
    const bent = roundedLine(numbers(0, 1, 2), numbers(0, 1, 1))!
    expect(bent.slope).toBeCloseTo(0.5, 3)
  })

  it('finds no line through points that no line was rounded to', () => {
    expect(roundedLine(numbers(0, 1, 2), numbers(0, 2, 0))).toBeUndefined()
    expect(roundedLine(numbers(0, 0), numbers(0, 0))).toBeUndefined()
    const random = newRandom(4)
    const x = Float64Array.from({ length: 100 }, (_, n) => n)
    expect(
      roundedLine(
        x,
        x.map((at) => 0.37 * at + random.gaussian()),
      ),
    ).toBeUndefined()
  })

  it('agrees with random lines, thrown until they round to the points', () => {
    // Monte Carlo for what the integral gives: the lines of all slopes and heights that give these very points
    const random = newRandom(9)
    const x = numbers(0, 1, 3, 4, 7, 11)
    const heights = (slope: number, height: number): Float64Array =>
      x.map((at) => Math.round(slope * at + height))
    const points = heights(0.4321, 0.2)
    const hits: number[] = []
    for (let i = 0; i < 400_000; i++) {
      const [slope, height] = [between(random, 0.2, 0.7), between(random, -1, 1.5)]
      if (heights(slope, height).every((value, n) => value === points[n])) hits.push(slope)
    }
    expect(hits.length).toBeGreaterThan(2000)
    const found = roundedLine(x, points)!
    expect(Math.abs(found.slope - mean(hits))).toBeLessThan((4 * found.sigma) / Math.sqrt(hits.length))
    expect(Math.abs(found.sigma / standardDeviation(hits) - 1)).toBeLessThan(4 / Math.sqrt(2 * hits.length))
  })
})

describe('narrowestStrip', () => {
  it('is as high as what was added to a line, of any slope', () => {
    expect(narrowestStrip(numbers(0, 1, 2, 3), numbers(0, 3, 6, 9))).toBeCloseTo(0, 9)
    // a line of slope 3/4 passes below two of these and another, 3/4 higher, above the others
    expect(narrowestStrip(numbers(0, 1, 2, 3), numbers(0, 1.5, 1.5, 3))).toBeCloseTo(0.75, 9)
    // a triangle is as high as it is over its base
    expect(narrowestStrip(numbers(0, 1, 2), numbers(5, 7, 5))).toBeCloseTo(2, 9)
    expect(narrowestStrip(numbers(4, 4), numbers(1, 3))).toBe(2)
  })

  it('is a sample for edges of a steady source, where the line of least squares leans', () => {
    const number = Float64Array.from({ length: 900 }, (_, n) => n)
    // two beats over the record: a sample later each time
    const offset = number.map((n) => Math.ceil(n / 450 - 0.5) - n / 450)
    const fitted = linearRegressionLine(linearRegression([...number].map((n, i) => [n, offset[i]!])))
    const off = [...number].map((n, i) => offset[i]! - fitted(n))
    expect(Math.max(...off) - Math.min(...off)).toBeGreaterThan(1.1)
    expect(narrowestStrip(number, offset)).toBeLessThan(1)
  })
})
