// The width that a source's sync pulses have: their mean, and how far off one must be to be wrong.

import { SIGMAS } from './sampled-line.ts'

/** Pulses that the mean is taken over. */
const AVERAGED_PULSES = 64
/** Samples that a right width is off by less than: each edge is seen late by up to one. */
const RIGHT_SAMPLES = 0.75
/** Samples that a width must be off by to be wrong whatever its edges' places say. */
const WRONG_SAMPLES = 2.25

/** Running mean of right widths, in ticks. */
export class UsualWidth {
  readonly #resolution: number
  #mean = NaN
  #variance = NaN
  #wrong = NaN

  /** @param resolutionTicks sample interval */
  constructor(resolutionTicks: number) {
    this.#resolution = resolutionTicks
  }

  start(mean: number, scatterTicks: number): void {
    this.#mean = mean
    this.#variance = scatterTicks ** 2
    this.#settle()
  }

  get mean(): number {
    return this.#mean
  }

  /**
   * Whether a pulse is as wide as the others.
   * @param isEdgeOff whether its trailing edge is not where theirs are
   * @param edgeJitterTicks what both edges jitter at most: known better than what few widths show
   */
  isWrong(width: number, isEdgeOff: boolean, edgeJitterTicks = 0): boolean {
    const off = Math.abs(width - this.#mean)
    if (isEdgeOff && off > RIGHT_SAMPLES * this.#resolution) return true
    if (off <= this.#wrong) return false
    // edges that jitter together leave the widths alone: their scatter, with the sampling's part, is the most there is
    return off > this.#resolution + SIGMAS * Math.min(edgeJitterTicks, Math.sqrt(this.#variance))
  }

  /** Takes in a right width. */
  add(width: number): void {
    const off = width - this.#mean
    this.#mean += off / AVERAGED_PULSES
    this.#variance += (off * off - this.#variance) / AVERAGED_PULSES
    this.#settle()
  }

  #settle(): void {
    // two edges seen late by up to a sample each: a variance of a quarter at most, and more is real jitter
    const jitter = Math.sqrt(Math.max(0, this.#variance - this.#resolution ** 2 / 4))
    this.#wrong = Math.max(WRONG_SAMPLES * this.#resolution, this.#resolution + SIGMAS * jitter)
  }

  /** How far two widths may be apart and still be the same, in ticks. */
  get tolerance(): number {
    return this.#wrong
  }
}
