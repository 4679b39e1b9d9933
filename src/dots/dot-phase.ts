// Where dots begin, per plane and direction: buffers and level shifters delay rising and falling edges differently, and
// one colour against another.

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
/** Resultants shorter than this share of the whole's say nothing. */
const MIN_COHERENCE = 0.1

/**
 * Circular means of edge phases at N dots per scanline (Mardia and Jupp, Directional Statistics, 2000, 2.2.1).
 *
 * @param planeCount planes in the recording's levels
 */
export function dotPhase(phases: readonly EdgePhases[], dots: number, planeCount: number): DotPhase {
  const resultants = phases.map((entry) => ({ entry, ...resultant(entry.histogram, dots) }))
  let re = 0
  let im = 0
  for (const r of resultants) {
    re += r.re
    im += r.im
  }
  const common = turn(Math.atan2(im, re) / (2 * Math.PI))
  const byEdge = new Float64Array(2 * planeCount).fill(common)
  for (const { entry, re: x, im: y } of resultants) {
    if (entry.edges < MIN_EDGES || Math.hypot(x, y) < MIN_COHERENCE * entry.edges) continue
    const own = turn(Math.atan2(y, x) / (2 * Math.PI))
    const skew = own - common - Math.round(own - common)
    byEdge[2 * entry.plane + (entry.rising ? 1 : 0)] = common + skew
  }
  return { commonDots: common, byEdge }
}

function turn(value: number): number {
  return value - Math.floor(value)
}

function resultant(histogram: Float64Array, dots: number): { re: number; im: number } {
  let re = 0
  let im = 0
  for (let bin = 0; bin < PHASE_BINS; bin++) {
    const count = histogram[bin]!
    if (count === 0) continue
    const angle = (2 * Math.PI * dots * (bin + 0.5)) / PHASE_BINS
    re += count * Math.cos(angle)
    im += count * Math.sin(angle)
  }
  return { re, im }
}
