// How far a fast scanner goes before it returns, though it could go on.

import { BATCH_ROWS } from './transition-batch.ts'

/** Levels of a row are the bits of one 32-bit number. */
export const MAX_FAST_CHANNELS = 32
/** A row may become this many transitions; with less room in the batch, it must be handed on first. */
export const BATCH_ROOM: number = BATCH_ROWS - MAX_FAST_CHANNELS
/**
 * Bytes of rows in one call. The engine puts compiled code in place of a function when that is called again, so a loop
 * over a whole chunk would run interpreted for too long: a tenth of the time of a 100 MB file.
 */
export const STRIDE_BYTES = 8192
