// Edge phases wound round one dot → the arc they fall into. An instrument shows each edge late by anything up to one
// sample, so the edges of true dots all lie within one sample of the dot's boundary, however the samples beat with it.

import { PHASE_BINS } from './edge-phases.ts'
import { sumOf } from '../transitions/column-sums.ts'

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
  const counts = grid === null ? histogram : onGrid(histogram, grid)
  const used = gather(counts, PHASE, COUNT, grid === null ? 0.5 : 0)
  return listOf(PHASE.slice(0, used), COUNT.slice(0, used))
}

/** Scratch for one call: most bins are empty. */
const PHASE = new Float64Array(PHASE_BINS)
const COUNT = new Float64Array(PHASE_BINS)

/** Every so many phases of a list. */
export function thinned({ phase, count }: PhaseList, step: number): PhaseList {
  if (!(step > 1)) return listOf(phase, count)
  const isKept = (_: number, i: number): boolean => i % step === 0
  return listOf(phase.filter(isKept), count.filter(isKept))
}

function listOf(phase: Float64Array, count: Float64Array): PhaseList {
  return { phase, count, edges: sumOf(count) }
}

function onGrid(histogram: Float64Array, grid: number): Float64Array {
  const counts = new Float64Array(grid)
  for (let bin = 0; bin < PHASE_BINS; bin++) {
    if (histogram[bin] !== 0) counts[Math.round(((bin + 0.5) / PHASE_BINS) * grid) % grid]! += histogram[bin]!
  }
  return counts
}

/** Phases and counts of the bins that are not empty; gives how many there are. */
function gather(counts: Float64Array, phase: Float64Array, count: Float64Array, middle: number): number {
  const bins = counts.length
  let used = 0
  for (let bin = 0; bin < bins; bin++) {
    if (counts[bin] === 0) continue
    phase[used] = (bin + middle) / bins
    count[used++] = counts[bin]!
  }
  return used
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

// Each loop below is a function of its own: compiled code then comes after a few calls, where one long function would fall
// out of it at the end of every loop.

/** Scratch for one call, so that a hundred tried counts take no memory: edges by step, and in the window from each step. */
const WOUND = new Float64Array(STEPS)
const INSIDE = new Float64Array(STEPS)

/** @param widthDots width of the window in dots; from 1 on everything is inside and the place means nothing */
export function bestWindow(list: PhaseList, dots: number, widthDots: number): DotWindow {
  wind(list.phase, list.count, dots * STEPS, WOUND.fill(0))
  const width = stepsOf(widthDots)
  const best = slide(WOUND, width, INSIDE)
  const most = INSIDE[best]!
  const enough = AS_GOOD * most
  const before = stepsAsGood(INSIDE, best, -1, STEPS, enough)
  const after = stepsAsGood(INSIDE, best, 1, STEPS - before, enough)
  const centre = (best + (after - before) / 2 + width / 2) / STEPS
  return { inside: most, centreDots: centre - Math.floor(centre) }
}

/** Edges within the window at its best place, as `bestWindow` has them. */
export function mostInside(list: PhaseList, dots: number, widthDots: number): number {
  wind(list.phase, list.count, dots * STEPS, WOUND.fill(0))
  return INSIDE[slide(WOUND, stepsOf(widthDots), INSIDE)]!
}

/** Adds edges to the steps of a dot that they fall into. */
function wind(phase: Float64Array, count: Float64Array, stepsPerTurn: number, wound: Float64Array): void {
  for (let i = 0; i < phase.length; i++) {
    // a phase that is a whole dot but for rounding belongs to that dot's first step; the mask takes whole dots off
    wound[(phase[i]! * stepsPerTurn + 1e-6) & (STEPS - 1)]! += count[i]!
  }
}

/** An arc that is open at its end: of the steps that meet it in part, one is left out. */
function stepsOf(widthDots: number): number {
  return Math.min(STEPS, Math.max(1, Math.floor(widthDots * STEPS + 1e-6)))
}

/**
 * Moves a window of so many steps round the dot.
 * @param inside takes what is in it from each step on
 * @returns the step from which most is in it
 */
function slide(wound: Float64Array, width: number, inside: Float64Array): number {
  let sum = 0
  for (let step = 0; step < width; step++) sum += wound[step]!
  let best = 0
  for (let from = 0; from < STEPS; from++) {
    inside[from] = sum
    if (sum > inside[best]!) best = from
    sum += wound[(from + width) & (STEPS - 1)]! - wound[from]!
  }
  return best
}

/** Steps from the best place on, in one direction, up to the last that is as good. */
function stepsAsGood(
  inside: Float64Array,
  best: number,
  direction: 1 | -1,
  most: number,
  enough: number,
): number {
  let steps = 0
  while (steps < most && inside[(best + direction * (steps + 1)) & (STEPS - 1)]! >= enough) steps++
  return steps
}
