// A lock → where the next scanline's pulse is expected, how wide it is, and what is off. A second-order loop follows the
// period; the lines of leading and trailing edges know where edges lie about it.

import type { Polarity } from '../measurement.ts'
import type { SyncLock } from './acquire.ts'
import { SampledLine } from './sampled-line.ts'
import { UsualWidth } from './usual-width.ts'

/** Loop gains: phase 1/8 and period 1/128, critically damped, settle within some twenty scanlines. */
export const PHASE_GAIN: number = 1 / 8
export const PERIOD_GAIN: number = 1 / 128
/** Gain of the period that the samples' line is held against: slow, so that their beat with the scanlines averages out. */
const SLOW_GAIN = 1 / 256
/** Share of a scanline that a leading edge may be off in any case. */
const FLOOR_SHARE = 1 / 8000

/** Samples that a width may be off by and tell nothing. */
const SHARP_SAMPLES = 2.5
/** Share of a period that two of one timing differ by less than. */
const SAME_PERIOD = 0.002

/** Follows a train of pulses; ticks throughout. */
export class ScanlinePrediction {
  readonly resolution: number
  /** Scanline whose pulse is expected, and where the loop has its leading edge. */
  number: number = NaN
  expected: number = NaN
  period: number = NaN
  readonly line: SampledLine
  /** The same of the trailing edges, from the same prediction. */
  readonly trailLine: SampledLine
  readonly width: UsualWidth
  #slowPeriod = NaN
  /** The last scanline that was in its place, and its edges; no trailing one where that was not. */
  #lastNumber = NaN
  #lastLead = NaN
  #lastTrail = NaN

  /** @param resolutionTicks sample interval: what an edge may be off by without being wrong */
  constructor(resolutionTicks: number) {
    this.resolution = resolutionTicks
    this.line = new SampledLine(resolutionTicks)
    this.trailLine = new SampledLine(resolutionTicks)
    this.width = new UsualWidth(resolutionTicks)
  }

  /** @param number of the scanline that comes first, at `expectedTick` */
  start(lock: SyncLock, number: number, expectedTick: number): void {
    this.number = number
    this.expected = expectedTick
    this.period = lock.periodTicks
    this.#slowPeriod = lock.periodTicks
    this.#lastNumber = NaN
    const floor = FLOOR_SHARE * lock.periodTicks
    this.line.start(lock.leads, floor)
    this.trailLine.start(lock.trails, floor)
    this.width.start(lock.widthTicks, lock.widthScatterTicks)
  }

  /** Ticks that a width may be off by without a doubt: a few samples. */
  get sharpTicks(): number {
    return SHARP_SAMPLES * this.resolution
  }

  /** Ticks that widths of one kind of pulse are off by at most, be they regular or not. */
  get widthReach(): number {
    return Math.max(this.sharpTicks, this.width.mean / 10)
  }

  /** Whether a lock has the timing of this one, whose polarity is given. */
  isSameTiming({ polarity, periodTicks, widthTicks }: SyncLock, before: Polarity): boolean {
    return (
      before === polarity &&
      Math.abs(periodTicks / this.period - 1) < SAME_PERIOD &&
      Math.abs(widthTicks - this.width.mean) < this.widthReach
    )
  }

  /** Scanline number at a tick, with its fraction. */
  scanlineAt(tick: number): number {
    return this.number + (tick - this.expected) / this.period
  }

  /** Where the leading edge is expected to be seen, on average. */
  get centreTick(): number {
    return this.expected + this.line.centre
  }

  /** Where it is seen at the latest. */
  get latestTick(): number {
    return this.expected + this.line.tolerance
  }

  isWidthWrong(width: number, trailOffset: number): boolean {
    const jitter = this.line.jitterTicks + this.trailLine.jitterTicks
    return this.width.isWrong(width, this.trailLine.isOff(trailOffset), jitter)
  }

  /** Scanlines since the last one that was in its place; NaN before the first. */
  get skipped(): number {
    return this.number - this.#lastNumber - 1
  }

  /** One scanline further. */
  advance(): void {
    this.expected += this.period
    this.number++
    this.line.advance(this.period - this.#slowPeriod)
    this.trailLine.advance(this.period - this.#slowPeriod)
  }

  /** Scanlines that are to be counted again. */
  stepBack(scanlines: number): void {
    this.expected -= scanlines * this.period
    this.#shift(scanlines * (this.#slowPeriod - this.period))
    this.number -= scanlines
  }

  /** Takes in the pulse of this scanline, which is in its place; its trailing edge only where the width is right. */
  follow(lead: number, width: number, isWidthWrong: boolean): void {
    const offset = lead - this.expected
    const isNext = this.number === this.#lastNumber + 1
    this.expected += offset * PHASE_GAIN
    this.period += offset * PERIOD_GAIN
    this.#slowPeriod += (this.period - this.#slowPeriod) * SLOW_GAIN
    this.line.add(offset, isNext ? lead - this.#lastLead : NaN)
    if (!isWidthWrong) {
      this.trailLine.add(offset + width, isNext ? lead + width - this.#lastTrail : NaN)
      this.width.add(width)
    }
    this.#lastNumber = this.number
    this.#lastLead = lead
    this.#lastTrail = isWidthWrong ? NaN : lead + width
    this.#shift(offset * PHASE_GAIN)
  }

  /** The prediction alone moves. */
  #shift(ticks: number): void {
    this.line.shift(ticks)
    this.trailLine.shift(ticks)
  }
}
