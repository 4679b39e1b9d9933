// Where dots begin, per plane and direction: buffers and level shifters delay rising and falling edges differently, and
// one colour against another.

import { bestWindow, phaseList, windowDots, type PhaseList } from './dot-window.ts'
import { allPhases, type EdgePhases } from './edge-phases.ts'

/** Boundaries between dots, as the fraction of a dot by which they follow the scanline's start. */
export interface DotPhase {
  /** Phase of all edges together, 0 to 1. */
  commonDots: number
  /** Phase by `2 * plane + (rising ? 1 : 0)`, within half a dot of `commonDots`. */
  byEdge: Float64Array
}

/** A plane with fewer edges in a direction takes the common phase. */
const MIN_EDGES = 24
/** Where a sample lasts longer than this share of a dot, the arc says nothing of the phase. */
const WIDEST_WINDOW = 0.95
/** Coherence that samples so coarse reach only when they were taken with the dot clock itself. */
const IN_STEP = 0.5

/**
 * The middle of the arc that edges fall into. A mean would lean towards the delays that a regular picture prefers
 * when the samples beat slowly with the dots; the middle of the arc does not.
 *
 * @param planeCount planes in the recording's levels
 * @param samplesPerScanline scanline period over sample interval
 */
export function dotPhase(
  phases: readonly EdgePhases[],
  dots: number,
  planeCount: number,
  samplesPerScanline: number,
): DotPhase {
  const byEdge = new Float64Array(2 * planeCount)
  const together = phaseList(allPhases(phases), null)
  const width = windowDots(dots, samplesPerScanline, 0, null)
  if (width > WIDEST_WINDOW || together.edges === 0) {
    const common = meanPhase(together, dots)
    return { commonDots: common, byEdge: byEdge.fill(common) }
  }
  const common = bestWindow(together, dots, width).centreDots
  byEdge.fill(common)
  for (const { plane, rising, edges, histogram } of phases) {
    if (edges < MIN_EDGES) continue
    const skew = bestWindow(phaseList(histogram, null), dots, width).centreDots - common
    byEdge[2 * plane + (rising ? 1 : 0)] = common + skew - Math.round(skew)
  }
  return { commonDots: common, byEdge }
}

/** Circular mean (Mardia and Jupp, Directional Statistics, 2000, 2.2.1); without coherence, hsync's own phase. */
function meanPhase({ phase, count, edges }: PhaseList, dots: number): number {
  let re = 0
  let im = 0
  for (let i = 0; i < phase.length; i++) {
    const angle = 2 * Math.PI * dots * phase[i]!
    re += count[i]! * Math.cos(angle)
    im += count[i]! * Math.sin(angle)
  }
  if (Math.hypot(re, im) < IN_STEP * edges) return 0
  const turns = Math.atan2(im, re) / (2 * Math.PI)
  return turns - Math.floor(turns)
}
