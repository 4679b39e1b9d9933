// Leading edges as they come → scatter of periods and of neighbouring periods. Kept apart from the line fit: these
// statistics need every scanline, not a bounded series.

import { IntervalCounts, intervalSteps, type IntervalSteps } from '../transitions/interval-steps.ts'
import type { SeriesResiduals } from './line-series.ts'
import { RunningMean } from './running-mean.ts'

/** Scanlines kept one by one for the spectrum: half a second to a second. */
const KEPT_SCANLINES = 16_384
/** A stretch shorter than this is given up for the next one. */
const ENOUGH_SCANLINES = 2048

/** Running statistics of scanline periods, in ticks. */
export class JitterMeter {
  /** Periods between neighbouring scanlines. */
  readonly period: RunningMean = new RunningMean()
  /** Differences between neighbouring periods (cycle to cycle). */
  readonly cycleToCycle: RunningMean = new RunningMean()
  readonly #periods = new IntervalCounts()
  #number = NaN
  #tick = NaN
  #period = NaN
  #keptNumber = new Float64Array(256)
  #keptTick = new Float64Array(256)
  #kept = 0
  #keeps = true

  /** @param number scanline number; a gap ends the run of neighbours */
  add(number: number, tick: number): void {
    if (this.#keeps) this.#keep(number, tick)
    const period = number === this.#number + 1 ? tick - this.#tick : NaN
    if (!Number.isNaN(period)) {
      this.period.add(period)
      this.#periods.add(period)
      if (!Number.isNaN(this.#period)) this.cycleToCycle.add(period - this.#period)
    }
    this.#period = period
    this.#number = number
    this.#tick = tick
  }

  breakPhase(): void {
    this.#number = NaN
    this.#period = NaN
    if (this.#kept < ENOUGH_SCANLINES) this.#kept = 0
    else this.#keeps = false
  }

  /** What periods differ by; undefined where they differ in no regular way. */
  get steps(): IntervalSteps | undefined {
    return intervalSteps(this.#periods)
  }

  #keep(number: number, tick: number): void {
    if (this.#kept === this.#keptTick.length) {
      const [numbers, ticks] = [this.#keptNumber, this.#keptTick]
      this.#keptNumber = new Float64Array(2 * this.#kept)
      this.#keptTick = new Float64Array(2 * this.#kept)
      this.#keptNumber.set(numbers)
      this.#keptTick.set(ticks)
    }
    this.#keptNumber[this.#kept] = number
    this.#keptTick[this.#kept] = tick
    this.#kept++
    if (this.#kept === KEPT_SCANLINES) this.#keeps = false
  }

  /** The kept scanlines against a straight line of their own. */
  residuals(): SeriesResiduals {
    const count = this.#kept
    const number = this.#keptNumber.slice(0, count)
    const offset = this.#keptTick.slice(0, count)
    const [firstNumber, firstTick] = [number[0] ?? 0, offset[0] ?? 0]
    let [meanNumber, meanTick] = [0, 0]
    for (let i = 0; i < count; i++) {
      meanNumber += (number[i]! - firstNumber) / count
      meanTick += (offset[i]! - firstTick) / count
    }
    let [spread, product] = [0, 0]
    for (let i = 0; i < count; i++) {
      const off = number[i]! - firstNumber - meanNumber
      spread += off * off
      product += off * (offset[i]! - firstTick - meanTick)
    }
    const slope = spread > 0 ? product / spread : 0
    for (let i = 0; i < count; i++)
      offset[i] = offset[i]! - firstTick - meanTick - slope * (number[i]! - firstNumber - meanNumber)
    return { count, number, offset, scanlinesPerPoint: 1 }
  }
}
