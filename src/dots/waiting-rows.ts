// Video rows on their way past. Sync is settled a little later than it arrives, so everything newer than that waits here:
// read into a queue while a frame is kept, passed over and remembered while none is.

import { firstFrom } from '../transitions/rising-ticks.ts'
import { PassedRows, type PassedRun, type VideoRows } from './passed-rows.ts'
import { keepRows, newRecording, type Recording } from './recording.ts'
import { RowQueue } from './row-queue.ts'

/** Takes rows, and hands them on to a recording once it is settled whose they are. */
export class WaitingRows {
  /** Where they go; undefined where nobody keeps them. */
  target: Recording | undefined
  readonly #queue = new RowQueue()
  /** Newer than what is in the queue; empty while rows are kept. */
  readonly #passed = new PassedRows()
  /** Levels after the newest row that left the queue. */
  #levels = 0
  /** Levels after the newest row that is not passed over. */
  #newest = 0
  #settledTick = -Infinity

  /** A plane that is high when the capture begins. */
  setInitial(planeBit: number): void {
    this.#readPassed()
    this.#newest |= planeBit
    this.#levels = this.#newest
  }

  /** One change of a plane; several at one tick may come as several rows. */
  push(tick: number, planeBit: number, level: number): void {
    this.#readPassed()
    this.#newest = level === 1 ? this.#newest | planeBit : this.#newest & ~planeBit
    const queue = this.#queue
    if (queue.tail === queue.tick.length) this.#makeRoom()
    queue.tick[queue.tail] = tick
    queue.levels[queue.tail] = this.#newest
    queue.tail++
  }

  /**
   * Takes rows as long as they are planes that change from one known level to the other, as nearly all rows do; where
   * nothing is kept, also such as repeat a level.
   *
   * @param from first row
   * @returns the first row it did not take, `rows.to` where it took all
   */
  take(rows: VideoRows, from: number): number {
    if (!this.target && this.#passed.canPass(rows)) return this.#passed.pass(rows, from)
    this.#readPassed()
    return this.#pushRun(rows, rows.last, from, rows.to)
  }

  /** A batch is over. Those that will not stay as they are for long are let go, or read where they are not settled. */
  endBatch(): void {
    this.#passed.endBatch()
    while (this.#passed.isTooLong) {
      const levels = this.#passed.letGo(this.#settledTick)
      if (levels === undefined) {
        this.#readRun(this.#passed.shift()!)
      } else {
        this.#levels = levels
        this.#newest = levels
        this.#queue.head = this.#queue.tail
      }
    }
  }

  /** Reads what was passed over, for somebody asks for it. */
  #readPassed(): void {
    for (let run = this.#passed.shift(); run; run = this.#passed.shift()) {
      this.#readRun(run)
      const { last, planeBit } = run.rows
      for (const [channel, level] of run.lastBefore.entries()) {
        if ((planeBit[channel]! & run.planes) !== 0) last[channel] = level
      }
    }
  }

  #readRun({ rows, from, to, lastBefore }: PassedRun): void {
    for (let row = from; row < to; row++) {
      // what it does not take is no change of a plane
      row = this.#pushRun(rows, lastBefore, row, to)
    }
  }

  /**
   * The hot loop of the rows that are kept: all it needs is in locals, and it does not branch on the level, which of a
   * dithered picture no processor can guess.
   */
  #pushRun(
    { ticks, channels, levels, planeBit }: VideoRows,
    last: Uint8Array,
    from: number,
    count: number,
  ): number {
    const queue = this.#queue
    let newest = this.#newest
    let row = from
    for (;;) {
      const { tick: keptTicks, levels: keptLevels } = queue
      let tail = queue.tail
      const end = Math.min(count, row + keptTicks.length - tail)
      for (; row < end; row++) {
        const channel = channels[row]!
        const bit = planeBit[channel]!
        // 1 only where both levels are known and differ
        if (bit === 0 || (levels[row]! ^ last[channel]!) !== 1) break
        last[channel]! ^= 1
        newest ^= bit
        keptTicks[tail] = ticks[row]!
        keptLevels[tail] = newest
        tail++
      }
      queue.tail = tail
      if (row < end || row === count) break
      this.#makeRoom()
    }
    this.#newest = newest
    return row
  }

  #makeRoom(): void {
    if (!this.target) this.#handOn(this.#settledTick)
    this.#queue.makeRoom()
    if (this.target && this.#queue.overflowed) this.target.overflowed = true
  }

  /** Does any plane change within `reach` of the tick? Knows only rows that were not handed on yet. */
  changesNear(tick: number, reach: number): boolean {
    this.#readPassed()
    const { tick: ticks, head, tail } = this.#queue
    const row = firstFrom(tick - reach, ticks, head, tail)
    return row < tail && ticks[row]! <= tick + reach
  }

  /**
   * Share of the time within `window` of the tick that lies within `reach` of a change. Of a picture full of edges that is
   * much where the edges are, and nothing between its scanlines.
   * @returns NaN where no row is left to tell
   */
  shareNear(tick: number, reach: number, window: number): number {
    this.#readPassed()
    const { tick: ticks, head, tail } = this.#queue
    const begin = this.target ? Math.max(tick - window, this.#settledTick) : tick - window
    const end = tick + window
    if (begin > tick) return NaN
    let covered = 0
    let until = begin
    for (let row = firstFrom(begin - reach, ticks, head, tail); row < tail; row++) {
      const at = ticks[row]!
      if (at > end + reach) break
      const from = Math.max(until, at - reach)
      until = Math.max(until, Math.min(end, at + reach))
      covered += Math.max(0, until - from)
    }
    return covered / (end - begin)
  }

  /** Everything older than the tick is settled. */
  settle(tick: number): void {
    this.#settledTick = tick
    // where nothing is kept, rows may as well lie in the queue until it is full
    if (this.target) this.#handOn(tick)
  }

  /** Rows from this tick on go to a recording of their own. */
  begin(tick: number): Recording {
    this.#readPassed()
    this.#handOn(tick)
    this.target = newRecording(this.#levels, this.#queue.overflowed)
    return this.target
  }

  #handOn(tick: number): void {
    const { tick: ticks, levels, head, tail } = this.#queue
    const end = firstFrom(tick, ticks, head, tail)
    if (end === head) return
    if (this.target) keepRows(this.target, ticks, levels, head, end)
    this.#levels = levels[end - 1]!
    this.#queue.head = end
  }
}
