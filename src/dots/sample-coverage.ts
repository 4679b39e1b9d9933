// Where in a sample interval the frames were sampled → whether every dot was met, and how many more frames would meet
// them all. The instrument's clock runs on while the card draws the same again, so each frame is sampled elsewhere.

import type { Measurement } from '../measurement.ts'

/** How the samples of several frames lie against each other. */
export interface SampleCoverage {
  /** Largest stretch between neighbouring samples of all frames, in sample intervals. */
  largestGapSamples: number
  /** Frames after which no dot falls between samples, beyond those there are; null where MAX_FRAMES_AHEAD do not do. */
  moreFrames: number | null
  /** False where, for all that is known, frames are sampled at the same one or two places over and over. */
  gridMoves: boolean
}

/** How far ahead is looked: five seconds of frames. */
const MAX_FRAMES_AHEAD = 256
/** Standard uncertainties within which a step may be none, or half a sample. */
const COVERAGE_FACTOR = 2

/**
 * @param phases of each frame's samples against its scanlines, in sample intervals, at least one; whole ones do not matter
 * @param step by how much the next frame's phase differs, in sample intervals
 * @param neededSamples shortest stretch in which any dot shows safely, in sample intervals
 */
export function sampleCoverage(
  phases: readonly number[],
  step: Measurement,
  neededSamples: number,
): SampleCoverage {
  const sorted: number[] = []
  for (const phase of phases) insert(sorted, phase)
  const largestGapSamples = largestGap(sorted)
  const gridMoves =
    Math.abs(2 * step.value - Math.round(2 * step.value)) > 2 * COVERAGE_FACTOR * step.uncertainty
  if (largestGapSamples <= neededSamples) return { largestGapSamples, moreFrames: 0, gridMoves }
  const last = phases.at(-1)!
  for (let more = 1; gridMoves && more <= MAX_FRAMES_AHEAD; more++) {
    insert(sorted, last + more * step.value)
    if (largestGap(sorted) <= neededSamples) return { largestGapSamples, moreFrames: more, gridMoves }
  }
  return { largestGapSamples, moreFrames: null, gridMoves }
}

function insert(sorted: number[], phase: number): void {
  const turned = phase - Math.floor(phase)
  let at = sorted.length
  while (at > 0 && sorted[at - 1]! > turned) at--
  sorted.splice(at, 0, turned)
}

/** Of phases on a circle of one sample interval. */
function largestGap(sorted: readonly number[]): number {
  let gap = sorted[0]! + 1 - sorted.at(-1)!
  for (let i = 1; i < sorted.length; i++) gap = Math.max(gap, sorted[i]! - sorted[i - 1]!)
  return gap
}
