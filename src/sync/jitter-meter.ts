// Leading edges as they come → scatter of periods and of neighbouring periods. Kept apart from the line fit: these
// statistics need every scanline, not a bounded series.

import { RunningMean } from './running-mean.ts'

/** Running statistics of scanline periods, in ticks. */
export class JitterMeter {
  /** Periods between neighbouring scanlines. */
  readonly period: RunningMean = new RunningMean()
  /** Differences between neighbouring periods (cycle to cycle). */
  readonly cycleToCycle: RunningMean = new RunningMean()
  #number = NaN
  #tick = NaN
  #period = NaN

  /** @param number scanline number; a gap ends the run of neighbours */
  add(number: number, tick: number): void {
    const period = number === this.#number + 1 ? tick - this.#tick : NaN
    if (!Number.isNaN(period)) {
      this.period.add(period)
      if (!Number.isNaN(this.#period)) this.cycleToCycle.add(period - this.#period)
    }
    this.#period = period
    this.#number = number
    this.#tick = tick
  }

  breakPhase(): void {
    this.#number = NaN
    this.#period = NaN
  }
}
