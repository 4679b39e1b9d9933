// Leading-edge times against scanline numbers, in bounded memory, and the straight line through them. One series per
// segment: neighbouring scanlines are averaged together when it is full, so an hour costs as much as a second.

import type { Measurement } from '../measurement.ts'

/** Points kept; a power of two, so that halving keeps pairs aligned. */
const CAPACITY = 2048

/** Harmonics of the whole length that are averaged: ten have twenty degrees of freedom. */
const SLOW_HARMONICS = 10
/** Faster ones move a slope by less than a hundredth of its quantisation. */
const MAX_HARMONICS = 128
/** Beats between samples and scanlines over the whole length from which on quantisation counts as noise. */
const BEATS = 2
/** A scanline of n + p/q samples beats in q places at once; beyond this many places no steps are left to see. */
const MAX_PLACES = 24

/** Straight-line fit of time against scanline number over all unbroken stretches. */
export interface LineFit {
  /** Ticks per scanline. */
  period: Measurement
  /** Residuals' RMS, in ticks. */
  residualRmsTicks: number
  /** Scanlines that the fit rests on. */
  scanlines: number
}

/** Points `from` to `to` (excluded) in unbroken phase, with their weighted means. */
interface Stretch {
  from: number
  to: number
  meanNumber: number
  meanOffset: number
}

/** Deviations from the fitted line, point by point; arrays are the caller's own. */
export interface SeriesResiduals {
  count: number
  /** Scanline number of each point, rising, from the first of the series. */
  number: Float64Array
  /** Time minus the line's, in ticks; each stretch about its own line. */
  offset: Float64Array
  /** Scanlines averaged in one point. */
  scanlinesPerPoint: number
}

/** Running series of (scanline number, leading-edge tick). */
export class LineSeries {
  readonly #number = new Float64Array(CAPACITY)
  /** Time minus the nominal time of that scanline: small numbers, so sums lose nothing. */
  readonly #offset = new Float64Array(CAPACITY)
  readonly #weight = new Float64Array(CAPACITY)
  readonly #stretch = new Uint32Array(CAPACITY)
  #count = 0
  #perPoint = 1
  #stretchNumber = 0
  #scanlines = 0
  #firstNumber = 0
  #firstTick = 0
  readonly #nominalTicks: number

  /** @param nominalTicks roughly the scanline period, in ticks */
  constructor(nominalTicks: number) {
    // a few binary places: then scanlines times period, and what edges are off it, come out exactly
    this.#nominalTicks = Math.round(nominalTicks * 16) / 16
  }

  /** Scanlines added so far. */
  get scanlines(): number {
    return this.#scanlines
  }

  /** From here on the phase is unrelated to before: a new stretch, the same rate. */
  breakPhase(): void {
    this.#stretchNumber++
  }

  /** @param number scanline number, rising; gaps are fine */
  add(number: number, tick: number): void {
    if (this.#scanlines === 0) {
      this.#firstNumber = number
      this.#firstTick = tick
    }
    this.#scanlines++
    const relative = number - this.#firstNumber
    const offset = tick - this.#firstTick - relative * this.#nominalTicks
    const last = this.#count - 1
    if (last >= 0 && this.#weight[last]! < this.#perPoint && this.#stretch[last] === this.#stretchNumber) {
      const weight = this.#weight[last]! + 1
      this.#number[last]! += (relative - this.#number[last]!) / weight
      this.#offset[last]! += (offset - this.#offset[last]!) / weight
      this.#weight[last] = weight
      return
    }
    if (this.#count === CAPACITY) this.#halve()
    const at = this.#count++
    this.#number[at] = relative
    this.#offset[at] = offset
    this.#weight[at] = 1
    this.#stretch[at] = this.#stretchNumber
  }

  #halve(): void {
    let to = 0
    for (let from = 0; from < this.#count; to++) {
      const next = from + 1
      const joins = next < this.#count && this.#stretch[from] === this.#stretch[next]
      const a = this.#weight[from]!
      const b = joins ? this.#weight[next]! : 0
      this.#number[to] = (this.#number[from]! * a + (joins ? this.#number[next]! * b : 0)) / (a + b)
      this.#offset[to] = (this.#offset[from]! * a + (joins ? this.#offset[next]! * b : 0)) / (a + b)
      this.#weight[to] = a + b
      this.#stretch[to] = this.#stretch[from]!
      from += joins ? 2 : 1
    }
    this.#count = to
    this.#perPoint *= 2
  }

