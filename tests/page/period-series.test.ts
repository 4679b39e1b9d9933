// Every scanline is in the chart and in one bar of the histogram.

import { expect, it } from 'vitest'
import { measureCapture } from '../../src/measure.ts'
import { periodSeries } from '../../src/page/period-series.ts'
import { stillChart } from '../../src/page/still-chart.ts'
import { smallCapture } from '../support/small-captures.ts'
import { TIMINGS } from '../support/timings.ts'

const total = (counts: readonly number[]): number => counts.reduce((sum, count) => sum + count, 0)

it('has bars of one sample, and every period in one of them', async () => {
  const measurement = await measureCapture([smallCapture('cga80', { hsyncJitterSeconds: 60e-9 })])
  const series = periodSeries(measurement)!
  expect(series).toMatchObject({ scanlinesPerPoint: 1, barIsSample: true })
  expect(series.barUs).toBeCloseTo(1 / 24, 6)
  expect(total(series.counts)).toBe(series.periodUs.length)
  // some samples of jitter make some bars, all within one sample of a true period
  expect(series.counts.filter((count) => count > 0).length).toBeGreaterThan(4)
  for (const [i, count] of series.counts.entries()) {
    const within = series.periodUs.filter((value) => Math.abs(value - series.binUs[i]!) < series.barUs / 2)
    expect(within).toHaveLength(count)
  }
  expect([series.counts[0], series.counts.at(-1)]).toEqual([0, 0])
})

it('shows when the card sways', async () => {
  // periods are longest where the sway rises fastest: at its whole turns
  const hertz = 125
  const capture = smallCapture('cga80', { startFrames: 0, hum: { hertz, amplitudeSeconds: 2e-6 } })
  const { timeMs, periodUs } = periodSeries(await measureCapture([capture]))!
  const swings = timeMs.map((ms, i) => ({
    turn: (ms / 1e3) * hertz,
    long: periodUs[i]! - (TIMINGS.cga80.h.total / TIMINGS.cga80.dotClockHz) * 1e6,
  }))
  const mean = (from: number, to: number): number => {
    const some = swings.filter(({ turn }) => turn % 1 >= from && turn % 1 < to)
    return total(some.map(({ long }) => long)) / some.length
  }
  // a sine's slope: 2 pi f A T at a whole turn, that much less at half a turn
  const slope = 2 * Math.PI * hertz * 2 * 63.7e-6
  expect(mean(0, 0.1) / slope).toBeGreaterThan(0.7)
  expect(mean(0.45, 0.55) / slope).toBeLessThan(-0.7)
})

it('marks the faults at their times', async () => {
  const place = { frame: 1, scanline: 100 }
  const capture = smallCapture('cga80', { startFrames: 0, shiftedHsync: [{ ...place, seconds: 0.5e-6 }] })
  const measurement = await measureCapture([capture])
  const { faultsMs } = periodSeries(measurement)!
  const scanlineMs = (TIMINGS.cga80.h.total / TIMINGS.cga80.dotClockHz) * 1e3
  expect(faultsMs).toHaveLength(1)
  const expected = (TIMINGS.cga80.v.total + 100) * scanlineMs + 0.5e-3
  expect(Math.abs(faultsMs[0]! - expected)).toBeLessThan(1e-4)
})

it('averages a long capture, and says so', async () => {
  const capture = smallCapture('cga80', { frames: 10, omit: ['R', 'G', 'B', 'I'] })
  const series = periodSeries(await measureCapture([capture]))!
  expect(series.scanlinesPerPoint).toBe(2)
  expect(series.barIsSample).toBe(false)
  expect(total(series.counts)).toBe(series.periodUs.length)
})

it('draws a still chart that stays in its frame', () => {
  const chart = { xLabel: 'time', yLabel: 'period', title: 'T', x: [0, 1, 2, 3], y: [5, 5, 9, 5] }
  for (const kind of ['line', 'bars'] as const) {
    const { text } = stillChart({ ...chart, kind })
    const path = new RegExp(`class="${kind}" d="([^"]*)"`).exec(text)![1]!
    const numbers = path.match(/-?\d+(\.\d+)?/g)!.map(Number)
    expect(numbers.length).toBeGreaterThan(6)
    expect(Math.min(...numbers)).toBeGreaterThanOrEqual(0)
    expect(Math.max(...numbers)).toBeLessThanOrEqual(640)
    expect(text).not.toContain('NaN')
  }
})

it('draws equal periods as a level line', () => {
  const { text } = stillChart({ kind: 'line', xLabel: '', yLabel: '', title: '', x: [0, 1, 2], y: [7, 7, 7] })
  expect(text).not.toContain('NaN')
  const [, path] = /class="line" d="([^"]*)"/.exec(text)!
  expect(
    new Set(
      path!
        .split(/[ML]/)
        .filter(Boolean)
        .map((point) => point.split(' ')[1]),
    ).size,
  ).toBe(1)
})
