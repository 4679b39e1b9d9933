// What capture hands on: level changes in columns, in the order of the file. One batch is reused for the whole file.

/** Rows in one batch. */
export const BATCH_ROWS = 8192

/** A batch stays as it is until so many more were handed over: who passes rows over may come back to them. */
export const KEPT_BATCHES = 4

/** Levels a transition can lead to. */
export const LEVEL_LOW = 0
export const LEVEL_HIGH = 1
/** x, z, u, an empty or unreadable state: not an edge, and not a level either. */
export const LEVEL_UNKNOWN = 2
/** In tables of levels: none was told yet, or there is none. No transition leads to it. */
export const NO_LEVEL = 255

/**
 * Transitions in columns; only rows below `count` are valid, and only during the sink call, or for KEPT_BATCHES more where
 * whoever hands batches on promises that.
 *
 * `tick` never falls from row to row (float64, whole numbers but for fractional VCD times);
 * `channel` indexes `CaptureHeader.channels`; `level` is one of the LEVEL_ constants.
 * A row may repeat the level the channel already has: `transitions/` drops those.
 */
export interface TransitionBatch {
  count: number
  readonly tick: Float64Array
  readonly channel: Uint16Array
  readonly level: Uint8Array
}

/** Takes one batch; must copy what it wants to keep. */
export type TransitionSink = (batch: TransitionBatch) => void

/** Batches to fill one after the other, each as long as it is kept, for `ReaderOptions.nextBatch`. */
export function batchesInTurn(): () => TransitionBatch {
  const batches = Array.from({ length: KEPT_BATCHES + 1 }, newTransitionBatch)
  let filled = 0
  return () => batches[filled++ % batches.length]!
}

export function newTransitionBatch(): TransitionBatch {
  return {
    count: 0,
    tick: new Float64Array(BATCH_ROWS),
    channel: new Uint16Array(BATCH_ROWS),
    level: new Uint8Array(BATCH_ROWS),
  }
}
