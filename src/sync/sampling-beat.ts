// What the instrument's sampling does to a weighted sum of edge times. An edge shows late by a sawtooth of where it falls
// between two samples; the sawtooth of a steady train is no noise but a beat, and a line fitted to it can follow the beat.

import type { Measurement } from '../measurement.ts'
import type { Points } from './point-series.ts'

/** Harmonics of the sawtooth that are followed; the rest is a 400th of its power and counts as noise. */
const HARMONICS = 256
/** Of these, the ones looked at where a rough value does. */
export const FEW_HARMONICS = 48
/** In samples: what is read from scatter below this may be the steps of harmonics beyond those followed. */
const NO_JITTER = 0.01
/** Harmonics that jitter has worn down to this share are gone. */
const WORN = 1e-4

/**
 * Power of harmonic k of the sawtooth that runs from -1/2 to 1/2 sample: 1/(2 pi^2 k^2), which add up to 1/12 (Widrow and
 * Kollar, Quantization Noise, 2008, ch. 4).
 */
function harmonicPower(harmonic: number): number {
  return 1 / (2 * (Math.PI * harmonic) ** 2)
}

/** What normally distributed jitter leaves of a harmonic's power between two edges: its characteristic function squared. */
function kept(harmonic: number, sigmaSamples: number): number {
  return Math.exp(-((2 * Math.PI * harmonic * sigmaSamples) ** 2))
}

/** Variance, in squared samples, that is new with every edge: its own jitter, and what of the sawtooth that stirs up. */
export function stirredVariance(sigmaSamples: number): number {
  let steady = 0
  for (let k = 1; k <= HARMONICS; k++) {
    const share = kept(k, sigmaSamples)
    if (share < WORN) break
    steady += harmonicPower(k) * share
  }
  return sigmaSamples ** 2 + 1 / 12 - steady
}

