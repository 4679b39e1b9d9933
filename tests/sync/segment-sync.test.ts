// One segment's totals: scanlines of 1000 ticks, though the lock that it began with has them as 1001; frames of 100 of them.

import { describe, expect, it } from 'vitest'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { SegmentSync } from '../../src/sync/segment-sync.ts'
import { faultOf } from './hand-made-sync.ts'

const PERIOD = 1000
const TIMING = { polarity: 'positive', periodTicks: 1001, widthTicks: 73 } as const
const SAMPLE = 10

/** Scanlines from one to before another, with pulses of 70 ticks. */
function add(segment: SegmentSync, from: number, to: number, width = 70, regular = true): SegmentSync {
  for (let n = from; n < to; n++) segment.addScanline(n, n * PERIOD, width, regular, 70)
  return segment
}

/** A vsync of three scanlines, or as many as told, so many scanlines after the one before. */
function vsync(segment: SegmentSync, scanline: number, length = NaN, width = 3, piece = width): FrameSync {
  const leadTick = scanline * PERIOD
  return segment.addVsync(
    {
      leadTick,
      trailTick: leadTick + width * PERIOD,
      polarity: 'negative',
      longestPieceTicks: piece * PERIOD,
    },
    scanline,
    length,
    PERIOD,
  )
}

/** Four frames, of which the vsyncs begin at 20, 120, 220, 320 and 420. */
function fourFrames(width: (n: number) => number = () => 3): SegmentSync {
  const segment = new SegmentSync(TIMING, 0)
  for (const n of [0, 1, 2, 3, 4]) {
    add(segment, n === 0 ? 0 : 100 * n - 76, 100 * n + 24)
    vsync(segment, 100 * n + 20, n === 0 ? NaN : 100, width(n))
  }
  return add(segment, 424, 480)
}
const whole = { first: true, last: true }

