// Video rows that hardly anybody asks for. While no frame is kept, batches go past with a look at whose rows they are, and
// the newest stay at hand where they lie: a fault, or a segment that turns out to have begun in the past, reads them.

import { KEPT_BATCHES, LEVEL_HIGH, NO_LEVEL } from '../capture/transition-batch.ts'

const NO_WORDS = new Int32Array(0)

/** Rows of one batch. */
export interface VideoRows {
  /** Columns as in a TransitionBatch; they stay as they are until KEPT_BATCHES more are over. */
  readonly ticks: Float64Array
  readonly channels: Uint16Array
  readonly levels: Uint8Array
  /** First row, and one past the last. */
  readonly from: number
  readonly to: number
  /** Bit by channel, 0 for what is no plane. */
  readonly planeBit: Uint16Array
  /** Level by channel after the rows that were taken; of planes that are passed over, after the batch before. */
  readonly last: Uint8Array
}

/** Consecutive rows that were passed over. */
export interface PassedRun {
  readonly rows: VideoRows
  /** First row, and one past the last. */
  readonly from: number
  to: number
  /** Which planes have rows in it, as a dot's code. */
  planes: number
  /** Level by channel before the first row. */
  readonly lastBefore: Uint8Array
}

/** The runs that were passed over, each beginning where the one before it ends. */
export class PassedRows {
  readonly #runs: PassedRun[] = []
  #growing: PassedRun | undefined
  /** Bit by channel; 0 too for a plane whose level is not known yet. */
  #passedBit: Uint16Array = new Uint16Array(0)
  #judged: VideoRows | undefined
  #isKnown = false

  /** More of them than batches are kept. */
  get isTooLong(): boolean {
    return this.#runs.length > KEPT_BATCHES
  }

  /** Whether rows of this batch can be passed over: every level is 0 or 1. */
  canPass(rows: VideoRows): boolean {
    if (rows !== this.#judged) {
      this.#judged = rows
      this.#isKnown = areLevelsKnown(rows.levels, rows.from, rows.to)
    }
    return this.#isKnown
  }

  /** Passes over planes; gives the first row that is none, or whose plane had no level yet. */
  pass(rows: VideoRows, from: number): number {
    this.#growing ??= this.#begin(rows, from)
    return passPlanes(this.#growing, rows.channels, from, rows.to, this.#passedBit)
  }

  #begin(rows: VideoRows, from: number): PassedRun {
    const { last, planeBit } = rows
    this.#passedBit = planeBit.map((bit, channel) => (last[channel] === NO_LEVEL ? 0 : bit))
    const run: PassedRun = { rows, from, to: from, planes: 0, lastBefore: last.slice() }
    this.#runs.push(run)
    return run
  }

  /** The batch is over: brings its `last` up to date. */
  endBatch(): void {
    if (this.#growing) findLast(this.#growing)
    this.#growing = undefined
  }

  /**
   * Lets go of the oldest run where even the one after it ends before this tick, so that nobody will ask for it.
   * @returns the levels of all planes after it; undefined where it must stay
   */
  letGo(tick: number): number | undefined {
    const [, next] = this.#runs
    if (!next || next.to === next.from || next.rows.ticks[next.to - 1]! >= tick) return undefined
    this.#runs.shift()
    let levels = 0
    for (const [channel, level] of next.lastBefore.entries()) {
      if (level === LEVEL_HIGH) levels |= next.rows.planeBit[channel]!
    }
    return levels
  }

  /** Takes the oldest run out, whose reader will bring `last` up to date. */
  shift(): PassedRun | undefined {
    const run = this.#runs.shift()
    if (run === this.#growing) this.#growing = undefined
    return run
  }
}

/** The hot loop of a long capture. */
function passPlanes(
  run: PassedRun,
  channels: Uint16Array,
  from: number,
  to: number,
  passedBit: Uint16Array,
): number {
  let planes = run.planes
  let row = from
  for (; row < to; row++) {
    const bit = passedBit[channels[row]!]!
    if (bit === 0) break
    planes |= bit
  }
  run.planes = planes
  run.to = row
  return row
}

/** Looks at four at once: a level is a byte, and one that is known has no bit but the lowest. */
function areLevelsKnown(levels: Uint8Array, from: number, to: number): boolean {
  const at = levels.byteOffset + from
  const words = at % 4 === 0 ? new Int32Array(levels.buffer, at, (to - from) >> 2) : NO_WORDS
  let any = 0
  for (let i = 0; i < words.length; i++) any |= words[i]!
  let odd = any & ~0x01010101
  for (let row = from + 4 * words.length; row < to; row++) odd |= levels[row]! & ~1
  return odd === 0
}

/** The newest level of each plane that has rows in the run. */
function findLast({ rows, from, to, planes }: PassedRun): void {
  const { channels, levels, planeBit, last } = rows
  let missing = planes
  for (let row = to - 1; row >= from && missing !== 0; row--) {
    const bit = planeBit[channels[row]!]! & missing
    if (bit === 0) continue
    last[channels[row]!] = levels[row]!
    missing &= ~bit
  }
}
