import { describe, expect, it } from 'vitest'
import { PointSeries } from '../../src/sync/point-series.ts'

/** As many points as are kept before neighbours are joined. */
const CAPACITY = 2048

describe('PointSeries', () => {
  it('keeps every scanline by itself up to its capacity', () => {
    const series = new PointSeries()
    for (let n = 0; n < CAPACITY; n++) series.add(3 * n, n % 7)
    const { count, number, value, weight } = series.points()
    expect([count, series.scanlines, series.scanlinesPerPoint]).toEqual([CAPACITY, CAPACITY, 1])
    expect([...number.subarray(0, 4)]).toEqual([0, 3, 6, 9])
    expect([...value.subarray(5, 9)]).toEqual([5, 6, 0, 1])
    expect(weight.every((one) => one === 1)).toBe(true)
  })

  it('joins pairs when one more comes, and goes on in pairs', () => {
    const series = new PointSeries()
    for (let n = 0; n < CAPACITY + 3; n++) series.add(n, 10 * n)
    const { count, number, value, weight } = series.points()
    // 1024 pairs, then 2048 and 2049 as a pair and 2050 alone
    expect([count, series.scanlinesPerPoint]).toEqual([CAPACITY / 2 + 2, 2])
    expect([...number.subarray(0, 3)]).toEqual([0.5, 2.5, 4.5])
    expect([...value.subarray(CAPACITY / 2 - 1)]).toEqual([20465, 20485, 20500])
    expect([...weight.subarray(CAPACITY / 2 - 1)]).toEqual([2, 2, 1])
  })

  it('joins nothing across a break of phase, and weighs what it joins', () => {
    const series = new PointSeries()
    // three scanlines, a break, then so many that they are joined twice over
    for (let n = 0; n < 3; n++) series.add(n, 4 + n)
    series.breakPhase()
    for (let n = 3; n < 2 * CAPACITY + 3; n++) series.add(n, 100)
    const { number, value, weight } = series.points()
    // (0, 1) and 2 first, then all three: their means, not the mean of two means
    expect(series.scanlinesPerPoint).toBe(4)
    expect([number[0], value[0], weight[0]]).toEqual([1, 5, 3])
    expect([number[1], value[1], weight[1]]).toEqual([4.5, 100, 4])
    const [before, after] = series.stretches()
    expect(before).toEqual({ from: 0, to: 1, meanNumber: 1, meanValue: 5 })
    expect(after!.from).toBe(1)
    expect(after!.to).toBe(series.points().count)
    // 3 … 4098
    expect(after!.meanNumber).toBeCloseTo((3 + 2 * CAPACITY + 2) / 2, 9)
    expect(after!.meanValue).toBeCloseTo(100, 12)
    expect(weight.reduce((sum, one) => sum + one, 0)).toBe(series.scanlines)
  })

  it('has no stretch without a point', () => {
    expect(new PointSeries().stretches()).toEqual([])
  })
})
