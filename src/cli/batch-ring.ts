// A ring of transition batches in memory that two threads share: one fills them, the other takes them, nothing is copied.

import { BATCH_ROWS, KEPT_BATCHES, type TransitionBatch } from '../capture/transition-batch.ts'

/** Batches that may lie between the threads, two million rows: reading goes on for some 25 ms while nothing is measured. */
const SLOTS = 256

// Words of control. Counts only grow; a slot is a count modulo SLOTS.
const FILLED = 0
const RELEASED = 1
const CONTROL_WORDS = 2
const PROGRESS_AT = CONTROL_WORDS * Int32Array.BYTES_PER_ELEMENT
const TICKS_AT = PROGRESS_AT + 2 * Float64Array.BYTES_PER_ELEMENT
const ROWS = SLOTS * BATCH_ROWS
const COUNTS_AT = TICKS_AT + ROWS * Float64Array.BYTES_PER_ELEMENT
const CHANNELS_AT = COUNTS_AT + SLOTS * Int32Array.BYTES_PER_ELEMENT
const LEVELS_AT = CHANNELS_AT + ROWS * Uint16Array.BYTES_PER_ELEMENT
const RING_BYTES = LEVELS_AT + ROWS

export function newRingMemory(): SharedArrayBuffer {
  return new SharedArrayBuffer(RING_BYTES)
}

/** Either end of the ring. */
export class BatchRing {
  readonly #control: Int32Array
  readonly #progress: Float64Array
  readonly #counts: Int32Array
  readonly #slots: TransitionBatch[]
  /** Of the end that takes: batches so far. */
  #taken = 0

  constructor(memory: SharedArrayBuffer) {
    this.#control = new Int32Array(memory, 0, CONTROL_WORDS)
    this.#progress = new Float64Array(memory, PROGRESS_AT, 2)
    this.#counts = new Int32Array(memory, COUNTS_AT, SLOTS)
    this.#slots = Array.from({ length: SLOTS }, (_, slot) => ({
      count: 0,
      tick: new Float64Array(memory, TICKS_AT + slot * BATCH_ROWS * 8, BATCH_ROWS),
      channel: new Uint16Array(memory, CHANNELS_AT + slot * BATCH_ROWS * 2, BATCH_ROWS),
      level: new Uint8Array(memory, LEVELS_AT + slot * BATCH_ROWS, BATCH_ROWS),
    }))
  }

  /** How far reading has come, in bytes of the file; for people, so not exact. */
  get bytesRead(): number {
    return this.#progress[0]!
  }
  /** null where it has no end yet. */
  get bytesTotal(): number | null {
    return this.#progress[1]! > 0 ? this.#progress[1]! : null
  }
  setProgress(bytesRead: number, bytesTotal: number | null): void {
    this.#progress[0] = bytesRead
    this.#progress[1] = bytesTotal ?? 0
  }

  /** The batch to fill next; blocks this thread while the ring is full. */
  free(): TransitionBatch {
    const filled = Atomics.load(this.#control, FILLED)
    for (;;) {
      const released = Atomics.load(this.#control, RELEASED)
      if (filled - released < SLOTS) return this.#slots[filled % SLOTS]!
      Atomics.wait(this.#control, RELEASED, released)
    }
  }

  /** Hands on the batch that `free` gave. */
  put({ count }: TransitionBatch): void {
    const filled = Atomics.load(this.#control, FILLED)
    this.#counts[filled % SLOTS] = count
    Atomics.store(this.#control, FILLED, filled + 1)
  }

  /** Hands the oldest batch to `use`, for which it stays as it is until KEPT_BATCHES more; false where there is none. */
  take(use: (batch: TransitionBatch) => void): boolean {
    if (Atomics.load(this.#control, FILLED) === this.#taken) return false
    const slot = this.#taken % SLOTS
    const batch = this.#slots[slot]!
    batch.count = this.#counts[slot]!
    use(batch)
    this.#taken++
    if (this.#taken <= KEPT_BATCHES) return true
    Atomics.store(this.#control, RELEASED, this.#taken - KEPT_BATCHES)
    Atomics.notify(this.#control, RELEASED)
    return true
  }
}
