// Some sources send no hsync during vsync. That is how they are built, not a fault: it happens in every frame.

import type { SegmentSync } from './segment-sync.ts'

/** Share of vsync's scanlines that must be missing, over all frames, for it to be a habit. */
const HABIT_SHARE = 0.7

/**
 * Takes missing pulses within vsync out of the faults where they are a habit of the source.
 * @returns scanlines per frame that have no hsync, 0 without the habit
 */
export function forgiveAbsentHsync(segment: SegmentSync): number {
  const width = segment.vsyncWidthScanlines
  // a segment that begins in its first vsync, after scanlines that had no hsync, cannot have missed these
  const [first] = segment.frames
  const begun = first && first.startTick < segment.startTick ? 1 : 0
  const frames = segment.vsyncPulses - begun
  const absent = segment.missingInVsync.count
  if (width === null || frames <= 0 || absent === 0) return 0
  // in a vsync that the end cuts off, scanlines without hsync need not have been missed yet
  const last = segment.frames.at(-1)
  const isCut = last && segment.endTick - last.startTick < (width + 1) * segment.timing.periodTicks
  if (absent < HABIT_SHARE * Math.floor(width) * Math.max(1, frames - (isCut ? 1 : 0))) return 0
  segment.forgiveMissingInVsync()
  return absent / frames
}
