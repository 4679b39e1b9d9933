// A small part of `npm run calibrate` with seeds of its own: whether uncertainties still say how far values are off.

import { describe, expect, it, test } from 'vitest'

import { LineSeries } from '../../src/sync/line-series.ts'
import { WidthSeries } from '../../src/sync/pulse-width.ts'
import { VsyncWidth } from '../../src/sync/vsync-width.ts'
import { newRandom, type Random } from '../support/random.ts'
import { calibrationOf } from './calibrate.ts'
import { randomScope } from './random-scope.ts'
import { boundRatio, type BoundCase } from './rate-bound.ts'
import { CalibrationTally, DEMANDED, type CalibrationRow } from './tally.ts'

/** Shares as demanded, with three standard deviations of a share of so many trials. */
function expectHeld(row: CalibrationRow): void {
  for (const key of ['within1', 'within2', 'within3'] as const) {
    const [least, most] = DEMANDED[key]
    const spread = (share: number): number => 3 * Math.sqrt((share * (1 - share)) / row.count)
    const shown = `${row.quantity}, ${key}`
    expect(row[key], shown).toBeGreaterThanOrEqual(least - spread(least))
    expect(row[key], shown).toBeLessThanOrEqual(most + spread(most))
  }
}

/** Sync alone, in samples: leading and trailing edges by scanline, frames of 262 scanlines. */
interface DrawnSync {
  period: number
  width: number
  vsyncWidth: number
  jitter: number
  scanlines: number
}

function measureSync(random: Random, sync: DrawnSync, tally: CalibrationTally): number {
  const { period, width, vsyncWidth, jitter, scanlines } = sync
  const start = random.uniform()
  const seen = (at: number): number => Math.ceil(at + jitter * random.gaussian())
  const line = new LineSeries(Math.round(period))
  const widths = new WidthSeries()
  const vsync = new VsyncWidth()
  for (let n = 0; n < scanlines; n++) {
    const at = start + n * period
    const lead = seen(at)
    line.add(n, lead)
    widths.add(n, seen(at + width) - lead)
    if (n % 262 === 0) vsync.add(n, seen(at + vsyncWidth + 3.3) - seen(at + 3.3))
  }
  const fit = line.fit(1)!
  const judged = [
    { quantity: 'period', ...fit.period, truth: period },
    { quantity: 'hsync width', ...widths.mean(fit, 1)!.width, truth: width },
    { quantity: 'vsync width', ...vsync.mean(fit.period.value, jitter, 1)!, truth: vsyncWidth },
  ]
  tally.add(judged, [])
  return fit.period.value - period
}

describe('uncertainties of sync alone', () => {
  // standard deviation of the edges, in samples: what little jitter stirs up is the hardest to judge
  test.each([
    [0, 0],
    [0.02, 0.2],
    [0.2, 2],
  ])('with %d to %d samples of jitter', (least, most) => {
    const random = newRandom(4000 + 100 * most)
    const tally = new CalibrationTally()
    const bounds: BoundCase[] = []
    for (let trial = 0; trial < 400; trial++) {
      const sync = {
        period: 700 + 2000 * random.uniform(),
        width: 60 + 100 * random.uniform(),
        vsyncWidth: 9000 * random.uniform() + 2000,
        jitter: least === 0 ? 0 : least * (most / least) ** random.uniform(),
        scanlines: 350 + random.below(1400),
      }
      const error = measureSync(random, sync, tally)
      bounds.push({
        errorHz: error / sync.period ** 2,
        samplesPerScanline: sync.period,
        sampleRateHz: 1,
        jitterSamples: sync.jitter,
        digitSamples: 0,
        scanlines: sync.scanlines,
      })
    }
    for (const row of tally.rows()) {
      // errors of a regular beat are bounded: without jitter, what is stated may be more than they need, never less
      const mayBeWide = least === 0 && (row.quantity === 'period' || row.quantity === 'hsync width')
      if (!mayBeWide) expectHeld(row)
      else {
        expect(row.within1, row.quantity).toBeGreaterThan(0.6)
        expect(row.within3, row.quantity).toBeGreaterThan(0.99)
      }
    }
    expect(boundRatio(bounds).beating).toBeLessThan(1.3)
  })

  it('with a clock that walks: not demanded, but no more than a third off', () => {
    const random = newRandom(4500)
    const tally = new CalibrationTally()
    for (let trial = 0; trial < 300; trial++) {
      const step = 0.02 * 10 ** random.uniform()
      const series = new LineSeries(1529)
      let walk = 0
      for (let n = 0; n < 900; n++) {
        series.add(n, Math.ceil(1528.6789 * n + walk))
        walk += step * random.gaussian()
      }
      tally.add([{ quantity: 'period', ...series.fit(1)!.period, truth: 1528.6789 }], [])
    }
    const [row] = tally.rows()
    expect(row!.within1).toBeGreaterThan(0.5)
    expect(row!.within2).toBeGreaterThan(0.83)
    expect(row!.within3).toBeGreaterThan(0.93)
  })
})

it('uncertainties of whole captures', { timeout: 60_000 }, () => {
  const { tally, refused } = calibrationOf(14, 9_000_000)
  expect(refused).toEqual([])
  const judged = tally.rows().map(({ quantity }) => quantity)
  for (const quantity of [
    'scanline rate',
    'frame rate',
    'hsync width',
    'vsync width',
    'dot clock',
    'sample interval',
  ])
    expect(judged).toContain(quantity)
  for (const { quantity, rms, count } of tally.rows()) {
    // the mean square of n normal errors, four of its standard deviations up; a factor of five down
    expect(rms, quantity).toBeLessThan(Math.sqrt(1 + 4 * Math.sqrt(2 / count)))
    if (count > 5) expect(rms, quantity).toBeGreaterThan(0.2)
  }
  // of area and porches what is lit is measured, and text need not reach the edges of its own page
  const proven = [
    'scanlines per frame',
    'dots per scanline',
    'sample interval, exact',
    'sample interval, found',
  ]
  for (const { quantity, wrong } of tally.counts())
    if (proven.includes(quantity)) expect(wrong, quantity).toBe(0)
})

it('uncertainties of voltages, which place edges between samples', { timeout: 60_000 }, () => {
  const { tally, refused } = calibrationOf(10, 9_100_000, randomScope)
  expect(refused).toEqual([])
  const rows = tally
    .rows()
    .filter(({ quantity }) => quantity === 'scanline rate' || quantity === 'hsync width')
  expect(rows).toHaveLength(2)
  for (const { quantity, rms, count } of rows) {
    expect(count).toBe(10)
    expect(rms, quantity).toBeLessThan(Math.sqrt(1 + 4 * Math.sqrt(2 / count)))
    // whole samples for every edge would make it a tenth of that
    expect(rms, quantity).toBeGreaterThan(0.2)
  }
})
