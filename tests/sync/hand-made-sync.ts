// Faults and frames put down by hand, of scanlines of 1000 ticks unless a test says otherwise.

import type { FrameSync } from '../../src/sync/frame-sync.ts'
import type { FaultKind, SyncFault } from '../../src/sync/sync-fault.ts'

/** @returns a short pulse of hsync without a place or a colour beside it */
export function faultOf(kind: FaultKind, tick: number, more: Partial<SyncFault> = {}): SyncFault {
  return {
    kind,
    channel: 'hsync',
    tick,
    scanline: Math.floor(tick / 1000),
    offsetTicks: 0,
    widthTicks: 30,
    sinceTrueTicks: NaN,
    rejectWidthTicks: 30,
    colourEdgeNear: false,
    colourShareNear: NaN,
    lineCountError: 0,
    ...more,
  }
}

/** @returns a frame of unknown length */
export function frameOf(startTick: number, more: Partial<FrameSync> = {}): FrameSync {
  return {
    startTick,
    firstScanline: 0,
    phase: 0,
    scanlines: NaN,
    countedEdges: 0,
    scanlinesBefore: 0,
    widthTicks: 0,
    longestPieceTicks: 0,
    ...more,
  }
}
