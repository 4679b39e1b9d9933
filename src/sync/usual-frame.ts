// Frames of a segment → how long a usual one is. Vsync pulses may be missing among them, and there may be false ones.

import type { FrameSync } from './frame-sync.ts'

/** Lengths that may be the usual one. */
const MAX_CANDIDATES = 16
/** Frames in a row that may lack their vsync. */
export const MAX_MISSING = 8
/** A doubled frame is explained almost as well as one of the usual length. */
const MULTIPLE_SCORE = 0.9

/** Frames that lie in unbroken phase, with their places in scanlines from the first. */
export interface FrameRun {
  frames: FrameSync[]
  place: number[]
}

export function runsOf(frames: readonly FrameSync[]): FrameRun[] {
  const runs: FrameRun[] = []
  let before: FrameSync | undefined
  for (const frame of frames) {
    const run = runs.at(-1)
    if (run && before && !Number.isNaN(before.scanlines)) {
      run.place.push(run.place.at(-1)! + before.scanlines)
      run.frames.push(frame)
    } else runs.push({ frames: [frame], place: [0] })
    before = frame
  }
  return runs
}

/**
 * The length that explains most frames; of equally good ones the longest.
 * @param isNarrow whether a pulse is too narrow to count
 * @param near scanlines within which lengths are alike
 * @returns scanlines, to the half
 */
export function usualLength(
  runs: readonly FrameRun[],
  isNarrow: (frame: FrameSync) => boolean,
  near: number,
): number | null {
  const lengths = new Map<number, number>()
  for (const { frames, place } of runs) {
    let before = NaN
    frames.forEach((frame, i) => {
      if (isNarrow(frame)) return
      const key = Math.round((place[i]! - before) * 2) / 2
      if (key > 0) lengths.set(key, (lengths.get(key) ?? 0) + 1)
      before = place[i]!
    })
  }
  const common = [...lengths].sort((a, b) => b[1] - a[1]).slice(0, MAX_CANDIDATES)
  let best: number | null = null
  let bestScore = 0
  for (const [candidate] of common) {
    let score = 0
    for (const [length, times] of common) {
      if (length === candidate) score += times
      else if (isMultiple(length, candidate, near)) score += MULTIPLE_SCORE * times
    }
    if (score > bestScore || (score === bestScore && candidate > best!)) {
      best = candidate
      bestScore = score
    }
  }
  return best
}

function isMultiple(length: number, of: number, near: number): boolean {
  const times = Math.round(length / of)
  return times > 1 && times <= MAX_MISSING && Math.abs(length - times * of) <= near
}
