// What sampling makes of a sync, against formulas, against samples drawn by chance, and against sums done by hand.

import { sampleVariance } from 'simple-statistics'
import { describe, expect, it, test } from 'vitest'
import { jitterFreeQuantisation, quantisationVariance } from '../../src/sync/quantisation.ts'
import { newRandom } from '../support/random.ts'

/** Edges of a scanline of so many samples, as they are seen; in samples. */
function seenEdges(samplesPerScanline: number, count: number, sigma: number, seed: number): number[] {
  const random = newRandom(seed)
  const phase = random.uniform()
  return Array.from({ length: count }, (_, n) =>
    Math.ceil(phase + n * samplesPerScanline + sigma * random.gaussian()),
  )
}

const differences = (values: readonly number[]): number[] =>
  values.slice(1).map((value, i) => value - values[i]!)

describe('without jitter', () => {
  test.each([0.13, 0.25, 0.5, 0.618, 0.97])('a fraction of %d: periods vary by f (1 - f)', (fraction) => {
    // a share f of the periods is one sample longer than the others
    const { mean } = jitterFreeQuantisation(1500 + fraction, 2000)
    expect(mean.period).toBeCloseTo(fraction * (1 - fraction), 2)
    // the sum over harmonics is cut off
    expect(quantisationVariance(1500 + fraction, 0).period).toBeCloseTo(fraction * (1 - fraction), 1)
    // the errors of p/q samples take q values, evenly spaced
    const values = { 0.25: 4, 0.5: 2 }[fraction] ?? Infinity
    expect(mean.timeIntervalError).toBeCloseTo((1 - 1 / values ** 2) / 12, 2)
  })

  it('a whole number of samples: nothing varies', () => {
    const { most } = jitterFreeQuantisation(1500, 2000)
    for (const variance of Object.values(most)) expect(variance).toBeCloseTo(0, 20)
  })

  it('half a sample: every second period is longer, and each differs from the next', () => {
    const { mean } = jitterFreeQuantisation(1500.5, 2000)
    expect(mean.period).toBeCloseTo(0.25, 2)
    expect(mean.cycleToCycle).toBeCloseTo(1, 2)
  })

  it('any sampled sync lies within the range', () => {
    for (let seed = 1; seed <= 200; seed++) {
      const random = newRandom(seed)
      const samples = 800 + 3000 * random.uniform()
      const count = 60 + random.below(900)
      const edges = seenEdges(samples, count, 0, seed)
      const { least, most } = jitterFreeQuantisation(samples, count - 1)
      // of a beat that is not whole at the ends, four squared samples may be missing
      const slack = 4 / count
      const period = sampleVariance(differences(edges))
      expect(period).toBeGreaterThan(Math.min(least.period, period) - slack)
      const cycle = sampleVariance(differences(differences(edges)))
      expect(cycle).toBeGreaterThan(least.cycleToCycle - 2 * slack)
      expect(cycle).toBeLessThan(most.cycleToCycle + 2 * slack)
    }
  })
})

describe('with jitter', () => {
  test.each([0.05, 0.1, 0.2, 0.4, 1])('of %d samples: what is left of it is quantisation', (sigma) => {
    for (const fraction of [0.21, 0.382, 0.57, 0.9]) {
      const edges = seenEdges(1500 + fraction, 60_000, sigma, 7)
      const periods = differences(edges)
      const expected = quantisationVariance(1500 + fraction, sigma)
      expect(sampleVariance(periods) - 2 * sigma ** 2).toBeCloseTo(expected.period, sigma < 1 ? 1 : 0)
      const cycles = sampleVariance(differences(periods)) - 6 * sigma ** 2
      // 60 000 second differences: a standard error of 0.8 % of their variance
      expect(Math.abs(cycles - expected.cycleToCycle)).toBeLessThan(0.05 + 0.04 * 6 * sigma ** 2)
    }
  })

  it('of a sample and more: every error is on its own', () => {
    const { timeIntervalError, period, cycleToCycle } = quantisationVariance(1528.7, 1.2)
    expect(timeIntervalError).toBeCloseTo(1 / 12, 10)
    expect(period).toBeCloseTo(2 / 12, 10)
    expect(cycleToCycle).toBeCloseTo(6 / 12, 10)
  })
})
