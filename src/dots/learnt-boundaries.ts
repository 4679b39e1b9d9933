// Boundaries of dots, learnt from the frames that are merged, and how far off them a sample must be to prove a dot.

import { boundaryEye, SHARP_DOUBT_DOTS } from './boundary-eye.ts'
import { dotEvidence, dotStates, EVERY_FRAME, type MergeSource } from './dot-evidence.ts'

/** Guard at first, until boundaries and jitter are known, in dots. */
const FIRST_GUARD_DOTS = 0.2
/**
 * Standard deviations of jitter that a sample must be off a boundary: to prove a dot that has no other, and to speak
 * against the samples of other frames. Of a million normal edges three are beyond the first, none beyond the second.
 */
export const GUARD_SIGMA: { proof: number; dispute: number } = { proof: 4.5, dispute: 6 }
/** Rounds in which the boundaries are moved to where the picture says. */
const ROUNDS = 2

/** How near a boundary samples say nothing, and why. */
export interface Guard {
  jitterDots: number
  /** By plane. */
  guardDots: Float64Array
  /** True where the picture says of every whole frame where it lies. */
  framesPlaced: boolean
}

/** What is known before the picture is asked, in dots. */
export interface KnownOfEdges {
  /** What sync says of jitter, where the picture says nothing. */
  syncJitterDots: number
  /** What scanlines leave open of where the first and the last frame lie. */
  frameDoubtDots: number
  /** Planes that change at all. */
  changing: ReadonlySet<number>
}

/** Moves boundaries and frames to where samples of dots that are known already say they are. */
export function learnBoundaries(
  merge: MergeSource,
  { syncJitterDots, frameDoubtDots, changing }: KnownOfEdges,
): Guard {
  const dotTicks = merge.grid.periodTicks / merge.dotsPerScanline
  const guardDots = new Float64Array(merge.planeCount)
  let jitterDots = syncJitterDots
  let framesPlaced = false
  for (let round = 0; round < ROUNDS; round++) {
    const wide = new Float64Array(merge.planeCount).fill(FIRST_GUARD_DOTS)
    const eye = boundaryEye(merge, dotStates(dotEvidence(merge, wide), EVERY_FRAME))
    for (const [edge, move] of eye.moveDots.entries()) merge.boundaryDots[edge]! += move
    for (const [i, frame] of merge.frames.entries()) frame.shiftTicks += eye.frameDots[i]! * dotTicks
    framesPlaced = merge.frames.every(({ whole }, i) => !whole || eye.frameSharp[i] === 1)
    jitterDots = eye.jitterDots ?? syncJitterDots
    const jitter = GUARD_SIGMA.proof * jitterDots + (framesPlaced ? 0 : frameDoubtDots)
    const sharpGuard = jitter + SHARP_DOUBT_DOTS
    const wideGuard = Math.max(FIRST_GUARD_DOTS, jitter)
    for (let plane = 0; plane < merge.planeCount; plane++) {
      const isSharp = eye.sharp[2 * plane] === 1 && eye.sharp[2 * plane + 1] === 1
      // a plane that never changes has no boundary to be kept off
      const isStill = eye.jitterDots !== null && !changing.has(plane)
      guardDots[plane] = isSharp || isStill ? sharpGuard : wideGuard
    }
  }
  return { jitterDots, guardDots, framesPlaced }
}
