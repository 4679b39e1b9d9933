// Leading edges as samples show them → where the line that they lie on is, and how far off an edge must be to be wrong.
//
// An instrument shows an edge late by up to one sample. So each regular edge says: the line lies at most one sample
// before what is seen. All of them together leave a narrow range, whatever the samples beat with, and its middle is
// the best prediction there is. Averages do no such thing: where samples and scanlines beat slowly, they follow the
// beat, and are off by up to a sample.

import type { EdgeSpread } from './edge-line.ts'
import { stepShare, strayVariance, type Steps } from './edge-steps.ts'

/** Share of the range's bounds that is given back at each scanline, in samples: the line's slope is not known exactly. */
const LEAK_SAMPLES = 0.003
/** Where the bounds contradict each other, because of jitter or a drift, they give way by this share of it. */
const YIELD_SHARE = 1 / 32
/** Standard deviations of real jitter that an edge may be off: exceeded once in 10^7. */
export const SIGMAS = 5.5
/** Scanlines that jitter is averaged over. */
const AVERAGED_SCANLINES = 512
/** Variance of an edge that is seen late by anything from 0 to 1 sample, and the standard deviation of its square. */
const QUANTISATION = 1 / 12
const SQUARE_DEVIATION = Math.sqrt(1 / 80 - 1 / 144)
/** Variance of an edge that little of a step's left-over variance may stand for: a jitter of 0.15 samples strays so rarely. */
const STRAY_RATIO = 20
/** What rounding to ticks may leave over, in samples². */
const ROUNDING = 2e-4
/** Share of a sample that a scanline is off a whole number of them where they beat slowly. */
const SLOW_BEAT = 0.05
/** The same where they come round after two or three scanlines. */
const SLOW_ROUNDS = [2, 3]
const SLOW_ROUND_BEAT = 0.02
/** A sample's own slack, for times rounded to ticks; and while few edges show whether there is a little jitter. */
const SLACK_SAMPLES = 0.05
const SLACK_AT_FIRST_SAMPLES = 0.12

/** Offsets are leading edges minus a prediction, in ticks; the prediction may move, which `advance` is told. */
export class SampledLine {
  readonly #resolution: number
  /** The line lies between these, in ticks from the prediction. */
  #low = NaN
  #high = NaN
  /** Mean square of offsets from the middle, in samples². */
  #square = NaN
  readonly #steps: Steps = { mean: NaN, variance: NaN, last: NaN }
  #count = NaN
  #floor = NaN
  /** Standard deviation of real jitter, in ticks: what the sampling does not explain. */
  #jitter = NaN

  /** @param resolutionTicks sample interval */
  constructor(resolutionTicks: number) {
    this.#resolution = resolutionTicks
  }

  /**
   * Begins anew.
   * @param offsets of the regular edges that the prediction was made from
   * @param floorTicks what an edge may be off in any case
   */
  start({ lowest, highest, scatter, count, steps }: EdgeSpread, floorTicks: number): void {
    this.#low = highest - this.#resolution
    this.#high = lowest
    this.#square = (scatter / this.#resolution) ** 2
    Object.assign(this.#steps, steps)
    this.#count = count
    this.#floor = floorTicks
    this.#settle()
  }

  /** Where an edge is seen on average, in ticks from the prediction. */
  get centre(): number {
    return (this.#low + this.#high + this.#resolution) / 2
  }

  /**
   * How far from the centre a regular edge may be, in ticks. With the line known, a regular edge is off by half a sample
   * at most and one that was moved by two samples by one and a half at least. With nothing but the last edge known both
   * bounds are at one sample; but then samples and scanlines keep step, edges are off by whole samples, and the one
   * that was moved by more than two is seen off by two.
   */
  get tolerance(): number {
    const unknown = Math.min(1, Math.max(0, (this.#high - this.#low) / this.#resolution))
    const slack = this.#count < AVERAGED_SCANLINES ? SLACK_AT_FIRST_SAMPLES : SLACK_SAMPLES
    return Math.max(this.#resolution * (1 + unknown / 2 + slack) + SIGMAS * this.#jitter, this.#floor)
  }

  /** Standard deviation of real jitter, in ticks. */
  get jitterTicks(): number {
    return this.#jitter
  }

  /** Whether an edge is further off than any regular one. */
  isOff(offset: number): boolean {
    return Math.abs(offset - this.centre) > this.tolerance
  }

  /**
   * Takes in a regular edge.
   * @param stepTicks since that of the scanline before; NaN where that had none
   */
  add(offset: number, stepTicks: number): void {
    const off = (offset - this.centre) / this.#resolution
    this.#count++
    const gain = 1 / Math.min(this.#count, AVERAGED_SCANLINES)
    this.#square += (off * off - this.#square) * gain
    if (!Number.isNaN(stepTicks)) {
      const steps = this.#steps
      const change = stepTicks - steps.mean
      steps.mean += change * gain
      steps.variance = (1 - gain) * (steps.variance + gain * change * change)
      steps.last = stepTicks
    }
    this.#low = Math.max(this.#low, offset - this.#resolution)
    this.#high = Math.min(this.#high, offset)
    this.#settle()
  }

  /** One scanline further; @param aheadTicks how far the prediction has moved ahead of the line in it */
  advance(aheadTicks: number): void {
    const over = this.#low - this.#high
    const leak = LEAK_SAMPLES * this.#resolution + Math.max(0, over) * YIELD_SHARE
    this.#low -= aheadTicks + leak
    this.#high += leak - aheadTicks
  }

  /** The prediction alone moves, ahead of the line where positive. */
  shift(ticks: number): void {
    this.#low -= ticks
    this.#high -= ticks
  }

  #settle(): void {
    // an exponential average over n is as good as a plain one over 2 n
    const margin = (3 * SQUARE_DEVIATION) / Math.sqrt(Math.min(this.#count, 2 * AVERAGED_SCANLINES))
    const excess = this.#square - QUANTISATION
    const proof = STRAY_RATIO * Math.max(0, strayVariance(this.#steps, this.#resolution) - ROUNDING)
    const share = stepShare(this.#steps, this.#resolution)
    // where samples and scanlines beat slowly, a slope that is a little off looks like jitter: there it takes proof
    const shown = beatsSlowly(share) ? 0 : excess - margin
    this.#jitter = this.#resolution * Math.sqrt(Math.max(0, shown, Math.min(excess + margin, proof)))
  }
}

/** @param share of a sample by which a scanline is longer than a whole number of samples */
function beatsSlowly(share: number): boolean {
  if (Math.min(share, 1 - share) < SLOW_BEAT) return true
  for (const scanlines of SLOW_ROUNDS) {
    const turns = share * scanlines
    if (Math.abs(turns - Math.round(turns)) < SLOW_ROUND_BEAT) return true
  }
  return false
}
