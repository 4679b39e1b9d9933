// The rows that a VCD's value changes become, gathered into batches. Own file: the scanners and the grammar share it.

import type { CaptureExtent, ReaderOptions } from './capture-header.ts'
import {
  BATCH_ROWS,
  newTransitionBatch,
  type TransitionBatch,
  type TransitionSink,
} from './transition-batch.ts'

/** Where the body of a dump has come to, and the rows that are not handed on yet. */
export class VcdRows {
  batch: TransitionBatch
  /** Rows in the batch; below BATCH_ROWS but for a moment. */
  count = 0
  /** Time of the changes that are read, in ticks. */
  now = 0
  firstTick = 0
  /** A time stamp was read; before it, every change waits for its tick. */
  started = false
  /** A change of a declared code was read, whether or not its channel is wanted. */
  sawDeclared = false
  readonly #sink: TransitionSink
  readonly #nextBatch: (() => TransitionBatch) | undefined

  constructor({ sink, nextBatch }: Pick<ReaderOptions, 'sink' | 'nextBatch'>) {
    this.#sink = sink
    this.#nextBatch = nextBatch
    this.batch = nextBatch?.() ?? newTransitionBatch()
  }

  start(tick: number): void {
    this.started = true
    this.now = tick
    this.firstTick = tick
  }

  add(channel: number, level: number): void {
    const row = this.count
    const { tick, channel: channels, level: levels } = this.batch
    tick[row] = this.now
    channels[row] = channel
    levels[row] = level
    this.count = row + 1
    if (this.count === BATCH_ROWS) this.flush()
  }

  /** Hands the rows on. */
  flush(): void {
    if (this.count === 0) return
    this.sawDeclared = true
    this.batch.count = this.count
    this.count = 0
    this.#sink(this.batch)
    if (this.#nextBatch) this.batch = this.#nextBatch()
  }

  extent(): CaptureExtent {
    return { firstTick: this.firstTick, lastTick: this.now }
  }
}
