// Scanlines and video edges → one code per dot. Each edge is given to the nearest boundary between dots, which is the
// same as reading every dot in its middle, with each plane's own delay taken out.

import type { DotPhase } from './dot-phase.ts'
import type { ScanlineGrid } from './scanline-grid.ts'
import type { Recording } from './recording.ts'

/** Most dots of one frame: a bound on memory, far above any real mode. */
export const MAX_DOTS_IN_FRAME = 16_000_000

/** Most scanlines of one frame: beyond, vsync is no vsync. The catalogue's longest frame has about a thousand. */
export const MAX_SCANLINES_IN_FRAME = 8192

/** Codes of all dots of a stretch of scanlines, sync and porches included. */
export interface DotRaster {
  dotsPerScanline: number
  scanlines: number
  /** Row by row; bit i is the level of plane i. Row 0 is the first scanline asked for. */
  codes: Uint16Array
  /** 1 where the scanline lies within the recording. */
  seen: Uint8Array
  /** Dots in which the instrument took no sample. */
  dotsWithoutSample: number
}

/**
 * @param firstScanline number of the scanline that becomes row 0
 * @param scanlines rows wanted
 * @param sampleIntervalTicks instrument's sample interval, or 0 where unknown
 */
export function sampleDots(
  recording: Recording,
  grid: ScanlineGrid,
  dots: number,
  phase: DotPhase,
  planeCount: number,
  firstScanline: number,
  scanlines: number,
  sampleIntervalTicks: number,
): DotRaster {
  const codes = new Uint16Array(dots * scanlines)
  const seen = new Uint8Array(scanlines)
  const { start } = grid
  const lines = start.length - 1
  const boundary = phaseOffsets(phase)
  /** Dot from which each plane has its present level. */
  const since = new Int32Array(planeCount)
  let levels = recording.initialLevels
  let row = 0
  for (let line = 0; line < lines; line++) {
    const lineStart = start[line]!
    const lineEnd = start[line + 1]!
    const out = grid.firstNumber + line - firstScanline
    const wanted = out >= 0 && out < scanlines
    const dotTicks = (lineEnd - lineStart) / dots
    if (wanted) seen[out] = 1
    since.fill(0)
    // an edge within half a dot after the last boundary belongs to the next scanline's first dot, hence half a dot more
    for (; row < recording.rows && recording.tick[row]! < lineEnd; row++) {
      const next = recording.levels[row]!
      const changed = levels ^ next
      if (wanted && recording.tick[row]! >= lineStart) {
        const place = (recording.tick[row]! - lineStart) / dotTicks
        for (let rest = changed; rest !== 0; rest &= rest - 1) {
          const plane = 31 - Math.clz32(rest & -rest)
          const rising = (next >> plane) & 1
          let dot = Math.round(place - boundary[2 * plane + rising]!)
          if (dot < 0) dot = 0
          if (dot > dots) dot = dots
          if (rising === 0) fill(codes, out * dots, since[plane]!, dot, 1 << plane)
          since[plane] = dot
        }
      }
      levels = next
    }
    if (!wanted) continue
    for (let plane = 0; plane < planeCount; plane++) {
      if ((levels >> plane) & 1) fill(codes, out * dots, since[plane]!, dots, 1 << plane)
    }
  }
  return {
    dotsPerScanline: dots,
    scanlines,
    codes,
    seen,
    dotsWithoutSample: unsampledDots(grid, dots, firstScanline, scanlines, recording, sampleIntervalTicks),
  }
}

/** Boundary of dot 0 after the scanline's start, within half a dot of it, so that rows begin with their own edge. */
function phaseOffsets(phase: DotPhase): Float64Array {
  const turn = phase.commonDots > 0.5 ? 1 : 0
  return phase.byEdge.map((value) => value - turn)
}

function fill(codes: Uint16Array, base: number, from: number, to: number, bit: number): void {
  for (let i = base + from; i < base + to; i++) codes[i]! |= bit
}

/** Dots between two samples: possible only where a dot is shorter than the sample interval. */
function unsampledDots(
  grid: ScanlineGrid,
  dots: number,
  firstScanline: number,
  scanlines: number,
  recording: Recording,
  interval: number,
): number {
  if (interval <= 0 || grid.periodTicks / dots >= interval || recording.rows === 0) return 0
  const anchor = recording.tick[0]!
  let count = 0
  for (let line = 0; line + 1 < grid.start.length; line++) {
    const out = grid.firstNumber + line - firstScanline
    if (out < 0 || out >= scanlines) continue
    const from = (grid.start[line]! - anchor) / interval
    const step = (grid.start[line + 1]! - grid.start[line]!) / dots / interval
    for (let dot = 0; dot < dots; dot++) {
      if (Math.floor(from + dot * step) === Math.floor(from + (dot + 1) * step)) count++
    }
  }
  return count
}