/** The jitter, in samples, that makes a variance new with every edge; 0 where it is less than none makes. */
export function jitterOfStirred(variance: number): number {
  if (variance <= stirredVariance(0)) return 0
  let [low, high] = [0, Math.sqrt(variance)]
  for (let round = 0; round < 30; round++) {
    const middle = (low + high) / 2
    if (stirredVariance(middle) < variance) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** A scanline of n + p/q samples beats in q places at once; beyond this many places no steps are left to follow. */
const MOST_PLACES = 64
/** Beats over a whole length below which a line's slope follows single steps of the beat. */
const SLOW_BEATS = 2
/** Standard uncertainties that a value may be off by, and their weights: a normal distribution in half steps. */
const OFF_BY: readonly (readonly [number, number])[] = [
  -3, -2.5, -2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 2.5, 3,
].map((off) => [off, Math.exp(-(off ** 2) / 2) / Math.sqrt(8 * Math.PI)])
/** Of these, what a value is hardly ever off by; and the share of a variance that counts even then (`meanBeatVariance`). */
const HARDLY_OFF_BY = 2.5
const RARE_SHARE = 2 / 3
/** Largest squared factor that a line's slope over a length L has for a sine wave, times L^2: 36 j1(z)^2 at z = 2.08. */
const SLOPE_RESPONSE = 6.85
/** The same for Legendre polynomials, (2 d + 1) j_d(z)^2 where that is largest: 0.47 for d = 2, 0.4 for d = 5. */
const POLYNOMIAL_RESPONSE = 0.45
/** Degrees, from 2 on, that a beat of SLOW_BEATS reaches: pi times as many. */
const SLOW_DEGREES = 6

/**
 * Variance of a line's slope by the beat, as `beatVariances`. Where a harmonic hardly beats over the line's length, its
 * frequency is no better known than the slope itself, and the largest response counts.
 *
 * @param factors of the slope; lengthScanlines of the longest stretch
 */
export function slopeBeatVariance(
  edges: Omit<Points, 'value'>,
  factors: Float64Array,
  samplesPerScanline: number,
  sigmaSamples: number,
  lengthScanlines: number,
): number {
  const response = SLOPE_RESPONSE / lengthScanlines ** 2
  const least = (harmonic: number): number =>
    hardlyBeats(harmonic * samplesPerScanline, lengthScanlines) && harmonic <= MOST_PLACES ? response : 0
  return beatVariances(edges, [factors], samplesPerScanline, sigmaSamples, HARMONICS, least)[0]!
}

/**
 * The same for polynomials of degree 2 and up, of unit mean square, divided by the root of the number of scanlines; beats
 * this slow show in the first few of them.
 *
 * @param sums one list of factors per degree
 */
export function polynomialBeatVariances(
  edges: Omit<Points, 'value'>,
  sums: readonly Float64Array[],
  samplesPerScanline: number,
  sigmaSamples: number,
  scanlines: number,
): Float64Array {
  const least = (harmonic: number, sum: number): number =>
    sum < SLOW_DEGREES && hardlyBeats(harmonic * samplesPerScanline, scanlines)
      ? POLYNOMIAL_RESPONSE * scanlines
      : 0
  return beatVariances(edges, sums, samplesPerScanline, sigmaSamples, FEW_HARMONICS, least)
}

/**
 * Variance of a mean by the beat, as `beatVariances`. A harmonic that beats b times over the length leaves
 * (sin(pi b) / (pi b))^2 of its power in the mean of neighbouring scanlines. How often it beats is known no better than the
 * period, so that is averaged over what the period leaves open. What is left where the period is off by much is rare, but
 * it must lie within three uncertainties all the same: of two sawtooths of variance v, one less the other is up to the
 * root of 12 v, which is three times that of 2/3 of 2 v.
 *
 * @param factors of the mean; lengthScanlines from the first scanline to the last
 * @param periodSamples samples per scanline, not rounded
 */
export function meanBeatVariance(
  edges: Omit<Points, 'value'>,
  factors: Float64Array,
  periodSamples: Measurement,
  sigmaSamples: number,
  lengthScanlines: number,
): number {
  const { value, uncertainty } = periodSamples
  const leftOf = (harmonic: number): number => {
    const beats = (harmonic * value - Math.round(harmonic * value)) * lengthScanlines
    const doubt = harmonic * uncertainty * lengthScanlines
    let mean = 0
    let most = 0
    for (const [off, weight] of OFF_BY) {
      const left = leftInMean(beats + off * doubt)
      mean += weight * left
      if (Math.abs(off) <= HARDLY_OFF_BY) most = Math.max(most, left)
    }
    return Math.max(mean, RARE_SHARE * most)
  }
  const least = (harmonic: number): number => (harmonic > MOST_PLACES ? 0 : leftOf(harmonic))
  let variance = beatVariances(edges, [factors], value, sigmaSamples, HARMONICS, least)[0]!
  if (sigmaSamples > NO_JITTER) return variance
  for (const places of fractionDenominators(value, lengthScanlines)) {
    // this harmonic and its multiples: their powers add up to that of a sawtooth one place long
    if (places > HARMONICS) variance += leftOf(places) / (12 * places ** 2)
  }
  return variance
}

/**
 * Denominators of a number's continued fraction: samples per scanline that nearly are n + p/q beat in q places, and every
 * fraction p/q nearer than 1/(2 q^2) is among these (Legendre; Hardy and Wright, An Introduction to the Theory of Numbers,
 * theorem 184).
 */
function fractionDenominators(value: number, most: number): number[] {
  const list: number[] = []
  let [before, now, rest] = [0, 1, value - Math.floor(value)]
  // beyond this the digits of a double are used up
  while (rest > 1e-9) {
    const whole = Math.floor(1 / rest)
    ;[before, now] = [now, whole * now + before]
    if (now > most) break
    list.push(now)
    rest = 1 / rest - whole
  }
  return list
}

function leftInMean(beats: number): number {
  const angle = Math.PI * beats
  return Math.abs(angle) < 1e-6 ? 1 : (Math.sin(angle) / angle) ** 2
}

/** Whether scanlines keep so nearly in step with the samples that a line through their edges follows their steps. */
export function hardlyBeats(samplesPerScanline: number, lengthScanlines: number): boolean {
  return Math.abs(samplesPerScanline - Math.round(samplesPerScanline)) * lengthScanlines < SLOW_BEATS
}

/**
 * Variance of sums of edge times by the beat alone, over all places between two samples where the first edge may fall.
 *
 * @param sums one list of factors per sum, one factor per run; what a run's mean is multiplied by
 * @param samplesPerScanline not rounded
 * @param harmonics of the sawtooth that are looked at
 * @param leastResponse squared factor that a sum has at least for a harmonic
 * @returns squared samples, one per sum
 */
export function beatVariances(
  edges: Omit<Points, 'value'>,
  sums: readonly Float64Array[],
  samplesPerScanline: number,
  sigmaSamples: number,
  harmonics: number = HARMONICS,
  leastResponse: (harmonic: number, sum: number) => number = () => 0,
): Float64Array {
  const { count, number, weight } = edges
  const result = new Float64Array(sums.length)
  const step = turnsOf(number, samplesPerScanline)
  const turn = { re: new Float64Array(count).fill(1), im: new Float64Array(count) }
  const isEven = weight.every((scanlines) => scanlines === 1)
  const damped = isEven ? turn : { re: new Float64Array(count), im: new Float64Array(count) }
  for (let k = 1; k <= harmonics; k++) {
    const share = kept(k, sigmaSamples)
    if (share < WORN) break
    turnOn(turn, step)
    if (!isEven) damp(turn, weight, Math.PI * k * samplesPerScanline, damped)
    for (let s = 0; s < sums.length; s++) {
      const response = squaredSum(sums[s]!, damped)
      result[s]! += harmonicPower(k) * share * Math.max(leastResponse(k, s), response)
    }
  }
  return result
}

/** Complex numbers in columns. */
interface Turns {
  re: Float64Array
  im: Float64Array
}

/** Where between two samples each scanline begins, as a point on the circle. */
function turnsOf(number: Float64Array, samplesPerScanline: number): Turns {
  const re = new Float64Array(number.length)
  const im = new Float64Array(number.length)
  for (let i = 0; i < number.length; i++) {
    const turns = number[i]! * samplesPerScanline
    const angle = 2 * Math.PI * (turns - Math.round(turns))
    re[i] = Math.cos(angle)
    im[i] = Math.sin(angle)
  }
  return { re, im }
}

/** From one harmonic to the next. */
function turnOn({ re, im }: Turns, step: Turns): void {
  const { re: stepRe, im: stepIm } = step
  for (let i = 0; i < re.length; i++) {
    const before = re[i]!
    re[i] = before * stepRe[i]! - im[i]! * stepIm[i]!
    im[i] = im[i]! * stepRe[i]! + before * stepIm[i]!
  }
}

/** In place of each point the mean over the run of neighbours that it stands for. */
function damp(turn: Turns, weight: Float64Array, half: number, into: Turns): void {
  const { re, im } = turn
  let run = 0
  let share = 1
  for (let i = 0; i < re.length; i++) {
    if (weight[i] !== run) {
      run = weight[i]!
      share = meanOfRun(run, half)
    }
    into.re[i] = re[i]! * share
    into.im[i] = im[i]! * share
  }
}

function squaredSum(factors: Float64Array, { re, im }: Turns): number {
  let sumRe = 0
  let sumIm = 0
  for (let i = 0; i < factors.length; i++) {
    const factor = factors[i]!
    sumRe += factor * re[i]!
    sumIm += factor * im[i]!
  }
  return sumRe * sumRe + sumIm * sumIm
}

/** Mean of exp(i angle) over a run whose angles rise by twice `half` and have 0 in their middle. */
function meanOfRun(run: number, half: number): number {
  const sine = Math.sin(half)
  return Math.abs(sine) > 1e-9 ? Math.sin(run * half) / (run * sine) : Math.cos(run * half) / Math.cos(half)
}
