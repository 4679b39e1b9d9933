// Sync edges on their way past, false ones too: keeps those of the frames that are wanted, for whoever wants to see what
// a counter of edges makes of them. Goes along with the video recorder, which says what to keep.

/** Bits of a row's levels. */
export const HSYNC_BIT = 1
export const VSYNC_BIT = 2

/** Most rows kept or waiting; a thousand times what the sync of some frames needs. */
const MAX_SYNC_ROWS = 1_000_000
/** Rows that may lie about where nothing is kept. */
const IDLE_ROWS = 8192

/** Every change of hsync (or csync) and vsync of a recording. */
export interface SyncEdges {
  /** Levels before the first row: HSYNC_BIT, VSYNC_BIT. */
  initialLevels: number
  /** Ticks, rising; several changes at one tick may be several rows. */
  tick: number[]
  /** Levels of both from that tick on. */
  levels: number[]
}

/** Keeps sync edges beside a recording of video. */
export class SyncRecorder {
  #waitingTick: number[] = []
  #waitingLevels: number[] = []
  /** Levels after the newest row. */
  #newest = 0
  /** Levels after the newest row that no longer waits. */
  #levels = 0
  #kept: SyncEdges = { initialLevels: 0, tick: [], levels: [] }

  /** A channel that is high when the capture begins. */
  setInitial(bit: number): void {
    this.#newest |= bit
    this.#levels = this.#newest
  }

  push(tick: number, bit: number, level: number): void {
    this.#newest = level === 1 ? this.#newest | bit : this.#newest & ~bit
    // noise that never settles: what is oldest goes
    if (this.#waitingTick.length >= MAX_SYNC_ROWS) this.#take(MAX_SYNC_ROWS / 2)
    this.#waitingTick.push(tick)
    this.#waitingLevels.push(this.#newest)
  }

  /** Rows before the tick are kept, or may go. */
  settle(tick: number, keep: boolean): void {
    if (!keep && this.#waitingTick.length < IDLE_ROWS) return
    const rows = this.#take(this.#rowsBefore(tick))
    if (!keep || this.#kept.tick.length + rows.tick.length > MAX_SYNC_ROWS) return
    for (const [row, at] of rows.tick.entries()) {
      this.#kept.tick.push(at)
      this.#kept.levels.push(rows.levels[row]!)
    }
  }

  /** What comes from this tick on is a recording of its own. */
  begin(tick: number): void {
    this.#take(this.#rowsBefore(tick))
    this.#kept = { initialLevels: this.#levels, tick: [], levels: [] }
  }

  /** Lets kept rows before the tick go. */
  dropBefore(tick: number): void {
    const { tick: ticks, levels } = this.#kept
    let rows = 0
    while (rows < ticks.length && ticks[rows]! < tick) rows++
    if (rows === 0) return
    this.#kept.initialLevels = levels[rows - 1]!
    ticks.splice(0, rows)
    levels.splice(0, rows)
  }

  /** Hands over what was kept. */
  finish(): SyncEdges {
    const kept = this.#kept
    this.#kept = { initialLevels: this.#levels, tick: [], levels: [] }
    return kept
  }

  #rowsBefore(tick: number): number {
    let rows = 0
    while (rows < this.#waitingTick.length && this.#waitingTick[rows]! < tick) rows++
    return rows
  }

  #take(rows: number): { tick: number[]; levels: number[] } {
    const tick = this.#waitingTick.splice(0, rows)
    const levels = this.#waitingLevels.splice(0, rows)
    this.#levels = levels.at(-1) ?? this.#levels
    return { tick, levels }
  }
}
