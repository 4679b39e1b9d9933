// Where in a sample interval the frames were sampled → whether every dot was met, and how many more frames would meet
// them all. The instrument's clock runs on while the card draws the same again, so each frame is sampled elsewhere.

/** How the samples of several frames lie against each other. */
export interface SampleCoverage {
  /** Largest stretch between neighbouring samples of all frames, in sample intervals. */
  largestGapSamples: number
  /** Frames after which no dot falls between samples, beyond those there are; null where MAX_FRAMES_AHEAD do not do. */
  moreFrames: number | null
  /** False where the frames are sampled at the same few places over and over. */
  gridMoves: boolean
}

/** How far ahead is looked: five seconds of frames. */
const MAX_FRAMES_AHEAD = 256
/** A grid that moves leaves no gap like this one, in sample intervals, after all those frames. */
const STANDING_GAP = 0.34

/**
 * @param phases of each frame's samples against its scanlines, in sample intervals; whole ones do not matter
 * @param stepSamples by how much the next frame's phase differs
 * @param neededSamples shortest stretch in which any dot shows safely, in sample intervals
 */
export function sampleCoverage(
  phases: readonly number[],
  stepSamples: number,
  neededSamples: number,
): SampleCoverage {
  const sorted: number[] = []
  for (const phase of phases) insert(sorted, phase)
  const largestGapSamples = largestGap(sorted)
  let moreFrames = largestGapSamples <= neededSamples ? 0 : null
  let gap = largestGapSamples
  const last = phases.at(-1) ?? 0
  for (let more = 1; more <= MAX_FRAMES_AHEAD; more++) {
    insert(sorted, last + more * stepSamples)
    gap = largestGap(sorted)
    if (moreFrames === null && gap <= neededSamples) moreFrames = more
    if (moreFrames !== null && gap <= STANDING_GAP) break
  }
  return { largestGapSamples, moreFrames, gridMoves: gap <= STANDING_GAP }
}

function insert(sorted: number[], phase: number): void {
  const turned = phase - Math.floor(phase)
  let at = sorted.length
  while (at > 0 && sorted[at - 1]! > turned) at--
  sorted.splice(at, 0, turned)
}

/** Of phases on a circle of one sample interval. */
function largestGap(sorted: readonly number[]): number {
  const first = sorted[0]
  if (first === undefined) return 1
  let gap = first + 1 - sorted.at(-1)!
  for (let i = 1; i < sorted.length; i++) gap = Math.max(gap, sorted[i]! - sorted[i - 1]!)
  return gap
}
