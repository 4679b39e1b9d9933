// A recording → the dots of one frame: which scanlines make it, and what to do when the capture holds no whole one.

import type { FrameSync } from '../sync/frame-sync.ts'
import { dotPhase, type DotPhase } from './dot-phase.ts'
import type { EdgePhases } from './edge-phases.ts'
import { MAX_DOTS_IN_FRAME, MAX_SCANLINES_IN_FRAME, sampleDots, type DotRaster } from './sample-dots.ts'
import type { ScanlineGrid } from './scanline-grid.ts'
import type { Recording } from './recording.ts'

/** One frame (one field, if interlaced) of dots. */
export interface FrameRaster extends DotRaster {
  /** Index of the frame in its segment; null where no vsync begins it. */
  frame: number | null
  /** True where every scanline of the frame was captured. */
  whole: boolean
  /** True where row 0 is the scanline in which vsync's leading edge falls. */
  placedByVsync: boolean
  /** Number of the scanline that is row 0. */
  firstScanline: number
  phase: DotPhase
}

/** What a frame is read from. */
export interface FrameSource {
  recording: Recording
  grid: ScanlineGrid
  phases: readonly EdgePhases[]
  planeCount: number
  sampleIntervalTicks: number
}

/**
 * @param dots dots per scanline
 * @param frameScanlines scanlines of a frame as measured or nominal; null where neither is known
 * @param index which frame of the recording
 * @returns undefined where no scanline was captured, or the frame would be larger than `isFrameTooLarge` allows
 */
export function frameRaster(
  source: FrameSource,
  dots: number,
  frameScanlines: number | null,
  index = 0,
): FrameRaster | undefined {
  const { recording, grid } = source
  const captured = grid.start.length - 1
  const rows = Math.round(frameScanlines ?? captured)
  if (rows < 1 || isFrameTooLarge(dots, rows)) return undefined
  const chosen = chooseStart(recording.frames, grid.firstNumber, captured, rows, index)
  const phase = dotPhase(
    source.phases,
    dots,
    source.planeCount,
    grid.periodTicks / source.sampleIntervalTicks,
  )
  const raster = sampleDots(
    recording,
    grid,
    dots,
    phase,
    source.planeCount,
    chosen.firstScanline,
    rows,
    source.sampleIntervalTicks,
  )
  const whole = chosen.frame !== null && raster.seen.every((seen) => seen === 1)
  const frame = chosen.frame === null ? null : recording.firstFrame + chosen.frame
  return {
    ...raster,
    frame,
    whole,
    placedByVsync: chosen.placed,
    firstScanline: chosen.firstScanline,
    phase,
  }
}

/** Bounds what one frame takes of memory. */
export function isFrameTooLarge(dots: number, scanlines: number): boolean {
  return scanlines > MAX_SCANLINES_IN_FRAME || scanlines * dots > MAX_DOTS_IN_FRAME
}

/**
 * The frame asked for, or the next one that was captured whole: the first may have begun before its segment could be
 * told from the one before. Without a whole one, the stretch before or after a vsync that shows more, or what there is.
 */
function chooseStart(
  frames: readonly FrameSync[],
  firstNumber: number,
  captured: number,
  rows: number,
  index: number,
): { firstScanline: number; frame: number | null; placed: boolean } {
  const end = firstNumber + captured
  for (let at = index; at < frames.length; at++) {
    const { firstScanline } = frames[at]!
    if (firstScanline >= firstNumber && firstScanline + rows <= end + 1) {
      return { firstScanline, frame: at, placed: true }
    }
  }
  const first = frames[0]
  if (!first) return { firstScanline: firstNumber, frame: null, placed: false }
  const before = first.firstScanline - rows
  const seenBefore = first.firstScanline - Math.max(before, firstNumber)
  const seenAfter = end - first.firstScanline
  return seenBefore > seenAfter
    ? { firstScanline: before, frame: null, placed: true }
    : { firstScanline: first.firstScanline, frame: 0, placed: true }
}
