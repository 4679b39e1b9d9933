// Edge phases wound round one dot → the arc they fall into. An instrument shows each edge late by anything up to one
// sample, so the edges of true dots all lie within one sample of the dot's boundary, however the samples beat with it.

import { PHASE_BINS } from './edge-phases.ts'

/** Phases of some edges in the scanline, 0 to 1, with how many edges have each. */
export interface PhaseList {
  phase: Float64Array
  count: Float64Array
  edges: number
}

/** Where on the circle of one dot the edges are. */
export interface DotWindow {
  /** Edges within the window at its best place. */
  inside: number
  /** Middle of that place, as the fraction of a dot after the scanline's start, 0 to 1. */
  centreDots: number
}

/** Steps in which the window is moved round the dot; a power of two. */
const STEPS = 1024
/** Places that hold nearly as many edges as the best one are as good: the middle of them is taken. */
const AS_GOOD = 0.999

/**
 * @param grid samples per scanline where that is a whole number: phases are then whole samples and are taken as such,
 *   for then it matters whether an arc holds its end
 */
export function phaseList(histogram: Float64Array, grid: number | null): PhaseList {
  const bins = grid ?? PHASE_BINS
  const counts = grid === null ? histogram : new Float64Array(bins)
  if (grid !== null) {
    for (let bin = 0; bin < PHASE_BINS; bin++) {
      if (histogram[bin] !== 0)
        counts[Math.round(((bin + 0.5) / PHASE_BINS) * grid) % grid]! += histogram[bin]!
    }
  }
  const phase = new Float64Array(bins)
  const count = new Float64Array(bins)
  let used = 0
  let edges = 0
  for (let bin = 0; bin < bins; bin++) {
    if (counts[bin] === 0) continue
    phase[used] = (grid === null ? bin + 0.5 : bin) / bins
    count[used++] = counts[bin]!
    edges += counts[bin]!
  }
  return { phase: phase.subarray(0, used), count: count.subarray(0, used), edges }
}

/** Width in dots of the arc that one sample and the edges' own jitter make. */
export function windowDots(
  dots: number,
  samplesPerScanline: number,
  jitterScanlines: number,
  grid: number | null,
): number {
  // on a grid that stands still phases are exact; else the histogram's bin widens the arc
  const blur = grid === null ? 1 / PHASE_BINS : 0
  // five sigma in all hold 98.8 % of normal jitter
  return dots * (1 / samplesPerScanline + 5 * jitterScanlines + blur)
}

/** @param widthDots width of the window in dots; from 1 on everything is inside and the place means nothing */
export function bestWindow({ phase, count }: PhaseList, dots: number, widthDots: number): DotWindow {
  const wound = new Float64Array(STEPS)
  const stepsPerTurn = dots * STEPS
  for (let i = 0; i < phase.length; i++) {
    // a phase that is a whole dot but for rounding belongs to that dot's first step; the mask takes whole dots off
    // (this loop is most of what measuring a segment costs)
    wound[(phase[i]! * stepsPerTurn + 1e-6) & (STEPS - 1)]! += count[i]!
  }
  // an arc that is open at its end: of the steps that meet it in part, one is left out
  const width = Math.min(STEPS, Math.max(1, Math.floor(widthDots * STEPS + 1e-6)))
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
