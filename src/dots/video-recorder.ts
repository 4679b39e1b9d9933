// Video transitions on their way past: keeps those of the frames that are wanted, in one bounded window per segment, and
// lets the rest go. Sync is settled a little later than it arrives, so everything newer than that waits here.

import type { FrameSync } from '../sync/frame-sync.ts'
import { firstFrom } from '../transitions/rising-ticks.ts'
import { PassedRows, type PassedRun, type VideoRows } from './passed-rows.ts'
import { SyncRecorder, type SyncEdges } from './sync-recorder.ts'

/** Most rows kept of one segment: two frames of the busiest picture there is (640 x 350 dots, each another colour). */
export const MAX_KEPT_ROWS = 4_000_000
/** Most rows that may wait for sync to settle. */
const MAX_WAITING_ROWS = 4_000_000
/** Scanlines kept where no vsync tells where a frame ends. */
const MAX_SCANLINES = 1500
const FIRST_CAPACITY = 16_384

/** What was kept of one segment. Arrays may be longer than the counts say. */
export interface Recording {
  /** Video levels before the first row: bit i is plane i. */
  initialLevels: number
  /** Time of each change of any video channel, in ticks, rising. */
  tick: Float64Array
  /** Levels of all planes from that time on. */
  levels: Uint16Array
  rows: number
  /** Regular scanlines within the recording: number and leading edge in ticks. */
  scanlineNumber: number[]
  scanlineTick: number[]
  /** Frames that begin within it; the last may be cut. */
  frames: FrameSync[]
  /** Index in the segment of the first of `frames`. */
  firstFrame: number
  /** True where rows had to be let go for lack of room. */
  overflowed: boolean
  /** Sync as captured, false edges too; null unless it was asked for. */
  sync: SyncEdges | null
}

/** Rows in columns; a queue that gives up its oldest when full. */
class RowQueue {
  tick = new Float64Array(FIRST_CAPACITY)
  levels = new Uint16Array(FIRST_CAPACITY)
  head = 0
  tail = 0
  overflowed = false

  makeRoom(): void {
    if (this.head > this.tick.length / 2) return this.#moveTo(this.tick, this.levels)
    if (this.tick.length >= MAX_WAITING_ROWS) {
      this.overflowed = true
      this.head = Math.max(this.head, this.tick.length >> 1)
      return this.#moveTo(this.tick, this.levels)
    }
    this.#moveTo(new Float64Array(this.tick.length * 2), new Uint16Array(this.levels.length * 2))
  }

  #moveTo(tick: Float64Array<ArrayBuffer>, levels: Uint16Array<ArrayBuffer>): void {
    tick.set(this.tick.subarray(this.head, this.tail))
    levels.set(this.levels.subarray(this.head, this.tail))
    this.tail -= this.head
    this.head = 0
    this.tick = tick
    this.levels = levels
  }
}

/** Which frames of a segment to keep. */
export interface WantedFrames {
  /** Index of the first, from 0. */
  first: number
  count: number
}

/** Keeps the wanted frames of the segment at hand. */
export class VideoRecorder {
  /** Where sync edges go; undefined where nobody wants them. */
  readonly sync: SyncRecorder | undefined
  readonly #wanted: WantedFrames
  readonly #queue = new RowQueue()
  /** Newer than what is in the queue; empty while rows are kept. */
  readonly #passed = new PassedRows()
  /** Levels after the newest row that left the queue. */
  #levels = 0
  /** Levels after the newest row that is not passed over. */
  #newest = 0
  #recording: Recording | undefined
  #closed = true
  #settledTick = -Infinity

  /** @param keepSync keep the sync edges of the wanted frames as well */
  constructor(wanted: WantedFrames, keepSync = false) {
    this.#wanted = wanted
    this.sync = keepSync ? new SyncRecorder() : undefined
  }

