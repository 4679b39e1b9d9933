import { linearRegression } from 'simple-statistics'
import { describe, expect, it, test } from 'vitest'

import { LineSeries } from '../../src/sync/line-series.ts'
import { newRandom } from '../support/random.ts'

describe('LineSeries', () => {
  it('has the slope of an ordinary regression', () => {
    const random = newRandom(1)
    const points = Array.from({ length: 700 }, (_, n) => [n, 1234 + 1528.67 * n + 3 * random.gaussian()])
    const series = new LineSeries(1529)
    for (const [number, tick] of points) series.add(number!, tick!)
    const { m } = linearRegression(points)
    expect(series.fit(1)!.period.value).toBeCloseTo(m, 9)
  })

  it('is not misled by gaps, or by a break of phase', () => {
    const random = newRandom(2)
    const series = new LineSeries(1000)
    for (let n = 0; n < 1200; n++) {
      if (n === 500) series.breakPhase()
      if (n % 7 === 3) continue
      series.add(n, 1000.123 * n + (n >= 500 ? 333 : 0) + 0.5 * random.gaussian())
    }
    const { period } = series.fit(1)!
    expect(Math.abs(period.value - 1000.123)).toBeLessThan(4 * period.uncertainty)
    // 0.5 over the root of the summed squares of both stretches, 6/7 of (500^3 + 700^3)/12, and a fourth more for wander
    // that may hide in the residuals
    const deviation = 0.5 / Math.sqrt(((6 / 7) * (500 ** 3 + 700 ** 3)) / 12)
    expect(period.uncertainty).toBeGreaterThan(0.9 * deviation)
    expect(period.uncertainty).toBeLessThan(1.25 * deviation)
  })

  it('costs no more for an hour than for a second', () => {
    const series = new LineSeries(1529)
    const random = newRandom(3)
    for (let n = 0; n < 300_000; n++) series.add(n, Math.ceil(1528.6789 * n + 0.3 * random.gaussian()))
    const { period, scanlines } = series.fit(1)!
    expect(scanlines).toBe(300_000)
    expect(Math.abs(period.value - 1528.6789)).toBeLessThan(4 * period.uncertainty)
    expect(period.uncertainty).toBeLessThan(1e-7)
  })

  it('tells nothing from one scanline', () => {
    const series = new LineSeries(1000)
    series.add(0, 0)
    expect(series.fit(1)).toBeUndefined()
  })

  describe('states an honest uncertainty', () => {
    const trials = 600
    // standard deviation of the edges, in samples; scanlines
    test.each([
      [0, 580],
      [0.1, 580],
      [0.5, 260],
      [3, 1100],
    ])('with %d samples of jitter over %d scanlines', (jitter, scanlines) => {
      const random = newRandom(Math.round(jitter * 10) + scanlines)
      let inside = 0
      let far = 0
      for (let trial = 0; trial < trials; trial++) {
        const period = 1300 + 400 * random.uniform()
        const start = 1000 * random.uniform()
        const series = new LineSeries(Math.round(period))
        for (let n = 0; n < scanlines; n++) {
          series.add(n, Math.ceil(start + n * period + jitter * random.gaussian()))
        }
        const { value, uncertainty } = series.fit(1)!.period
        if (Math.abs(value - period) < uncertainty) inside++
        if (Math.abs(value - period) > 3 * uncertainty) far++
      }
      // Two thirds, within four standard deviations of the trial. Without jitter the quantisation errors of an even
      // beat nearly cancel, which the uncertainty may not rely on: there it may be larger.
      expect(inside / trials).toBeGreaterThan(0.68 - 4 * Math.sqrt((0.68 * 0.32) / trials))
      if (jitter > 0) expect(inside / trials).toBeLessThan(0.68 + 4 * Math.sqrt((0.68 * 0.32) / trials))
      expect(far / trials).toBeLessThan(0.02)
    })

    it('where the samples hardly beat with the scanlines', () => {
      const random = newRandom(8)
      let far = 0
      for (let trial = 0; trial < trials; trial++) {
        const period = 1296 + random.below(3) / 2 + 4e-3 * (random.uniform() - 0.5)
        const start = random.uniform()
        const series = new LineSeries(1296)
        for (let n = 0; n < 600; n++) series.add(n, Math.ceil(start + n * period))
        const { value, uncertainty } = series.fit(1)!.period
        if (Math.abs(value - period) > 3 * uncertainty) far++
      }
      expect(far / trials).toBeLessThan(0.02)
    })
  })
})
