// A recording and its sample instants → the samples of one scanline, one after the other, as the instrument took them.

import { firstAfter } from '../transitions/rising-ticks.ts'
import type { SampleInstants } from './sample-instants.ts'
import type { Recording } from './recording.ts'

/** Reads samples back scanline by scanline. The fields hold those of the last scanline that was read. */
export class FrameSamples {
  /** Levels of all planes, `count` of them; what lies past that is old. */
  levels: Uint16Array = new Uint16Array()
  count: number = NaN
  /** First sample after the scanline's start, in ticks; negative with a margin. */
  firstTicks: number = NaN
  /** From one sample to the next, in ticks. */
  readonly stepTicks: number
  readonly #recording: Recording
  readonly #instants: SampleInstants

  constructor(recording: Recording, instants: SampleInstants) {
    this.#recording = recording
    this.#instants = instants
    this.stepTicks = instants.intervalTicks
  }

  /**
   * @param startTick start of the scanline, not rounded; also `endTick`
   * @param marginTicks samples wanted before and after it
   * @param untilLastChange only samples before the last change of the recording, after which it may have ended
   */
  read(startTick: number, endTick: number, marginTicks: number, untilLastChange: boolean): void {
    const { tick, levels: rowLevels, rows, initialLevels } = this.#recording
    const { originTicks, intervalTicks } = this.#instants
    const first = Math.ceil((startTick - marginTicks - originTicks) / intervalTicks)
    const known = untilLastChange && rows > 0 ? tick[rows - 1]! : Infinity
    const last = Math.floor((Math.min(endTick + marginTicks, known) - originTicks) / intervalTicks)
    const count = Math.max(0, last - first + 1)
    if (count > this.levels.length) this.levels = new Uint16Array(count)
    const levels = this.levels
    // changes are rounded to ticks: half an interval keeps them on their own sample
    let row = firstAfter(originTicks + (first + 0.5) * intervalTicks, tick, 0, rows)
    let level = row > 0 ? rowLevels[row - 1]! : initialLevels
    let next = row < rows ? Math.ceil((tick[row]! - originTicks) / intervalTicks - 0.5) : Infinity
    for (let i = 0; i < count; i++) {
      while (next <= first + i) {
        level = rowLevels[row]!
        row++
        next = row < rows ? Math.ceil((tick[row]! - originTicks) / intervalTicks - 0.5) : Infinity
      }
      levels[i] = level
    }
    this.count = count
    this.firstTicks = originTicks + first * intervalTicks - startTick
  }
}
