// Lines through edges, and what lies about them: by hand, in samples of 10 ticks.

import { describe, expect, it, test } from 'vitest'
import { inliers, lineThroughMost, scattered, straightLine, withSteps } from '../../src/sync/edge-line.ts'

const SAMPLE = 10
const slots = (count: number): number[] => Array.from({ length: count }, (_, i) => i)

describe('straightLine', () => {
  it('goes through the points it can', () => {
    const exact = straightLine([0, 1, 3], [1e9 + 5, 1e9 + 7, 1e9 + 11])
    expect(exact.slope).toBeCloseTo(2, 9)
    expect(exact.atZero).toBeCloseTo(1e9 + 5, 6)
    expect(exact.rms).toBeCloseTo(0, 6)
    // least squares of 0, 0, 3, 3 at 0 to 3: slope 1.2, ends 0.3 off, middles 0.9
    const fitted = straightLine([0, 1, 2, 3], [0, 0, 3, 3])
    expect(fitted.slope).toBeCloseTo(1.2, 12)
    expect(fitted.atZero).toBeCloseTo(-0.3, 12)
    expect(fitted.rms).toBeCloseTo(Math.sqrt((0.09 + 0.81 + 0.81 + 0.09) / 4), 12)
  })

  it('is none through one point, whatever lies there', () => {
    const { slope, atZero, rms } = straightLine([4, 4], [7, 9])
    expect(slope).toBeNaN()
    expect([atZero, rms]).toEqual([8, 0])
  })
})

describe('inliers', () => {
  it('takes most of the values that lie within 1.3 samples', () => {
    expect(inliers([0, 3, 13, 40, 9, 5, 7, 2, 1, 4], SAMPLE)).toMatchObject({
      lowest: 0,
      highest: 13,
      count: 9,
    })
    const { mean, scatter } = inliers([0, 10, 0, 10, 0, 10, 0, 10], SAMPLE)
    expect([mean, scatter]).toEqual([5, 5])
    // one more beyond: two sets, of which the larger one is too small
    expect(inliers([0, 0, 0, 0, 0, 0, 14], SAMPLE)).toMatchObject({ highest: 0, count: 6 })
  })

  it('takes those within three deviations where too few lie together', () => {
    const values = slots(21).map((i) => 10 * (i - 10))
    const spread = inliers([...values, 2000], SAMPLE)
    expect(spread).toMatchObject({ lowest: -100, highest: 100, count: 21 })
    expect(spread.mean).toBeCloseTo(0, 9)
  })

  it('jitter: three deviations, as the median tells them, or one and a half samples', () => {
    // median 0, median deviation 1
    const values = [-2, -1, -1, 0, 0, 1, 1, 2, 14.9, 15.1, -15, -16]
    expect(scattered(values, SAMPLE)).toMatchObject({ lowest: -15, highest: 14.9, count: 10 })
    // median deviation 10: reach 44.5
    const wide = [-44, -20, -10, -10, 0, 0, 0, 10, 10, 20, 44.4, 44.6, -45]
    expect(scattered(wide, SAMPLE)).toMatchObject({ lowest: -44, highest: 44.4, count: 11 })
  })
})