  /**
   * Least squares over every unbroken stretch with one common slope.
   *
   * The uncertainty is that of a regression slope (GUM, JCGM 100:2008, H.3), with two additions. Residuals resemble or
   * oppose their neighbours, as the samples beat with the scanlines or the card's clock wanders: what counts for a slope
   * is their noise at the slowest rates, and that is what is taken for the variance. And quantisation that hardly beats
   * with the scanlines is no noise: it can tilt the line by a sample over its whole length.
   *
   * @param resolutionTicks sample interval of the instrument, in ticks
   * @returns undefined below two scanlines in one stretch
   */
  fit(resolutionTicks: number): LineFit | undefined {
    const stretches = this.#stretches()
    const { spread, slope, longest } = this.#slope(stretches)
    if (!(spread > 0)) return undefined
    const residuals = this.#residuals(stretches, slope)
    let squares = 0
    for (let i = 0; i < this.#count; i++) squares += this.#weight[i]! * residuals[i]! ** 2
    const variance = squares / this.#scanlines
    const tilt = this.#tilt(this.#nominalTicks + slope, residuals, resolutionTicks) / Math.max(1, longest)
    const random = this.#slopeNoise(residuals, resolutionTicks) / spread
    return {
      period: { value: this.#nominalTicks + slope, uncertainty: Math.hypot(Math.sqrt(random), tilt) },
      residualRmsTicks: Math.sqrt(variance),
      scanlines: this.#scanlines,
    }
  }

  /** What the line leaves over; undefined where there is no line. */
  residuals(): SeriesResiduals | undefined {
    const stretches = this.#stretches()
    const { spread, slope } = this.#slope(stretches)
    if (!(spread > 0)) return undefined
    return {
      count: this.#count,
      number: this.#number.slice(0, this.#count),
      offset: this.#residuals(stretches, slope),
      scanlinesPerPoint: this.#perPoint,
    }
  }

  /** Common slope, in ticks per scanline beyond the nominal period, and what it rests on. */
  #slope(stretches: readonly Stretch[]): { spread: number; slope: number; longest: number } {
    let spread = 0
    let product = 0
    let longest = 0
    for (const { from, to, meanNumber, meanOffset } of stretches) {
      for (let i = from; i < to; i++) {
        const x = this.#number[i]! - meanNumber
        spread += this.#weight[i]! * x * x
        product += this.#weight[i]! * x * (this.#offset[i]! - meanOffset)
      }
      longest = Math.max(longest, this.#number[to - 1]! - this.#number[from]!)
    }
    return { spread, slope: product / spread, longest }
  }

  #residuals(stretches: readonly Stretch[], slope: number): Float64Array {
    const residuals = new Float64Array(this.#count)
    for (const { from, to, meanNumber, meanOffset } of stretches) {
      for (let i = from; i < to; i++) {
        residuals[i] = this.#offset[i]! - meanOffset - slope * (this.#number[i]! - meanNumber)
      }
    }
    return residuals
  }

  /** Standard deviation, in ticks, of what quantisation can move one end of the line against the other. */
  #tilt(periodTicks: number, residuals: Float64Array, resolutionTicks: number): number {
    const length = this.#number[this.#count - 1]! - this.#number[0]!
    for (let places = 1; places <= MAX_PLACES; places++) {
      const samples = (places * periodTicks) / resolutionTicks
      if (Math.abs(samples - Math.round(samples)) * length > BEATS * places) continue
      const step = resolutionTicks / places
      // jitter dithers what does not beat: it shows from one scanline to the next in the same place
      let squares = 0
      for (let i = places; i < this.#count; i++) squares += (residuals[i]! - residuals[i - places]!) ** 2
      // rounding makes a variance of sigma step / sqrt(pi) out of little jitter, averaged over all phases
      const sigma = (Math.sqrt(Math.PI) * (squares / 2 / this.#count) * this.#perPoint) / step ** 2
      // characteristic function of the normal distribution at the step's fundamental
      const undithered = Math.exp(-2 * (Math.PI * sigma) ** 2)
      return undithered * Math.sqrt(1 / 3) * step
    }
    return 0
  }

  /**
   * Variance per scanline of the noise as a slope sees it: harmonic k of the whole length counts with 1/k^2, which is
   * the spectrum of a straight line. The first harmonics share most of that weight and are averaged, for single ones
   * scatter as chi-square with two degrees of freedom.
   */
  #slopeNoise(residuals: Float64Array, resolutionTicks: number): number {
    const last = Math.min(MAX_HARMONICS, this.#count >> 1)
    // deterministic beats can hide between the harmonics: what their ends may still move, found by trial
    let sum = (40 / this.#count) * (resolutionTicks ** 2 / 12)
    let slow = 0
    let slowWeight = 0
    for (let harmonic = 1; harmonic <= last; harmonic++) {
      const weight = 6 / (Math.PI * harmonic) ** 2
      // the fit has taken out of the slowest harmonics what resembles a line
      const power = this.#power(residuals, harmonic) / (1 - weight / 2)
      if (harmonic <= SLOW_HARMONICS) {
        slow += power / Math.min(last, SLOW_HARMONICS)
        slowWeight += weight
      } else {
        sum += weight * power
      }
    }
    return sum + slowWeight * slow
  }

  /** Periodogram: noise of variance v per scanline gives v. Points count as evenly spaced: few are missing. */
  #power(residuals: Float64Array, harmonic: number): number {
    const stepRe = Math.cos((2 * Math.PI * harmonic) / this.#count)
    const stepIm = Math.sin((2 * Math.PI * harmonic) / this.#count)
    let turnRe = 1
    let turnIm = 0
    let re = 0
    let im = 0
    for (let i = 0; i < this.#count; i++) {
      const value = this.#weight[i]! * residuals[i]!
      re += value * turnRe
      im += value * turnIm
      const next = turnRe * stepRe - turnIm * stepIm
      turnIm = turnIm * stepRe + turnRe * stepIm
      turnRe = next
    }
    return (re * re + im * im) / this.#scanlines
  }

  #stretches(): Stretch[] {
    const list: Stretch[] = []
    let from = 0
    for (let i = 1; i <= this.#count; i++) {
      if (i < this.#count && this.#stretch[i] === this.#stretch[from]) continue
      let weight = 0
      let number = 0
      let offset = 0
      for (let j = from; j < i; j++) {
        weight += this.#weight[j]!
        number += this.#weight[j]! * this.#number[j]!
        offset += this.#weight[j]! * this.#offset[j]!
      }
      list.push({ from, to: i, meanNumber: number / weight, meanOffset: offset / weight })
      from = i
    }
    return list
  }
}
