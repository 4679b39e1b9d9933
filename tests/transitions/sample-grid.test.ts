import { describe, expect, it, test } from 'vitest'

import { findSampleGrid, isUsualRate } from '../../src/transitions/sample-grid.ts'
import { newRandom } from '../support/random.ts'

/** Edge times on a grid: gaps of a picture (a few samples) with scanlines without any in between. */
function sampleNumbers(seed: number, count = 4000): number[] {
  const random = newRandom(seed)
  const numbers: number[] = []
  let at = 17
  for (let i = 0; i < count; i++) {
    at += i % 300 === 299 ? 400 + random.below(2600) : 1 + random.below(6)
    numbers.push(at)
  }
  return numbers
}

/** Of sync alone: pulses of 134 to 135 samples, 1528 to 1529 apart. */
const syncNumbers = Array.from({ length: 400 }, (_, n) => [
  Math.ceil(1528.67 * n),
  Math.ceil(1528.67 * n + 134.1),
]).flat()

const rounded = (numbers: number[], ticksPerSample: number, round: (x: number) => number): Float64Array =>
  Float64Array.from(numbers, (number) => round(number * ticksPerSample))

describe('findSampleGrid', () => {
  // [sample rate, tick in seconds]
  const cases = [24e6, 24.5e6, 50e6, 67e6].flatMap((rate) =>
    [1e-9, 1e-10, 1e-8].map((tick) => [rate, tick] as const),
  )
  it.each(cases)('%d S/s in ticks of %d s, rounded or truncated', (rate, tick) => {
    const ticksPerSample = 1 / (rate * tick)
    for (const round of [Math.round, Math.floor]) {
      const ticks = rounded(sampleNumbers(rate / 1e6), ticksPerSample, round)
      const grid = findSampleGrid(ticks, ticks.length, tick)
      if (ticksPerSample < 3.5 && !Number.isInteger(ticksPerSample)) {
        // 1.5 ticks a sample, rounded: nothing to see
        expect(grid).toMatchObject({ intervalTicks: 1, coarserThanTick: false })
        continue
      }
      expect(grid.coarserThanTick).toBe(ticksPerSample > 1)
      expect(Math.abs(grid.intervalTicks / ticksPerSample - 1)).toBeLessThan(2e-7)
    }
  })

  test('a grid of whole ticks is found exactly', () => {
    for (const step of [2, 20, 41, 62_500]) {
      const ticks = rounded(sampleNumbers(5), step, Math.round)
      expect(findSampleGrid(ticks, ticks.length)).toEqual({
        intervalTicks: step,
        uncertaintyTicks: 0,
        coarserThanTick: true,
        rounded: false,
      })
    }
  })

  test('sync alone shows a grid at a usual rate, if the tick is known', () => {
    for (const [rate, tick] of [
      [24e6, 1e-9],
      [12e6, 1e-8],
      [48e6, 1e-12],
    ] as const) {
      const ticks = rounded(syncNumbers, 1 / (rate * tick), Math.round)
      expect(findSampleGrid(ticks, ticks.length, tick).intervalTicks * rate * tick).toBeCloseTo(1, 5)
      expect(findSampleGrid(ticks, ticks.length, null).coarserThanTick).toBe(false)
    }
  })

  test('times without a grid, and too few of them, are left alone', () => {
    const random = newRandom(3)
    let at = 0
    const ticks = Float64Array.from({ length: 5000 }, () => (at += 20 + random.below(1000)))
    expect(findSampleGrid(ticks, ticks.length, 1e-9).coarserThanTick).toBe(false)
    expect(findSampleGrid(rounded(sampleNumbers(1, 30), 41.667, Math.round), 30, 1e-9).coarserThanTick).toBe(
      false,
    )
    expect(findSampleGrid(new Float64Array(0), 0).coarserThanTick).toBe(false)
  })
})

describe('isUsualRate', () => {
  it.each([
    [1 / 24e6, 1, true],
    [41.6666667, 1e-9, true],
    [20, 1e-9, true],
    [80, 1e-9, true],
    [61.512, 1e-9, false], // 16.257 MHz
    [69.8413, 1e-9, false], // 14.318 MHz
    [41, 1e-9, false],
    [41.6666667, null, false],
  ] as const)('%d ticks of %s s: %s', (ticks, secondsPerTick, usual) => {
    expect(isUsualRate(ticks, secondsPerTick)).toBe(usual)
  })
})
