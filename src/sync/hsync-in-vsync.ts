// Some sources send no hsync during vsync. That is how they are built, not a fault: it happens in every frame.

import type { SegmentSync } from './segment-sync.ts'

/** Share of vsync's scanlines that must be missing, over all frames, for it to be a habit. */
const HABIT_SHARE = 0.7
/** Part of a scanline that a vsync's width may be measured short of a whole number. */
const ALMOST_SCANLINES = 0.05

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
  if (absent < HABIT_SHARE * scanlinesIn(width) * Math.max(1, frames - (isCut ? 1 : 0))) return 0
  if (!isInEveryFrame(segment, width)) return 0
  segment.forgiveMissingInVsync()
  return absent / frames
}

/** Whether each vsync lacks some of its scanlines; a few that were lost by chance are not a habit. */
function isInEveryFrame(
  { frames, missingInVsync, timing, startTick, endTick }: SegmentSync,
  width: number,
): boolean {
  const { listed, count } = missingInVsync
  // of a long capture not all are listed, and by then chance plays no part
  if (listed.length < count) return true
  const reach = (width + 1) * timing.periodTicks
  return frames.every(({ startTick: at }) => {
    if (at < startTick || at + reach > endTick) return true
    const absent = listed.filter(({ tick }) => tick >= at - timing.periodTicks && tick < at + reach).length
    return absent >= HABIT_SHARE * scanlinesIn(width)
  })
}

/** Whole scanlines that a vsync covers, though a sample more or less is measured. */
function scanlinesIn(width: number): number {
  return Math.floor(width + ALMOST_SCANLINES)
}
