// Level changes on their way past: remembers the last of them, and cuts out what surrounds a moment that turns out to
// matter only later. Bounded; nothing is kept of a capture in which nothing happens.

/** The surroundings of one moment, on every channel. Ticks as in the capture. */
export interface WaveformClip {
  /** The moment it was cut out for. */
  tick: number
  /** What it shows, both ends included. Shorter than asked for where the capture or the memory of it ends. */
  fromTick: number
  toTick: number
  /** One entry per channel of the capture, in its order. */
  channels: WaveformPiece[]
}

/** One channel within a clip. */
export interface WaveformPiece {
  /** Level at the clip's begin; null where the channel had none by the clip's end. */
  levelBefore: 0 | 1 | null
  /** Ticks at which the level changes, rising, within the clip. */
  ticks: number[]
}

/** What to cut out. */
export interface ClipRequest {
  /** How far a clip reaches either side of its moment, in seconds. */
  reachSeconds: number
  /** Clips of one kind at most. */
  mostPerKind: number
}

/**
 * Changes remembered, a power of two. A fault is told some scanlines after it happened, while the sync locks some
 * hundred; the busiest scanline has a few thousand changes.
 */
const MEMORY = 2 ** 20
/** Changes in one clip; a faster wire, such as a dot clock, cuts the clip short. */
const MOST_CHANGES = 8192
/** Moments that may wait for the time after them. */
const MOST_WAITING = 1024

/** Keeps the clips of one capture. Feed it changes first, then tell it of moments in them. */
export class WaveformClips {
  readonly #reach: number
  readonly #mostPerKind: number
  readonly #tick = new Float64Array(MEMORY)
  readonly #channel = new Uint16Array(MEMORY)
  readonly #level = new Uint8Array(MEMORY)
  /** Changes ever taken; the last MEMORY of them are there. */
  #taken = 0
  /** Level by channel, 2 where there is none yet. */
  readonly #last: Uint8Array
  readonly #kinds = new Map<string, number>()
  readonly #clips: WaveformClip[] = []
  #waiting: number[] = []

  /** @param reachTicks how far a clip reaches either side of its moment */
  constructor(channelCount: number, reachTicks: number, mostPerKind: number) {
    this.#reach = reachTicks
    this.#mostPerKind = mostPerKind
    this.#last = new Uint8Array(channelCount).fill(2)
  }

  /** Columns as in a TransitionBatch, rows `from` to `to` (excluded); repeated and unknown levels are no changes. */
  push(ticks: Float64Array, channels: Uint16Array, levels: Uint8Array, from: number, to: number): void {
    const last = this.#last
    let taken = this.#taken
    for (let row = from; row < to; row++) {
      const channel = channels[row]!
      const level = levels[row]!
      const before = last[channel]!
      if (level > 1 || level === before) continue
      last[channel] = level
      // the first level a channel is given is no change
      if (before > 1) continue
      const at = taken & (MEMORY - 1)
      this.#tick[at] = ticks[row]!
      this.#channel[at] = channel
      this.#level[at] = level
      taken++
    }
    this.#taken = taken
    if (this.#waiting.length > 0) this.#cutFinished()
  }

  /** This moment matters: cut it out as soon as the time after it is there. */
  want(tick: number, kind: string): void {
    const times = this.#kinds.get(kind) ?? 0
    if (times >= this.#mostPerKind || this.#waiting.length >= MOST_WAITING) return
    this.#kinds.set(kind, times + 1)
    this.#waiting.push(tick)
    this.#cutFinished()
  }

  /** The capture is over; hands over the clips, in order of time. */
  finish(): WaveformClip[] {
    for (const tick of this.#waiting) this.#cut(tick)
    this.#waiting = []
    return this.#clips.sort((a, b) => a.tick - b.tick)
  }

  #cutFinished(): void {
    const newest = this.#taken > 0 ? this.#tick[(this.#taken - 1) & (MEMORY - 1)]! : -Infinity
    const unfinished = this.#waiting.filter((tick) => tick + this.#reach >= newest)
    if (unfinished.length === this.#waiting.length) return
    for (const tick of this.#waiting) if (tick + this.#reach < newest) this.#cut(tick)
    this.#waiting = unfinished
  }

  #cut(tick: number): void {
    const oldest = Math.max(0, this.#taken - MEMORY)
    const first = this.#firstFrom(tick - this.#reach, oldest)
    const pieces = Array.from(this.#last, (): WaveformPiece => ({ levelBefore: null, ticks: [] }))
    let toTick = tick + this.#reach
    let row = first
    for (; row < this.#taken; row++) {
      const at = this.#tick[row & (MEMORY - 1)]!
      if (at > toTick) break
      if (row - first === MOST_CHANGES) {
        toTick = at
        break
      }
      const piece = pieces[this.#channel[row & (MEMORY - 1)]!]!
      piece.ticks.push(at)
    }
    this.#setLevels(pieces, first)
    // where the memory does not reach as far back, the levels before are not known
    const fromTick =
      first === oldest && oldest > 0
        ? Math.max(tick - this.#reach, this.#tick[oldest & (MEMORY - 1)]!)
        : tick - this.#reach
    this.#clips.push({ tick, fromTick, toTick, channels: pieces })
  }

  /** Every change goes to the other level: what a channel had before is read off the first change that follows. */
  #setLevels(pieces: readonly WaveformPiece[], first: number): void {
    let missing = pieces.length
    for (let row = first; row < this.#taken && missing > 0; row++) {
      const piece = pieces[this.#channel[row & (MEMORY - 1)]!]!
      if (piece.levelBefore !== null) continue
      piece.levelBefore = this.#level[row & (MEMORY - 1)] === 1 ? 0 : 1
      missing--
    }
    if (missing === 0) return
    for (const [channel, piece] of pieces.entries()) {
      const level = this.#last[channel]!
      if (piece.levelBefore === null && level < 2) piece.levelBefore = level === 1 ? 1 : 0
    }
  }

  /** First change, counted over all, at or after the tick. */
  #firstFrom(tick: number, oldest: number): number {
    let low = oldest
    let high = this.#taken
    while (low < high) {
      const middle = Math.floor((low + high) / 2)
      if (this.#tick[middle & (MEMORY - 1)]! < tick) low = middle + 1
      else high = middle
    }
    return low
  }
}
