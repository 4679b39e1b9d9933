// What sampling does to sums of edge times: worked out again by summing over all places where the first edge may fall.

import { describe, expect, it } from 'vitest'
import {
  beatVariances,
  hardlyBeats,
  jitterOfStirred,
  meanBeatVariance,
  polynomialBeatVariances,
  slopeBeatVariance,
  stirredVariance,
} from '../../src/sync/sampling-beat.ts'
import { newRandom } from '../support/random.ts'

/** How late a sample shows an edge, less half a sample. */
const sawtooth = (place: number): number => Math.ceil(place) - place - 0.5

/** The same where the edge jitters: the mean over normal jitter. */
function meanSawtooth(place: number, sigma: number): number {
  if (sigma === 0) return sawtooth(place)
  let sum = 0
  let weight = 0
  for (let off = -5; off <= 5; off += 0.005) {
    const density = Math.exp((-off * off) / 2)
    sum += density * (sawtooth(place + sigma * off) + sigma * off)
    weight += density
  }
  return sum / weight
}

/** Points of single scanlines, or of runs of `run` neighbours. */
function points(count: number, run = 1): { count: number; number: Float64Array; weight: Float64Array } {
  return {
    count,
    number: Float64Array.from({ length: count }, (_, i) => i * run + (run - 1) / 2),
    weight: new Float64Array(count).fill(run),
  }
}

/** Variance of the sum over the phase of the first edge. */
function variance(factors: Float64Array, run: number, samplesPerScanline: number, sigma = 0): number {
  const phases = sigma === 0 ? 4000 : 60
  let squares = 0
  for (let phase = 0; phase < phases; phase++) {
    let sum = 0
    for (const [i, factor] of factors.entries())
      for (let n = 0; n < run; n++)
        sum +=
          (factor / run) * meanSawtooth((phase + 0.5) / phases + (i * run + n) * samplesPerScanline, sigma)
    squares += sum * sum
  }
  return squares / phases
}

const random = newRandom(14)
const anyFactors = (count: number): Float64Array =>
  Float64Array.from({ length: count }, () => random.uniform() - 0.3)

describe('beatVariances', () => {
  it.each([1000.37, 999.5, 1234.0123, 800.25])('of single scanlines, at %d samples each', (samples) => {
    const sums = [anyFactors(12), anyFactors(12)]
    const found = beatVariances(points(12), sums, samples, 0)
    for (const [i, factors] of sums.entries())
      expect(found[i]! / variance(factors, 1, samples)).toBeCloseTo(1, 1.5)
  })

  it('of runs of neighbours', () => {
    const factors = anyFactors(9)
    expect(
      beatVariances(points(9, 4), [factors], 1000.37, 0)[0]! / variance(factors, 4, 1000.37),
    ).toBeCloseTo(1, 1.5)
    // in step with the samples all of a run fall on one place, whole or half
    for (const samples of [1000, 1000.5])
      expect(beatVariances(points(9, 4), [factors], samples, 0)[0]!).toBeCloseTo(
        variance(factors, 4, samples),
        2.5,
      )
  })

  it('jitter wears the beat down', () => {
    const factors = anyFactors(6)
    for (const sigma of [0.05, 0.15])
      expect(
        beatVariances(points(6), [factors], 1000.37, sigma)[0]! / variance(factors, 1, 1000.37, sigma),
        String(sigma),
      ).toBeCloseTo(1, 1.5)
    expect(beatVariances(points(6), [factors], 1000.37, 3)[0]).toBe(0)
  })

  it('leaves at least what it is told to', () => {
    const factors = new Float64Array(6)
    // of the first two harmonics of 1/12, 1/(2 pi^2) and a quarter of that
    const least = (harmonic: number): number => (harmonic <= 2 ? 3 : 0)
    expect(beatVariances(points(6), [factors], 1000.37, 0, 5, least)[0]).toBeCloseTo(
      (3 * 1.25) / (2 * Math.PI ** 2),
      12,
    )
  })
})

