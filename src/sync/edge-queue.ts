// Sync edges that are not settled yet: all since the last confirmed scanline, for taking lock again from there.

/** Edges in columns, in time order; indices move only when `push` says so. */
export class EdgeQueue {
  tick: Float64Array = new Float64Array(1024)
  level: Uint8Array = new Uint8Array(1024)
  count = 0
  /** Edges before this one are not needed again. */
  keepFrom = 0

  /** Edges that are still needed. */
  get kept(): number {
    return this.count - this.keepFrom
  }

  /** @returns how far the indices of the other edges have moved down */
  push(tick: number, level: number): number {
    const moved = this.count === this.tick.length ? this.#makeRoom() : 0
    this.tick[this.count] = tick
    this.level[this.count] = level
    this.count++
    return moved
  }

  /** All before this tick has been looked at, or never will be. */
  get settledTick(): number {
    if (this.count <= this.keepFrom) return this.count > 0 ? this.tick[this.count - 1]! : -Infinity
    return this.tick[this.keepFrom]!
  }

  /** Lets go of what comes before the first edge of that level from that tick on. */
  keepFromTick(tick: number, level: number): void {
    let from = this.keepFrom
    while (from < this.count && (this.tick[from]! < tick || this.level[from] !== level)) from++
    this.keepFrom = from
  }

  #makeRoom(): number {
    const moved = this.keepFrom
    if (moved > 0) {
      this.tick.copyWithin(0, moved, this.count)
      this.level.copyWithin(0, moved, this.count)
      this.count -= moved
      this.keepFrom = 0
    }
    if (this.count < this.tick.length / 2) return moved
    const tick = new Float64Array(this.tick.length * 2)
    const level = new Uint8Array(this.level.length * 2)
    tick.set(this.tick)
    level.set(this.level)
    this.tick = tick
    this.level = level
    return moved
  }
}
