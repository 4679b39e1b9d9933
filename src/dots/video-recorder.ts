// Video transitions on their way past: keeps those of the frames that are wanted, in one bounded window per segment, and
// lets the rest go. Sync is settled a little later than it arrives, so everything newer than that waits here.

import type { FrameSync } from '../sync/segment-sync.ts'

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
}

/** Rows in columns; a queue that gives up its oldest when full. */
class RowQueue {
  tick = new Float64Array(FIRST_CAPACITY)
  levels = new Uint16Array(FIRST_CAPACITY)
  head = 0
  tail = 0
  overflowed = false

  push(tick: number, levels: number): void {
    if (this.tail === this.tick.length) this.#makeRoom()
    this.tick[this.tail] = tick
    this.levels[this.tail] = levels
    this.tail++
  }

  #makeRoom(): void {
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
  readonly #wanted: WantedFrames
  readonly #queue = new RowQueue()
  /** Levels after the newest row that left the queue. */
  #levels = 0
  #recording: Recording | undefined
  #closed = true

  constructor(wanted: WantedFrames) {
    this.#wanted = wanted
  }

  /** Levels of all planes at the beginning of the capture. */
  setInitialLevels(levels: number): void {
    this.#levels = levels
  }

  /** One change of any plane; several at one tick may come as several rows. */
  push(tick: number, levels: number): void {
    this.#queue.push(tick, levels)
  }

  /** Everything older than the tick is assigned to a segment: keep it or let it go. */
  settle(tick: number): void {
    const queue = this.#queue
    const recording = this.#closed ? undefined : this.#recording
    let head = queue.head
    let levels = this.#levels
    while (head < queue.tail && queue.tick[head]! < tick) {
      levels = queue.levels[head]!
      if (recording) this.#keep(recording, queue.tick[head]!, levels)
      head++
    }
    queue.head = head
    this.#levels = levels
  }

  #keep(recording: Recording, tick: number, levels: number): void {
    const last = recording.rows - 1
    if (last >= 0 && recording.tick[last] === tick) {
      recording.levels[last] = levels
      return
    }
    if (recording.rows === MAX_KEPT_ROWS) {
      recording.overflowed = true
      return
    }
    if (recording.rows === recording.tick.length) {
      const grownTick = new Float64Array(recording.rows * 2)
      const grownLevels = new Uint16Array(recording.rows * 2)
      grownTick.set(recording.tick)
      grownLevels.set(recording.levels)
      recording.tick = grownTick
      recording.levels = grownLevels
    }
    recording.tick[recording.rows] = tick
    recording.levels[recording.rows] = levels
    recording.rows++
  }

  /** A segment begins: rows from this tick on are its own. */
  begin(tick: number): void {
    this.settle(tick)
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
    return recording
  }
}
