// Some sources send no hsync during vsync. That is how they are built, not a fault: it happens in every frame.

import type { SegmentSync } from './segment-sync.ts'
import type { SyncFault } from './sync-fault.ts'

/** Share of vsync's scanlines that must be missing, over all frames, for it to be a habit. */
const HABIT_SHARE = 0.7

/**
 * Takes missing pulses within vsync out of the faults where they are a habit of the source.
 * @returns scanlines per frame that have no hsync, 0 without the habit
 */
export function forgiveAbsentHsync(segment: SegmentSync): number {
  const width = segment.vsyncWidthScanlines
  const frames = segment.vsyncPulses
  if (width === null || frames === 0 || segment.faultCounts.missing === 0) return 0
  const starts = segment.frames.map((frame) => frame.startTick)
  const reach = (width + 1) * segment.timing.periodTicks
  const inVsync = (fault: SyncFault): boolean => {
    if (fault.kind !== 'missing') return false
    const start = lastAtOrBefore(starts, fault.tick + segment.timing.periodTicks)
    return start !== undefined && fault.tick - start < reach
  }
  const absent = segment.faults.filter(inVsync).length
  if (absent < HABIT_SHARE * Math.floor(width) * frames) return 0
  segment.forgive(inVsync)
  return absent / frames
}

function lastAtOrBefore(sorted: readonly number[], value: number): number | undefined {
  let low = 0
  let high = sorted.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (sorted[middle]! <= value) low = middle + 1
    else high = middle
  }
  return sorted[low - 1]
}