  /** Every frame of the segment that was wanted is kept. */
  get isDone(): boolean {
    return this.#closed && this.#recording !== undefined
  }

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
   * Takes rows as long as they are planes that change from one known level to the other, as nearly all rows do.
   *
   * @param from first row
   * @returns the first row it did not take, `rows.to` where it took all
   */
  take(rows: VideoRows, from: number): number {
    if (this.#closed && this.#passed.canPass(rows)) return this.#passed.pass(rows, from)
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
    for (;;) {
      const run = this.#passed.shift()
      if (!run) return
      this.#readRun(run)
      if (this.#passed.oldest) continue
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
    if (this.#closed) this.#assign(this.#settledTick)
    this.#queue.makeRoom()
    if (this.#recording && !this.#closed && this.#queue.overflowed) this.#recording.overflowed = true
  }

  /** Does any plane change within `reach` of the tick? Knows only rows that have not been assigned yet. */
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
    const begin = this.#closed ? tick - window : Math.max(tick - window, this.#settledTick)
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

  /** Everything older than the tick is assigned to a segment: keep it or let it go. */
  settle(tick: number): void {
    this.#settledTick = tick
    this.sync?.settle(tick, !this.#closed)
    // where nothing is kept, rows may as well lie in the queue until it is full
    if (!this.#closed) this.#assign(tick)
  }

  #assign(tick: number): void {
    const { tick: ticks, levels, head, tail } = this.#queue
    const end = firstFrom(tick, ticks, head, tail)
    if (end === head) return
    if (this.#recording && !this.#closed) keepRows(this.#recording, ticks, levels, head, end)
    this.#levels = levels[end - 1]!
    this.#queue.head = end
  }

  /** A segment begins: rows from this tick on are its own. */
  begin(tick: number): void {
    this.#readPassed()
    this.#assign(tick)
    this.sync?.begin(tick)
    this.#recording = this.#newRecording()
    this.#closed = false
  }

  #newRecording(): Recording {
    return {
      initialLevels: this.#levels,
      tick: new Float64Array(FIRST_CAPACITY),
      levels: new Uint16Array(FIRST_CAPACITY),
      rows: 0,
      scanlineNumber: [],
      scanlineTick: [],
      frames: [],
      firstFrame: 0,
      overflowed: this.#queue.overflowed,
      sync: null,
    }
  }

  scanline(number: number, tick: number): void {
    const recording = this.#recording
    if (!recording || this.#closed) return
    if (recording.frames.length === 0 && recording.scanlineNumber.length >= MAX_SCANLINES) {
      // no vsync: what there is stands for a frame
      this.settle(tick)
      this.#closed = true
      return
    }
    recording.scanlineNumber.push(number)
    recording.scanlineTick.push(tick)
  }

  /** @param index of the frame in its segment */
  frameStarted(frame: FrameSync, index: number): void {
    const recording = this.#recording
    if (!recording || this.#closed) return
    const { first, count } = this.#wanted
    if (index < first) {
      // everything before the wanted frame may go, but for a few scanlines that the line fit likes to have
      this.settle(frame.startTick)
      this.#dropBefore(recording, frame.startTick)
      return
    }
    if (recording.frames.length === 0) recording.firstFrame = index
    recording.frames.push(frame)
    if (index < first + count) return
    this.settle(frame.startTick)
    this.#closed = true
  }

  #dropBefore(recording: Recording, tick: number): void {
    this.sync?.dropBefore(tick)
    let rows = 0
    while (rows < recording.rows && recording.tick[rows]! < tick) rows++
    if (rows > 0) {
      recording.initialLevels = recording.levels[rows - 1]!
      recording.tick.copyWithin(0, rows, recording.rows)
      recording.levels.copyWithin(0, rows, recording.rows)
      recording.rows -= rows
    }
    const kept = recording.scanlineTick.findIndex((at) => at >= tick)
    const from = Math.max(0, (kept < 0 ? recording.scanlineTick.length : kept) - 16)
    recording.scanlineNumber.splice(0, from)
    recording.scanlineTick.splice(0, from)
  }

  /** The segment is over (at this tick); hands its recording on. */
  finish(tick: number): Recording | undefined {
    this.settle(tick)
    const recording = this.#recording
    this.#recording = undefined
    this.#closed = true
    if (!recording) return undefined
    // that a segment is over may show only a frame later: what was recorded since is not its own
    while (recording.scanlineTick.length > 0 && recording.scanlineTick.at(-1)! > tick) {
      recording.scanlineTick.pop()
      recording.scanlineNumber.pop()
    }
    if (this.sync) recording.sync = this.sync.finish()
    return recording
  }
}

/** Adds rows to a recording, as far as there is room: several at one tick are one. */
function keepRows(
  recording: Recording,
  ticks: Float64Array,
  levels: Uint16Array,
  from: number,
  to: number,
): void {
  const wanted = Math.min(MAX_KEPT_ROWS, recording.rows + to - from)
  if (wanted > recording.tick.length) {
    let capacity = recording.tick.length
    while (capacity < wanted) capacity *= 2
    const grownTick = new Float64Array(capacity)
    const grownLevels = new Uint16Array(capacity)
    grownTick.set(recording.tick)
    grownLevels.set(recording.levels)
    recording.tick = grownTick
    recording.levels = grownLevels
  }
  const { tick, levels: kept } = recording
  recording.rows = copyRows(ticks, levels, from, to, tick, kept, recording.rows)
  if (ticks[to - 1] !== tick[recording.rows - 1]) recording.overflowed = true
}

/**
 * The hot loop of it; gives the rows that are kept then. Nothing is done after the loop but that: it is compiled while it runs
 * for the first time, when nothing is known yet of what follows it.
 */
function copyRows(
  ticks: Float64Array,
  levels: Uint16Array,
  from: number,
  to: number,
  keptTicks: Float64Array,
  keptLevels: Uint16Array,
  rows: number,
): number {
  let last = rows > 0 ? keptTicks[rows - 1]! : NaN
  for (let row = from; row < to; row++) {
    const tick = ticks[row]!
    if (tick !== last) {
      if (rows === MAX_KEPT_ROWS) return rows
      keptTicks[rows++] = tick
      last = tick
    }
    keptLevels[rows - 1] = levels[row]!
  }
  return rows
}

/**
 * Share of time that lies within `reach` of a change of any plane: how often a moment picked at random would.
 * @returns 0 for an empty recording
 */
export function colourEdgeShare(recording: Recording, reach: number): number {
  const { tick, rows, scanlineTick } = recording
  const span = (scanlineTick.at(-1) ?? 0) - (scanlineTick[0] ?? 0)
  if (rows === 0 || !(span > 0)) return 0
  let covered = 2 * reach
  for (let row = 1; row < rows; row++) covered += Math.min(2 * reach, tick[row]! - tick[row - 1]!)
  return Math.min(1, covered / span)
}