describe('SegmentSync', () => {
  it('keeps what is shortest, across no break of phase', () => {
    const segment = new SegmentSync(TIMING, 0)
    expect([segment.shortestGapTicks, segment.shortestPulseTicks]).toEqual([Infinity, Infinity])
    segment.addScanline(0, 0, 70, true, 70)
    segment.addScanline(1, 990, 60, true, 44)
    segment.addScanline(2, 2000, 70, false, 61)
    expect([segment.shortestGapTicks, segment.shortestPulseTicks]).toEqual([990, 44])
    segment.breakPhase()
    segment.addScanline(3, 2300, 70, true, 70)
    expect(segment).toMatchObject({ shortestGapTicks: 990, scanlines: 4, phaseBreaks: 1, endTick: 2300 })
    segment.addScanline(4, 3280, 70, true, 70)
    expect(segment.shortestGapTicks).toBe(980)
    // periods between neighbours that are regular: 990, and 980
    expect(segment.jitter.period.count).toBe(2)
  })

  it('measures frames by the scanlines that were told, not by the lock', () => {
    const segment = fourFrames()
    segment.finish(SAMPLE, false, whole)
    expect(segment.vsyncWidthScanlines).toBeCloseTo(3, 9)
    expect(segment.fit(SAMPLE)!.period.value).toBeCloseTo(PERIOD, 9)
    expect(segment).toMatchObject({
      vsyncPolarity: 'negative',
      vsyncPulses: 5,
      wholeFrames: 4,
      usualFrameScanlines: 100,
      oddFrames: 0,
      faultCount: 0,
    })
    expect(segment.frames.map(({ scanlinesBefore }) => scanlinesBefore)).toEqual([20, 120, 220, 320, 420])
    expect(segment.frames.map(({ countedEdges }) => countedEdges)).toEqual([100, 100, 100, 100, 0])
  })

  it('misses vsyncs at the ends of a capture, by that period, and at no others', () => {
    const missing = (first: boolean, last: boolean): number[] => {
      const segment = new SegmentSync(TIMING, 0)
      add(segment, 0, 800)
      for (const n of [220, 320, 420, 520]) vsync(segment, n, n === 220 ? NaN : 100)
      segment.finish(SAMPLE, false, { first, last })
      return segment.faults.map(({ tick }) => tick)
    }
    expect(missing(true, true)).toEqual([20_000, 120_000, 620_000, 720_000])
    expect(missing(true, false)).toEqual([20_000, 120_000])
    expect(missing(false, true)).toEqual([620_000, 720_000])
    expect(missing(false, false)).toEqual([])
  })

  it('takes the width of vsync from those that nothing is wrong with', () => {
    const segment = fourFrames((n) => (n === 2 ? 5 : 3))
    segment.finish(SAMPLE, false, whole)
    expect(segment.faultCounts.width).toBe(1)
    expect(segment.vsyncWidthScanlines).toBeCloseTo(3, 9)
    expect(segment.vsyncWidth(segment.fit(SAMPLE)!, 0, SAMPLE)!.value).toBeCloseTo(3000, 9)
    // in order of time, the wrong one among them
    expect(segment.judgedVsyncs.map(({ kind, tick }) => `${kind} ${tick}`)).toEqual([
      'true 20000',
      'true 120000',
      'width 220000',
      'true 320000',
      'true 420000',
    ])
  })

  it('lists of a composite sync only the vsyncs that are wrong', () => {
    const segment = new SegmentSync(TIMING, 0)
    add(segment, 0, 500)
    for (const n of [20, 120, 320, 420]) vsync(segment, n, n === 20 ? NaN : n === 320 ? 200 : 100)
    segment.finish(SAMPLE, true, whole)
    expect(segment.judgedVsyncs.map(({ kind, tick }) => `${kind} ${tick}`)).toEqual(['missing 220000'])
    expect(segment.oddFrames).toBe(1)
  })

  it('knows nothing of vsync before it is over, or where there is none', () => {
    const segment = fourFrames()
    expect(segment.judgedVsyncs).toEqual([])
    expect(segment.oddFrames).toBe(0)
    expect(segment.vsyncWidthScanlines).toBeNull()
    expect(segment.usualFrameScanlines).toBe(100)
    const unknown = { shortestGapTicks: Infinity, shortestWidthTicks: Infinity }
    expect(segment.falseVsyncs.truePulses).toMatchObject(unknown)
    segment.finish(SAMPLE, false, whole)
    expect(segment.falseVsyncs.truePulses).toMatchObject({
      shortestGapTicks: 100_000,
      shortestWidthTicks: 3000,
    })
    const none = add(new SegmentSync(TIMING, 0), 0, 500)
    none.finish(SAMPLE, false, whole)
    expect([none.vsyncWidthScanlines, none.vsyncWidth(none.fit(SAMPLE)!, 0, SAMPLE)]).toEqual([null, null])
    expect(none.usualFrameScanlines).toBeNull()
    expect(none.hasHsyncInVsync).toBe(false)
  })

  it('has the width of hsync from the lock where no pulse told it: known to a sample at either end', () => {
    const segment = add(new SegmentSync(TIMING, 0), 0, 500, NaN)
    const line = segment.fit(SAMPLE)!
    expect(segment.hsyncWidth(line, SAMPLE)).toEqual({
      width: { value: 73, uncertainty: SAMPLE / Math.sqrt(6) },
      commonJitterSamples: line.jitterSamples,
    })
    expect(segment.hsyncWidth(line, SAMPLE).width.value).toBe(73)
    expect(add(segment, 500, 900).hsyncWidth(line, SAMPLE).width.value).toBe(70)
    // those that are not in their place tell none
    const irregular = add(new SegmentSync(TIMING, 0), 0, 300, NaN)
    add(irregular, 300, 500, 50, false)
    expect(irregular.hsyncWidth(line, SAMPLE).width.value).toBe(73)
  })

  it('counts intervals that could not be judged, and shifts vsyncs of those that could', () => {
    const segment = fourFrames()
    const [first, second, third] = segment.frames
    segment.addInterval(first!, true, 0)
    segment.addInterval(second!, false, 0)
    segment.addInterval(third!, true, -0.5)
    segment.finish(SAMPLE, true, { first: false, last: false })
    expect(segment.intervalsNotJudged).toBe(1)
    expect(segment.frames.map(({ startTick }) => startTick)).toEqual([
      20_000, 120_000, 219_500, 320_000, 420_000,
    ])
  })

  it('places pulses that lack in vsync, a scanline before it and after', () => {
    const inVsync = (...ticks: number[]): number => {
      const segment = new SegmentSync(TIMING, 0)
      add(segment, 0, 24)
      vsync(segment, 20)
      for (const tick of ticks) segment.addFault(faultOf('missing', tick, { lineCountError: -1 }))
      add(segment, 24, 124)
      vsync(segment, 120, 100)
      return segment.missingInVsync.count
    }
    // vsync lasts from 20 000 to 23 000, and the lock's period is 1001
    expect(inVsync(18_998)).toBe(0)
    expect(inVsync(18_999)).toBe(1)
    expect(inVsync(21_000, 22_000)).toBe(2)
    expect(inVsync(24_000)).toBe(1)
    expect(inVsync(24_001)).toBe(0)
  })

  it('hands over what came after a tick', () => {
    const segment = fourFrames()
    segment.addFault(faultOf('late', 100_000))
    segment.addFault(faultOf('late', 300_000))
    const next = new SegmentSync(TIMING, 220_000, segment)
    const moved = segment.takeLastFrames(3)
    expect(segment.vsyncPulses).toBe(2)
    segment.handOver(next, 220_000, 220)
    expect([segment.scanlines, next.scanlines]).toEqual([220, 260])
    expect([segment.faults.length, next.faults.length]).toEqual([1, 1])
    expect([next.shortestGapTicks, next.shortestPulseTicks]).toEqual([PERIOD, 70])
    for (const frame of moved) next.adoptFrame(frame, 'negative')
    expect(next).toMatchObject({ vsyncPulses: 3, vsyncPolarity: 'negative', wholeFrames: 2 })
    // the last vsync goes along, and so do the scanlines' line and counts
    expect(next.hasHsyncInVsync).toBe(true)
    expect(vsync(add(next, 480, 524), 520, 100).scanlinesBefore).toBe(260 + 44 - 4)
    expect(next.frames.at(-2)!.countedEdges).toBe(100)
    expect(next.fit(SAMPLE)!.scanlines).toBe(524)
  })
})