describe('stirredVariance', () => {
  it('is what of an edge is new each time', () => {
    expect(stirredVariance(0)).toBeLessThan(3e-4)
    for (const sigma of [0.02, 0.1, 0.3]) {
      // the whole, jitter and the sawtooth, less what is the same each time
      const steady = variance(Float64Array.of(1), 1, 1000, sigma)
      expect(stirredVariance(sigma) / (sigma ** 2 + 1 / 12 - steady), String(sigma)).toBeCloseTo(1, 1.5)
    }
    expect(stirredVariance(2)).toBeCloseTo(4 + 1 / 12, 9)
  })

  it('tells the jitter that makes it', () => {
    for (const sigma of [0.03, 0.2, 1.7])
      expect(jitterOfStirred(stirredVariance(sigma))).toBeCloseTo(sigma, 6)
    expect(jitterOfStirred(0)).toBe(0)
    expect(jitterOfStirred(stirredVariance(0))).toBe(0)
  })
})

describe('slow beats', () => {
  it('are below two over the whole length', () => {
    expect(hardlyBeats(1000.0199, 100)).toBe(true)
    expect(hardlyBeats(1000.0201, 100)).toBe(false)
    expect(hardlyBeats(999.9801, 100)).toBe(true)
    expect(hardlyBeats(1000.5, 3)).toBe(true)
  })

  it('count for a slope as much as they can do at worst', () => {
    const edges = points(100)
    const mean = 49.5
    const spread = (100 * (100 ** 2 - 1)) / 12
    const slope = edges.number.map((number) => (number - mean) / spread)
    const own = beatVariances(edges, [slope], 1000.0003, 0)[0]!
    const slow = slopeBeatVariance(edges, slope, 1000.0003, 0, 100)
    expect(slow).toBeGreaterThan(own)
    // at worst over all slow beats; 6.85 / L^2 of the power of the first 64 harmonics at least
    let power = 0
    for (let k = 1; k <= 64; k++) power += 1 / (2 * (Math.PI * k) ** 2)
    expect(slow / ((6.85 / 100 ** 2) * power)).toBeGreaterThan(0.999)
    expect(slow / ((6.85 / 100 ** 2) * power)).toBeLessThan(1.03)
    let most = 0
    for (let beat = 0.1; beat < 2; beat += 0.05) most = Math.max(most, variance(slope, 1, 1000 + beat / 100))
    expect(slow / most).toBeGreaterThan(0.95)
    // of twelve scanlines no harmonic of a quarter sample or less beats slowly, but every fourth
    const few = points(12)
    const own12 = few.number.map((number) => (number - 5.5) / 143)
    let fourth = 0
    for (let k = 4; k <= 64; k += 4) fourth += 1 / (2 * (Math.PI * k) ** 2)
    const more = slopeBeatVariance(few, own12, 1000.25, 0, 12) - beatVariances(few, [own12], 1000.25, 0)[0]!
    expect(more / ((6.85 / 144) * fourth)).toBeCloseTo(1, 6)
  })

  it('count for polynomials of the first degrees', () => {
    const edges = points(100)
    const flat = Array.from({ length: 8 }, () => new Float64Array(100))
    const slow = polynomialBeatVariances(edges, flat, 1000.0001, 0, 100)
    let power = 0
    for (let k = 1; k <= 48; k++) power += 1 / (2 * (Math.PI * k) ** 2)
    for (let i = 0; i < 6; i++) expect(slow[i]).toBeCloseTo(0.45 * 100 * power, 6)
    expect([slow[6], slow[7]]).toEqual([0, 0])
    expect([...polynomialBeatVariances(edges, flat, 1000.37, 0, 100)].slice(0, 1)[0]).toBeLessThan(
      0.45 * 100 * 0.01,
    )
  })

  it('count for a mean by what the period leaves open', () => {
    const edges = points(100)
    const mean = new Float64Array(100).fill(1 / 100)
    const at = (value: number, uncertainty: number): number =>
      meanBeatVariance(edges, mean, { value, uncertainty }, 0, 99)
    // in step: nothing is averaged away
    expect(at(1000, 0)).toBeCloseTo(1 / 12, 2)
    // half a beat: sinc^2 of the first harmonic
    expect(at(1000.005, 0) / variance(mean, 1, 1000.005)).toBeCloseTo(1, 1)
    // one beat leaves nothing, unless the period may be a little off
    expect(at(1000.0101, 0)).toBeLessThan(0.001)
    expect(at(1000.0101, 0.003)).toBeGreaterThan(10 * at(1000.0101, 0))
    // in two places at once: a quarter
    expect(at(1000.5, 0) * 4).toBeCloseTo(1 / 12, 2)
  })
})
