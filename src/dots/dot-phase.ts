// Where dots begin, per plane and direction: buffers and level shifters delay rising and falling edges differently, and
// one colour against another.

import { bestWindow, windowDots } from './dot-window.ts'
import { PHASE_BINS, type EdgePhases } from './edge-phases.ts'

/** Boundaries between dots, as the fraction of a dot by which they follow the scanline's start. */
export interface DotPhase {
  /** Phase of all edges together, 0 to 1. */
  commonDots: number
  /** Phase by `2 * plane + (rising ? 1 : 0)`, within half a dot of `commonDots`. */
  byEdge: Float64Array
}

/** A plane with fewer edges in a direction takes the common phase. */
const MIN_EDGES = 24
/** Where a sample lasts longer than this share of a dot, edges say nothing of the phase: hsync gives it. */
const WIDEST_WINDOW = 0.95

/**
 * The middle of the arc that edges fall into. A mean would lean towards the delays that a regular picture prefers
 * when the samples beat slowly with the dots; the middle of the arc does not.
 *
 * @param planeCount planes in the recording's levels
 * @param samplesPerScanline scanline period over sample interval
 * @param jitterScanlines standard deviation of edges beyond sampling, as a share of the scanline
 */
export function dotPhase(
  phases: readonly EdgePhases[],
  dots: number,
  planeCount: number,
  samplesPerScanline: number,
  jitterScanlines: number,
): DotPhase {
  const byEdge = new Float64Array(2 * planeCount)
  const width = windowDots(dots, samplesPerScanline, jitterScanlines)
  if (width > WIDEST_WINDOW || phases.length === 0) return { commonDots: 0, byEdge }
  const all = new Float64Array(PHASE_BINS)
  for (const { histogram } of phases) for (let bin = 0; bin < PHASE_BINS; bin++) all[bin]! += histogram[bin]!
  const common = bestWindow(all, dots, width).centreDots
  byEdge.fill(common)
  for (const { plane, rising, edges, histogram } of phases) {
    if (edges < MIN_EDGES) continue
    const skew = bestWindow(histogram, dots, width).centreDots - common
    byEdge[2 * plane + (rising ? 1 : 0)] = common + skew - Math.round(skew)
  }
  return { commonDots: common, byEdge }
}