describe('lineThroughMost', () => {
  const trails = (lead: readonly number[]): number[] => lead.map((tick) => tick + 200)

  it('leaves out edges that are not on it', () => {
    const lead = slots(40).map((n) => 7 + 1000 * n)
    const good = [...lead]
    lead[10]! += 300
    lead[11]! -= 250
    const line = lineThroughMost({ slot: slots(40), periodTicks: 1002 }, lead, trails(good), SAMPLE)
    expect(line.periodTicks).toBeCloseTo(1000, 6)
    expect(line.startTick).toBeCloseTo(7, 4)
    expect(line.offsets[10]).toBeCloseTo(300, 3)
    expect(line.offsets[11]).toBeCloseTo(-250, 3)
    expect(line.offsets[39]).toBeCloseTo(0, 3)
  })

  it('tilts along a slow beat, as edges of a steady source lie within one sample', () => {
    // the scanline is 1/30 of a sample longer than 100 samples: 60 of them pass two beats
    const period = 1000 + SAMPLE / 30
    const at = (phase: number): number[] =>
      slots(45).map((n) => SAMPLE * Math.ceil((n * period + phase) / SAMPLE))
    const line = lineThroughMost({ slot: slots(45), periodTicks: 1000 }, at(1), at(204), SAMPLE)
    const spread = Math.max(...line.offsets) - Math.min(...line.offsets)
    expect(spread).toBeLessThan(1.04 * SAMPLE + 1e-9)
    expect(Math.abs(line.periodTicks - period) * 45).toBeLessThan(SAMPLE / 2)
  })

  it('stands still through one edge', () => {
    expect(lineThroughMost({ slot: [0], periodTicks: 1000 }, [50], [250], SAMPLE)).toMatchObject({
      periodTicks: 1000,
      startTick: 50,
      offsets: [0],
    })
  })
})

describe('withSteps', () => {
  const of = (
    offsets: number[],
    slot = slots(offsets.length),
    periodTicks = 1000,
  ): ReturnType<typeof withSteps> => withSteps({ slot, periodTicks }, offsets, periodTicks, SAMPLE)
  /** Of scanlines of 1002.5 ticks, as samples show them. */
  const steady = (count: number): number[] => slots(count).map((n) => [0, 7.5, 5, 2.5][n % 4]!)

  it('tells what neighbouring edges differ by', () => {
    // steps of one whole number of samples or the next: no jitter
    const { steps, isJittery, mean, lowest, highest } = of(steady(5), slots(5), 1002.5)
    expect(isJittery).toBe(false)
    expect([mean, lowest, highest]).toEqual([3, 0, 7.5])
    expect(steps).toEqual({ mean: 1002.5, variance: 18.75, last: 1000 })
    // two whole numbers that are no neighbours
    expect(of([0, 10, 0, 10, 0]).isJittery).toBe(true)
    // a scanline without a pulse makes no step
    expect(of([0, 10, 0], [0, 1, 3]).steps).toEqual({ mean: 1010, variance: 0, last: 1010 })
    expect(of([0, 0], [0, 2]).steps).toEqual({ mean: 1000, variance: 0, last: 1000 })
  })

  it('leaves steps from and to wrong edges out', () => {
    const list = Array.from({ length: 20 }, () => 0)
    list[7] = 50
    const { steps, isJittery, count } = of(list)
    expect([steps.mean, steps.variance, isJittery, count]).toEqual([1000, 0, false, 19])
  })

  it('three edges a little beside the others show jitter; moved ones lie further away', () => {
    const beside = (times: number, off: number): boolean => {
      const list = steady(40)
      for (let i = 0; i < times; i++) list[6 + 8 * i] = off
      return of(list, slots(40), 1002.5).isJittery
    }
    // more than 1.3 samples from the lowest, and less than 0.6 beyond the highest
    expect(beside(3, 13.4)).toBe(true)
    expect(beside(2, 13.4)).toBe(false)
    expect(beside(3, 13.6)).toBe(false)
    expect(beside(3, -5.9)).toBe(true)
    expect(beside(3, -6.1)).toBe(false)
  })

  it('jitters where not seven tenths lie together', () => {
    const apart = (together: number): boolean =>
      of([...Array.from({ length: together }, () => 0), ...slots(100 - together).map((i) => 40 + 40 * i)])
        .isJittery
    expect(apart(71)).toBe(false)
    expect(apart(69)).toBe(true)
  })
})

test('a value of a line is exact however large times are', () => {
  const far = 4e14
  const lead = slots(30).map((n) => far + 1528.67 * n)
  const line = lineThroughMost({ slot: slots(30), periodTicks: 1529 }, lead, lead, SAMPLE)
  expect(line.periodTicks).toBeCloseTo(1528.67, 1)
})
