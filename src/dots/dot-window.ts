// Edge phases wound round one dot → the arc they fall into. An instrument shows each edge late by anything up to one
// sample, so the edges of true dots all lie within one sample of the dot's boundary, however the samples beat with it.

import { PHASE_BINS, type EdgePhases } from './edge-phases.ts'

/** Where on the circle of one dot the edges are. */
export interface DotWindow {
  /** Edges within the window at its best place. */
  inside: number
  /** Middle of that place, as the fraction of a dot after the scanline's start, 0 to 1. */
  centreDots: number
}

/** Steps in which the window is moved round the dot. */
const STEPS = 256
/** Places that hold nearly as many edges as the best one are as good: the middle of them is taken. */
const AS_GOOD = 0.999

/** Width of the window in dots: one sample, what the edges jitter by, and the histogram's own bin. */
export function windowDots(dots: number, samplesPerScanline: number, jitterScanlines: number): number {
  // five sigma in all hold 98.8 % of normal jitter
  return dots * (1 / samplesPerScanline + 5 * jitterScanlines + 1 / PHASE_BINS) + 1 / STEPS
}

/** @param widthDots width of the window in dots; from 1 on everything is inside and the place means nothing */
export function bestWindow(histogram: Float64Array, dots: number, widthDots: number): DotWindow {
  const wound = new Float64Array(STEPS)
  for (let bin = 0; bin < PHASE_BINS; bin++) {
    const count = histogram[bin]!
    if (count === 0) continue
    const phase = (dots * (bin + 0.5)) / PHASE_BINS
    wound[Math.floor((phase - Math.floor(phase)) * STEPS)]! += count
  }
  const width = Math.min(STEPS, Math.max(1, Math.round(widthDots * STEPS)))
  const inside = new Float64Array(STEPS)
  let sum = 0
  for (let step = 0; step < width; step++) sum += wound[step]!
  let best = 0
  for (let from = 0; from < STEPS; from++) {
    inside[from] = sum
    if (sum > inside[best]!) best = from
    sum += wound[(from + width) % STEPS]! - wound[from]!
  }
  const enough = AS_GOOD * inside[best]!
  let before = 0
  while (before < STEPS && inside[(best - before - 1 + STEPS) % STEPS]! >= enough) before++
  let after = 0
  while (after < STEPS - before && inside[(best + after + 1) % STEPS]! >= enough) after++
  const centre = (best + (after - before) / 2 + width / 2) / STEPS
  return { inside: inside[best]!, centreDots: centre - Math.floor(centre) }
}

/** Entries worth a window of their own; where none has enough edges, all of them together. */
export function windowGroups(phases: readonly EdgePhases[], minEdges: number): Float64Array[] {
  const own = phases.filter((entry) => entry.edges >= minEdges).map((entry) => entry.histogram)
  if (own.length > 0) return own
  const all = new Float64Array(PHASE_BINS)
  for (const { histogram } of phases) for (let bin = 0; bin < PHASE_BINS; bin++) all[bin]! += histogram[bin]!
  return [all]
}
