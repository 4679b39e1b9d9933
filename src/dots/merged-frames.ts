// Which frames of a recording are put between each other, and where each of their scanlines begins. Whoever merges asks
// here; the shifts are what the picture itself says of a frame's place, learnt on the way.

import type { FrameSamples } from './frame-samples.ts'
import type { SampleInstants } from './sample-instants.ts'
import type { ScanlineGrid } from './scanline-grid.ts'
import type { Recording } from './recording.ts'

/** Most frames that are merged: more than a second of video, and two words of bits for each dot of a plane. */
export const MAX_MERGED_FRAMES = 64
/** Frames whose length differs by less from the usual one are merged. */
const SAME_LENGTH_SCANLINES = 0.25

/** One frame that takes part. */
export interface MergedFrame {
  /** Index in its segment; one less than the first for what was captured before the first vsync. */
  index: number
  /** Its row 0, counted from the grid's first scanline; negative where rows are missing. */
  firstLine: number
  /** True where every scanline was captured. */
  whole: boolean
  /** What the picture says of its place beyond the scanline grid, in ticks. */
  shiftTicks: number
}

/** Frames of one recording, and all it takes to read their samples. */
export interface FrameSet {
  recording: Recording
  grid: ScanlineGrid
  instants: SampleInstants
  planeCount: number
  frames: MergedFrame[]
  /** Scanlines of a frame. */
  rows: number
}

/** Which frames to merge. */
export interface FrameChoice {
  /** Scanlines of a frame, or of a field (then x.5). */
  frameScanlines: number
  mostFrames: number
  /** 1, or 2 for every other field. */
  step: number
  /** Index in the recording of the first. */
  from: number
}

/**
 * Frames of the usual length, rising by index: whole ones, and where there is room what was captured of a frame at both
 * ends.
 */
export function framesToMerge(
  recording: Recording,
  grid: ScanlineGrid,
  { frameScanlines: rows, mostFrames, step, from }: FrameChoice,
): MergedFrame[] {
  const lines = linesKept(recording, grid)
  const whole: MergedFrame[] = []
  const parts: MergedFrame[] = []
  const { frames, firstFrame } = recording
  for (let at = from; at < frames.length; at += step) {
    const { firstScanline, scanlines } = frames[at]!
    // the last one of a capture has no length yet
    if (Math.abs(scanlines - rows) > SAME_LENGTH_SCANLINES) continue
    const firstLine = firstScanline - grid.firstNumber
    const isWhole = firstLine >= 0 && firstLine + Math.round(rows) <= lines
    const frame = { index: firstFrame + at, firstLine, whole: isWhole, shiftTicks: 0 }
    if (isWhole) whole.push(frame)
    else if (firstLine < lines) parts.push(frame)
  }
  const first = frames[0]
  if (step === 1 && first) {
    const firstLine = first.firstScanline - Math.round(rows) - grid.firstNumber
    if (first.firstScanline > grid.firstNumber)
      parts.push({ index: firstFrame - 1, firstLine, whole: false, shiftTicks: 0 })
  }
  return [...whole, ...parts].slice(0, mostFrames).sort((a, b) => a.index - b.index)
}

/** Scanlines of the grid whose picture was kept as well. */
function linesKept({ overflowed, tick, rows }: Recording, { start }: ScanlineGrid): number {
  let lines = start.length - 1
  if (!overflowed || rows === 0) return lines
  while (lines > 0 && start[lines]! > tick[rows - 1]!) lines--
  return lines
}

/** Reads a row of a frame. @returns ticks of that scanline, or 0 where it was not captured */
export function readRow(
  samples: FrameSamples,
  grid: ScanlineGrid,
  frame: MergedFrame,
  row: number,
  marginTicks: number,
): number {
  const line = frame.firstLine + row
  if (line < 0 || line + 1 >= grid.start.length) return 0
  const from = grid.start[line]! + frame.shiftTicks
  const to = grid.start[line + 1]! + frame.shiftTicks
  // the capture may end in the middle of its last scanline
  samples.read(from, to, marginTicks, line + 2 === grid.start.length)
  return to - from
}
