// Whether a source sends no hsync in vsync by habit: frames of 100 scanlines of 1000 ticks, vsync 3 of them.

import { describe, expect, it } from 'vitest'
import { forgiveAbsentHsync } from '../../src/sync/hsync-in-vsync.ts'
import type { SegmentSync } from '../../src/sync/segment-sync.ts'

interface Setup {
  vsyncs?: number[]
  /** Scanlines that lack their pulse. */
  missing?: number[]
  width?: number | null
  start?: number
  end?: number
  notListed?: number
}

function absent({
  vsyncs = [10, 110, 210],
  missing = [],
  width = 3,
  start = 0,
  end = 300,
  notListed = 0,
}: Setup): { absent: number; forgiven: boolean } {
  let forgiven = false
  const segment = {
    vsyncWidthScanlines: width,
    frames: vsyncs.map((at) => ({ startTick: at * 1000 })),
    vsyncPulses: vsyncs.length,
    startTick: start * 1000,
    endTick: end * 1000,
    timing: { periodTicks: 1000 },
    missingInVsync: {
      count: missing.length + notListed,
      listed: missing.map((at) => ({ tick: at * 1000 })),
    },
    forgiveMissingInVsync: () => void (forgiven = true),
  } as unknown as SegmentSync
  return { absent: forgiveAbsentHsync(segment), forgiven }
}

const inEach = (...offsets: number[]): number[] =>
  [10, 110, 210].flatMap((at) => offsets.map((off) => at + off))

describe('forgiveAbsentHsync', () => {
  it('forgives what is missing in every vsync', () => {
    expect(absent({ missing: inEach(0, 1, 2) })).toEqual({ absent: 3, forgiven: true })
    expect(absent({ missing: inEach(-1, 2.9, 3.9) })).toEqual({ absent: 3, forgiven: true })
  })

  it('forgives nothing where nothing is missing, or no vsync is known', () => {
    const none = { absent: 0, forgiven: false }
    expect(absent({})).toEqual(none)
    expect(absent({ missing: inEach(0, 1, 2), width: null })).toEqual(none)
    expect(absent({ missing: [10, 11, 12], vsyncs: [] })).toEqual(none)
  })

  it('wants seven tenths of the scanlines that vsync covers, in each of them', () => {
    const none = { absent: 0, forgiven: false }
    // those a scanline before vsync and after it are its own, no others
    expect(absent({ missing: inEach(-1, 0, 4.1) })).toEqual(none)
    expect(absent({ missing: inEach(-1.1, 0, 3.9) })).toEqual(none)
    // two of three are not enough, three of four are
    expect(absent({ missing: inEach(0, 1) })).toEqual(none)
    expect(absent({ missing: inEach(0, 1, 2), width: 4 }).forgiven).toBe(true)
    expect(absent({ missing: inEach(0, 1), width: 2.9 }).forgiven).toBe(true)
    // 2.96 is three, short by a sample
    expect(absent({ missing: inEach(0, 1), width: 2.96 })).toEqual(none)
    // as many, but in two vsyncs of three
    expect(absent({ missing: [10, 11, 12, 13, 110, 111, 112, 113] })).toEqual(none)
    expect(absent({ missing: [9, 8, 14, 10, 11, 12, 110, 111, 112, 210] })).toEqual(none)
  })

  it('asks nothing of a vsync that the begin or the end cuts off', () => {
    // the segment begins in its first vsync
    expect(absent({ missing: [110, 111, 112, 210, 211, 212], start: 12 })).toEqual({
      absent: 3,
      forgiven: true,
    })
    expect(absent({ missing: [110, 111, 112, 210, 211, 212], start: 9 })).toEqual({
      absent: 0,
      forgiven: false,
    })
    // the end falls into the last one
    expect(absent({ missing: [10, 11, 12, 110, 111, 112], end: 213.9 })).toEqual({
      absent: 2,
      forgiven: true,
    })
    expect(absent({ missing: [10, 11, 12, 110, 111, 112], end: 214.1 })).toEqual({
      absent: 0,
      forgiven: false,
    })
    expect(absent({ vsyncs: [10], missing: [10, 11, 12], end: 13 })).toEqual({ absent: 3, forgiven: true })
  })

  it('of a long capture, in which not all are listed, it takes the count', () => {
    expect(absent({ missing: [10, 11, 12], notListed: 6 })).toEqual({ absent: 3, forgiven: true })
    expect(absent({ missing: [10, 11, 12], notListed: 3 })).toEqual({ absent: 0, forgiven: false })
  })
})
