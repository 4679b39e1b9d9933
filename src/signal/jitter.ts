// How far a scanline is moved by what shakes the card's clock: noise that wanders, and a tone.

import { impossible } from './impossible.ts'
import { MOST_SIGMAS, seededRandom, type Random } from './random.ts'

/** Kinds of jitter; they add up. */
export interface SignalJitter {
  /** Every edge of every channel by itself: standard deviation, seconds. */
  randomSeconds?: number | undefined
  /** All channels together, scanline by scanline: noise below a corner frequency, standard deviation in seconds. */
  wander?: { seconds: number; hertz: number } | undefined
  /** The same as a sine: amplitude in seconds. */
  periodic?: { seconds: number; hertz: number } | undefined
}

/** Scanlines may not be moved over each other. */
const MOST_OF_SCANLINE = 1 / 8

/** Moves scanlines one after the other. */
export class ScanlineShift {
  /** No shift is larger, in seconds. */
  readonly mostSeconds: number
  readonly #jitter: SignalJitter
  readonly #random: Random
  readonly #keep: number
  #noise: number

  /** @throws {CaptureError} SYNTHESIS_IMPOSSIBLE where scanlines or edges would overtake each other */
  constructor(jitter: SignalJitter, scanlineSeconds: number, seed: number) {
    this.#jitter = jitter
    this.#random = seededRandom(seed, 'wander')
    const { randomSeconds = 0, wander, periodic } = jitter
    this.mostSeconds = MOST_SIGMAS * (wander?.seconds ?? 0) + (periodic?.seconds ?? 0)
    const numbers = [
      randomSeconds,
      ...[wander, periodic].flatMap((part) => (part ? [part.seconds, part.hertz] : [])),
    ]
    const sound =
      numbers.every((number) => number >= 0) && [wander, periodic].every((part) => !part || part.hertz > 0)
    if (!sound || this.mostSeconds + MOST_SIGMAS * randomSeconds > MOST_OF_SCANLINE * scanlineSeconds) {
      throw impossible(
        'the jitter is too large for scanlines to keep apart',
        `keep its peak below an eighth of a scanline, ${((MOST_OF_SCANLINE * scanlineSeconds) / 1e-9).toFixed(0)} ns`,
      )
    }
    // first-order low-pass in steps of a scanline; its variance is kept at 1
    this.#keep = wander ? Math.exp(-2 * Math.PI * wander.hertz * scanlineSeconds) : 0
    this.#noise = this.#random.gaussian()
  }

  /** @param seconds when the scanline would begin */
  next(seconds: number): number {
    const { wander, periodic } = this.#jitter
    let shift = 0
    if (wander) {
      shift += wander.seconds * Math.max(-MOST_SIGMAS, Math.min(MOST_SIGMAS, this.#noise))
      this.#noise = this.#keep * this.#noise + Math.sqrt(1 - this.#keep ** 2) * this.#random.gaussian()
    }
    if (periodic) shift += periodic.seconds * Math.sin(2 * Math.PI * periodic.hertz * seconds)
    return shift
  }
}
