import { describe, expect, it, test } from 'vitest'

import { LineSeries } from '../../src/sync/line-series.ts'
import { WidthSeries, type PulseWidth } from '../../src/sync/pulse-width.ts'
import { newRandom } from '../support/random.ts'

/** Leading and trailing edges in samples, each seen at the next whole sample. */
function measured(scanlines: number, lead: (n: number) => number, trail: (n: number) => number): PulseWidth {
  const line = new LineSeries(Math.round(lead(1) - lead(0)))
  const widths = new WidthSeries()
  for (let n = 0; n < scanlines; n++) {
    const seen = Math.ceil(lead(n))
    line.add(n, seen)
    widths.add(n, Math.ceil(trail(n)) - seen)
  }
  return widths.mean(line.fit(1)!, 1)!
}

/** Largest error, in uncertainties, over evenly spread places of the first edge between two samples. */
function worst(scanlines: number, period: number, width: number): number {
  let most = 0
  for (let place = 0; place < 16; place++) {
    const lead = (n: number): number => (place + 0.5) / 16 + n * period
    const found = measured(scanlines, lead, (n) => lead(n) + width).width
    most = Math.max(most, Math.abs(found.value - width) / found.uncertainty)
  }
  return most
}

describe('hsync width', () => {
  it('is the mean, over edges that take all places between two samples alike', () => {
    // a period of n + 1/5 sample takes five places in turn: the mean of the pulses is off by less than a fifth
    const { value, uncertainty } = measured(
      1000,
      (n) => 0.05 + n * 1528.2,
      (n) => 0.05 + n * 1528.2 + 70.3,
    ).width
    expect(Math.abs(value - 70.3)).toBeLessThan(0.2)
    expect(uncertainty).toBeGreaterThan(0.03)
    expect(uncertainty).toBeLessThan(0.2)
  })

  // near n + p/q the edges take q places, for longer than the capture: how far off a mean is then depends on where they are
  test.each([
    ['q of 8', 974, 1296.125_02],
    ['q of 40', 1200, 1777.025_002],
    ['q of 281, more than the harmonics that are followed', 2507, 1777 + 185 / 281 + 1e-8],
    ['no such fraction', 1500, 1777 + (Math.sqrt(5) - 1) / 2],
  ])('is as sure as its beats allow: %s', (_, scanlines, period) => {
    for (const width of [125.693, 168.01, 196.851]) expect(worst(scanlines, period, width)).toBeLessThan(3)
  })

  it('holds where few pulses of many show that it is no whole number', () => {
    // the whole card jitters: both edges of a pulse alike, which shows as one sample more in one pulse of some hundred
    const random = newRandom(8)
    const [scanlines, trials] = [700, 400]
    let beyond = 0
    for (let trial = 0; trial < trials; trial++) {
      const off = (10 / scanlines) * random.uniform()
      const width = 168 + (trial % 2 === 0 ? off : -off)
      const jitter = Float64Array.from({ length: scanlines }, () => random.gaussian())
      const lead = (n: number): number => 2592.04 * n + jitter[n]!
      const found = measured(scanlines, lead, (n) => lead(n) + width).width
      if (Math.abs(found.value - width) > 3 * found.uncertainty) beyond++
    }
    // 0.3 % demanded of three uncertainties, and three standard deviations of such a share
    expect(beyond).toBeLessThanOrEqual(Math.floor(trials * 0.003 + 3 * Math.sqrt(trials * 0.003)))
  })

  it('knows of a Poisson count how far the mean may be: three roots of five more', () => {
    // Poisson distribution, summed up: what is demanded of three uncertainties holds of any mean
    for (let mean = 0.1; mean < 60; mean += 0.1) {
      let [inside, chance] = [0, Math.exp(-mean)]
      for (let count = 0; count < 200; count++) {
        if (Math.abs(count - mean) <= 3 * Math.sqrt(count + 5)) inside += chance
        chance *= mean / (count + 1)
      }
      expect(inside, `mean ${mean}`).toBeGreaterThan(0.995)
    }
  })
})
