// A growing copy of transitions in columns, for the first part of a capture: it is looked at before roles are known,
// then played back. Bounded; the owner decides when to stop.

import type { TransitionBatch } from '../capture/transition-batch.ts'

/** A frame of a text screen: a system gives memory that nobody touches for nothing, and growing is copying. */
const FIRST_CAPACITY = 65_536

/** Columns that grow fourfold, as memory that nobody has touched yet costs nothing; rows past `count` are not valid. */
export class TransitionStore {
  tick: Float64Array = new Float64Array(FIRST_CAPACITY)
  channel: Uint16Array = new Uint16Array(FIRST_CAPACITY)
  level: Uint8Array = new Uint8Array(FIRST_CAPACITY)
  count = 0

  append(batch: TransitionBatch): void {
    const end = this.count + batch.count
    if (end > this.tick.length) this.#grow(end)
    this.tick.set(batch.tick.subarray(0, batch.count), this.count)
    this.channel.set(batch.channel.subarray(0, batch.count), this.count)
    this.level.set(batch.level.subarray(0, batch.count), this.count)
    this.count = end
  }

  #grow(rows: number): void {
    const capacity = Math.max(rows, this.tick.length * 4)
    const { tick, channel, level } = this
    this.tick = new Float64Array(capacity)
    this.channel = new Uint16Array(capacity)
    this.level = new Uint8Array(capacity)
    this.tick.set(tick.subarray(0, this.count))
    this.channel.set(channel.subarray(0, this.count))
    this.level.set(level.subarray(0, this.count))
  }
}
