// Leading-edge times against scanline numbers, in bounded memory, and the straight line through them. One series per
// segment: neighbouring scanlines are averaged together when it is full, so an hour costs as much as a second.

import type { Measurement } from '../measurement.ts'

/** Points kept; a power of two, so that halving keeps pairs aligned. */
const CAPACITY = 2048

/** Straight-line fit of time against scanline number over all unbroken stretches. */
export interface LineFit {
  /** Ticks per scanline. */
  period: Measurement
  /** Residuals' RMS, in ticks. */
  residualRmsTicks: number
  /** Scanlines that the fit rests on. */
  scanlines: number
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
    this.#nominalTicks = nominalTicks
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
   * The uncertainty is that of a regression slope (GUM, JCGM 100:2008, H.3) with two honest additions: residuals
   * that resemble their neighbours count as fewer observations (variance times 1 + 2 sum of autocorrelations), and
   * the part of the quantisation error that this capture did not dither is taken as fully correlated: it can tilt
   * the line by one sample over its whole length.
   *
   * @param resolutionTicks sample interval of the instrument, in ticks
   * @returns undefined below two scanlines in one stretch
   */
  fit(resolutionTicks: number): LineFit | undefined {
    const stretches = this.#stretches()
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
    if (!(spread > 0)) return undefined
    const slope = product / spread
    const residuals = new Float64Array(this.#count)
    let squares = 0
    for (const { from, to, meanNumber, meanOffset } of stretches) {
      for (let i = from; i < to; i++) {
        const residual = this.#offset[i]! - meanOffset - slope * (this.#number[i]! - meanNumber)
        residuals[i] = residual
        squares += residual * residual
      }
    }
    const free = Math.max(1, this.#count - stretches.length - 1)
    const variance = squares / free
    const quantisation = (resolutionTicks * resolutionTicks) / 12
    // a point that averages m scanlines shows 1/m of the white part of the quantisation
    const meanWeight = this.#scanlines / this.#count
    const undithered = Math.max(0, quantisation - variance * meanWeight)
    const inflation = this.#autocorrelationFactor(residuals, stretches)
    const random =
      (Math.max(variance, quantisation / meanWeight - undithered) * meanWeight * inflation) / spread
    const tilt = (undithered / quantisation || 0) * (resolutionTicks / Math.max(1, longest)) ** 2 * (1 / 3)
    return {
      period: { value: this.#nominalTicks + slope, uncertainty: Math.sqrt(random + tilt) },
      residualRmsTicks: Math.sqrt(squares / this.#count),
      scanlines: this.#scanlines,
    }
  }

  #stretches(): { from: number; to: number; meanNumber: number; meanOffset: number }[] {
    const list: { from: number; to: number; meanNumber: number; meanOffset: number }[] = []
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

  /** 1 + 2 sum of autocorrelations, summed until they vanish in their own noise. */
  #autocorrelationFactor(
    residuals: Float64Array,
    stretches: readonly { from: number; to: number }[],
  ): number {
    let total = 0
    for (const residual of residuals) total += residual * residual
    if (total === 0) return 1
    let factor = 1
    const noise = 2 / Math.sqrt(this.#count)
    for (let lag = 1; lag < this.#count / 4; lag++) {
      let sum = 0
      for (const { from, to } of stretches) {
        for (let i = from + lag; i < to; i++) sum += residuals[i]! * residuals[i - lag]!
      }
      const correlation = sum / total
      if (correlation < noise) break
      factor += 2 * correlation
    }
    return factor
  }
}
