// Rows that wait, in columns that grow.

/** Most rows that may wait for sync to settle. */
const MAX_WAITING_ROWS = 4_000_000
const FIRST_CAPACITY = 16_384

/** Rows in columns; a queue that gives up its oldest when full. */
export class RowQueue {
  tick: Float64Array<ArrayBuffer> = new Float64Array(FIRST_CAPACITY)
  levels: Uint16Array<ArrayBuffer> = new Uint16Array(FIRST_CAPACITY)
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
