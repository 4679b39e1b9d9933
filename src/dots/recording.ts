// What is kept of a segment: video changes of the wanted frames in columns, the scanlines they lie in, and the frames.

import type { FrameSync } from '../sync/frame-sync.ts'
import type { SyncEdges } from './sync-recorder.ts'

/** Most rows kept of one segment: two frames of the busiest picture there is (640 x 350 dots, each another colour). */
export const MAX_KEPT_ROWS = 4_000_000
const FIRST_CAPACITY = 16_384
/** Scanlines kept from before the first wanted frame. */
const SCANLINES_BEFORE = 16

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
  /** Sync as captured, false edges too; null unless it was asked for. */
  sync: SyncEdges | null
}

/** An empty one. */
export function newRecording(initialLevels: number, overflowed: boolean): Recording {
  return {
    initialLevels,
    tick: new Float64Array(FIRST_CAPACITY),
    levels: new Uint16Array(FIRST_CAPACITY),
    rows: 0,
    scanlineNumber: [],
    scanlineTick: [],
    frames: [],
    firstFrame: 0,
    overflowed,
    sync: null,
  }
}

/** Lets go of rows before a tick, and of scanlines but for a few, which the line fit likes to have. */
export function dropBefore(recording: Recording, tick: number): void {
  let rows = 0
  while (rows < recording.rows && recording.tick[rows]! < tick) rows++
  if (rows > 0) {
    recording.initialLevels = recording.levels[rows - 1]!
    recording.tick.copyWithin(0, rows, recording.rows)
    recording.levels.copyWithin(0, rows, recording.rows)
    recording.rows -= rows
  }
  const kept = recording.scanlineTick.findIndex((at) => at >= tick)
  const from = Math.max(0, (kept < 0 ? recording.scanlineTick.length : kept) - SCANLINES_BEFORE)
  recording.scanlineNumber.splice(0, from)
  recording.scanlineTick.splice(0, from)
}

/** Adds rows to a recording, as far as there is room: several at one tick are one. */
export function keepRows(
  recording: Recording,
  ticks: Float64Array,
  levels: Uint16Array,
  from: number,
  to: number,
): void {
  const wanted = Math.min(MAX_KEPT_ROWS, recording.rows + to - from)
  if (wanted > recording.tick.length) {
    let capacity = recording.tick.length
    while (capacity < wanted) capacity *= 2
    const grownTick = new Float64Array(capacity)
    const grownLevels = new Uint16Array(capacity)
    grownTick.set(recording.tick)
    grownLevels.set(recording.levels)
    recording.tick = grownTick
    recording.levels = grownLevels
  }
  const { tick, levels: kept } = recording
  recording.rows = copyRows(ticks, levels, from, to, tick, kept, recording.rows)
  if (ticks[to - 1] !== tick[recording.rows - 1]) recording.overflowed = true
}

/**
 * The hot loop of it; gives the rows that are kept then. Nothing is done after the loop but that: it is compiled while it runs
 * for the first time, when nothing is known yet of what follows it.
 */
function copyRows(
  ticks: Float64Array,
  levels: Uint16Array,
  from: number,
  to: number,
  keptTicks: Float64Array,
  keptLevels: Uint16Array,
  rows: number,
): number {
  let last = rows > 0 ? keptTicks[rows - 1]! : NaN
  for (let row = from; row < to; row++) {
    const tick = ticks[row]!
    if (tick !== last) {
      if (rows === MAX_KEPT_ROWS) return rows
      keptTicks[rows++] = tick
      last = tick
    }
    keptLevels[rows - 1] = levels[row]!
  }
  return rows
}

/**
 * Share of time that lies within `reach` of a change of any plane: how often a moment picked at random would.
 * @returns 0 for an empty recording
 */
export function colourEdgeShare(recording: Recording, reach: number): number {
  const { tick, rows, scanlineTick } = recording
  const span = (scanlineTick.at(-1) ?? 0) - (scanlineTick[0] ?? 0)
  if (rows === 0 || !(span > 0)) return 0
  let covered = 2 * reach
  for (let row = 1; row < rows; row++) covered += Math.min(2 * reach, tick[row]! - tick[row - 1]!)
  return Math.min(1, covered / span)
}
