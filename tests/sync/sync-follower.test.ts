// Edges of hsync and vsync by hand → segments and frames. Scanlines last 1000 ticks, frames 100 of them, samples 10.

import { describe, expect, it } from 'vitest'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import type { SegmentSync } from '../../src/sync/segment-sync.ts'
import { SyncFollower, type SyncGap } from '../../src/sync/sync-follower.ts'

interface Wire {
  tick: number
  level: number
  isVsync: boolean
}

interface Told {
  follower: SyncFollower
  segments: SegmentSync[]
  frames: [FrameSync, number][]
  gaps: readonly SyncGap[]
}

/** Pulses of `width` ticks from `from` on, `count` of them. */
function hsync(from: number, count: number, period = 1000, width = 100): Wire[] {
  return Array.from({ length: count }, (_, n) => [
    { tick: from + n * period, level: 1, isVsync: false },
    { tick: from + n * period + width, level: 0, isVsync: false },
  ]).flat()
}

function vsync(...leads: number[]): Wire[] {
  return leads.flatMap((tick) => [
    { tick, level: 1, isVsync: true },
    { tick: tick + 3000, level: 0, isVsync: true },
  ])
}

/** @param end where the capture ends; NaN where it goes on */
function follow(edges: readonly Wire[], end: number): Told {
  const told: Omit<Told, 'follower' | 'gaps'> = { segments: [], frames: [] }
  const follower = new SyncFollower(false, 0, 10, {
    segmentStarted: () => {},
    segmentEnded: (segment) => void told.segments.push(segment),
    scanline: () => {},
    frameStarted: (frame, index) => void told.frames.push([frame, index]),
    fault: () => {},
    faultSettled: () => {},
  })
  for (const { tick, level, isVsync } of [...edges].sort((a, b) => a.tick - b.tick)) {
    if (isVsync) follower.pushVsync(tick, level)
    else follower.pushHsync(tick, level)
  }
  if (!Number.isNaN(end)) follower.end(end)
  return { ...told, follower, gaps: follower.gaps }
}

/** Leads of vsync every so many scanlines. */
const every = (scanlines: number, count: number, from = 20): number[] =>
  Array.from({ length: count }, (_, n) => (from + n * scanlines) * 1000 + 50)
const lengths = (segment: SegmentSync): number[] =>
  segment.frames.map(({ scanlines }) => Math.round(100 * scanlines) / 100)
const faults = (segment: SegmentSync): string[] =>
  segment.faults.map(({ kind, channel, tick }) => `${kind} ${channel} ${Math.round(tick / 1000)}`)

describe('SyncFollower', () => {
  it('gives frames their scanlines, edges and index', () => {
    const { segments, frames, gaps } = follow([...hsync(50, 500), ...vsync(...every(100, 5))], 500_000)
    expect(segments).toHaveLength(1)
    const [segment] = segments
    expect(segment).toMatchObject({
      scanlines: 500,
      startTick: 50,
      endTick: 500_000,
      vsyncPolarity: 'positive',
    })
    expect(lengths(segment!)).toEqual([100, 100, 100, 100, NaN])
    expect(segment!.frames.slice(0, 4).map(({ countedEdges }) => countedEdges)).toEqual([100, 100, 100, 100])
    expect(segment!.frames.map(({ firstScanline }) => firstScanline)).toEqual([20, 120, 220, 320, 420])
    expect(segment!.frames.map(({ scanlinesBefore }) => scanlinesBefore)).toEqual([20, 120, 220, 320, 420])
    expect(frames.map(([, index]) => index)).toEqual([0, 1, 2, 3, 4])
    expect(segment!.usualFrameScanlines).toBe(100)
    expect(segment!.vsyncWidthScanlines).toBeCloseTo(3, 6)
    expect(segment!.faults).toEqual([])
    expect(gaps).toEqual([])
  })

  it('begins another segment where the rate changes, and misses no vsync there', () => {
    // a frame and a half after its last vsync
    const first = [...hsync(50, 370), ...vsync(...every(100, 3))]
    const second = [...hsync(370_450, 365, 730), ...vsync(400_000, 480_300, 560_600)]
    const { segments, gaps } = follow([...first, ...second], 636_600)
    expect(segments.map(({ scanlines }) => scanlines)).toEqual([370, 365])
    expect(segments.map(faults)).toEqual([[], []])
    expect(lengths(segments[1]!)).toEqual([110, 110, NaN])
    expect(gaps).toEqual([])
    // at the ends of the capture it does
    const late = follow([...hsync(50, 400), ...vsync(...every(100, 2, 120))], 400_000)
    expect(faults(late.segments[0]!)).toEqual(['missing vsync 20', 'missing vsync 320'])
  })

  it('begins another segment with the first of two frames of another length', () => {
    const { segments, frames } = follow(
      [...hsync(50, 1000), ...vsync(...every(100, 4), ...every(120, 4, 440))],
      950_000,
    )
    expect(segments.map(lengths)).toEqual([
      [100, 100, 100],
      [120, 120, 120, 120, NaN],
    ])
    expect(segments.map(({ startTick }) => startTick)).toEqual([50, 320_050])
    expect(segments[0]!.scanlines).toBe(320)
    // indices begin anew
    expect(frames.map(([, index]) => index).slice(-5)).toEqual([0, 1, 2, 3, 4])
    expect(segments[0]!.vsyncPulses).toBe(3)
    expect(segments[1]!.vsyncPulses).toBe(5)
  })

  it('takes one frame of another length, or one that is a multiple, for the same mode', () => {
    const lengthsOf = (...leads: number[]): number[][] =>
      follow([...hsync(50, 1000), ...vsync(...leads)], 950_000).segments.map(lengths)
    // one is longer
    expect(lengthsOf(...every(100, 4), ...every(100, 4, 440))).toEqual([
      [100, 100, 100, 120, 100, 100, 100, NaN],
    ])
    // vsyncs are missing
    expect(lengthsOf(...every(100, 4), ...every(200, 3, 520))).toEqual([[100, 100, 100, 200, 200, 200, NaN]])
    // three quarters of a scanline is no other length
    expect(lengthsOf(...every(100, 4), ...every(100.7, 4, 420.7))).toHaveLength(1)
    expect(lengthsOf(...every(100, 4), ...every(100.8, 4, 420.8))).toHaveLength(2)
    // nothing is usual before it came twice
    expect(lengthsOf(...every(100, 3), ...every(120, 4, 340))).toEqual([
      [100, 100],
      [120, 120, 120, 120, NaN],
    ])
    expect(lengthsOf(...every(100, 2), ...every(120, 4, 240))).toHaveLength(1)
  })

  it('begins another segment where the polarity of vsync turns round', () => {
    const inverted = [400, 500, 600, 700].flatMap((n) => [
      { tick: n * 1000 + 50, level: 0, isVsync: true },
      { tick: n * 1000 + 3050, level: 1, isVsync: true },
    ])
    const edges = [
      ...hsync(50, 800),
      ...vsync(...every(100, 3)),
      { tick: 320_050, level: 1, isVsync: true },
      ...inverted,
    ]
    const { segments, frames } = follow(edges, 800_000)
    expect(segments.map(({ vsyncPolarity }) => vsyncPolarity)).toEqual(['positive', 'negative'])
    expect(lengths(segments[1]!)).toEqual([100, 100, 100, NaN])
    // the new one begins where the last vsync of the old one ends, with the scanlines from that on
    expect(segments.map(({ startTick }) => startTick)).toEqual([50, 223_050])
    expect(segments.map((segment) => segment.scanlines)).toEqual([220, 580])
    expect(frames.map(([, index]) => index)).toEqual([0, 1, 2, 0, 1, 2, 3])
  })

  it('settles nothing of frames that may yet begin another segment', () => {
    const settled = (until: number, ...leads: number[]): number =>
      follow(
        [...hsync(50, 1000), ...vsync(...leads)].filter(({ tick }) => tick < until),
        NaN,
      ).follower.settledTick
    // a few scanlines back in any case
    const even = settled(500_000, ...every(100, 9))
    expect(even).toBeGreaterThan(490_000)
    // the frame from 320 to 440 is longer, and from there on another timing may be
    const longer = [...every(100, 4), ...every(120, 4, 440)]
    expect(settled(439_000, ...longer)).toBeGreaterThan(430_000)
    expect(settled(500_000, ...longer)).toBe(320_050)
    expect(settled(600_000, ...longer)).toBeGreaterThan(590_000)
    // as long as none before: it may be that from 440 on
    const another = [...every(100, 4), 440_050, ...every(130, 4, 570)]
    expect(settled(600_000, ...another)).toBe(440_050)
    expect(follow([...hsync(50, 1000), ...vsync(...another)], 999_900).segments.map(lengths)).toEqual([
      [100, 100, 100, 120],
      [130, 130, 130, 130, NaN],
    ])
  })

  it('measures frames by time where the phase breaks in them', () => {
    // from the 250th on, scanlines come 300 ticks later, and vsync goes on as before
    const { segments } = follow(
      [...hsync(50, 250), ...hsync(250_350, 250), ...vsync(...every(100, 5))],
      500_400,
    )
    expect(segments[0]!.phaseBreaks).toBe(1)
    expect(lengths(segments[0]!)).toEqual([100, 100, 100, 100, NaN])
  })

  it('measures frames from the very begin of a segment on', () => {
    const { segments } = follow([...hsync(50, 500), ...vsync(50, 100_050, 200_050)], 210_000)
    expect(segments[0]!.startTick).toBe(50)
    expect(lengths(segments[0]!)).toEqual([100, 100, NaN])
  })

  it('lists gaps of more than three scanlines', () => {
    const parts = (pause: number): Told =>
      follow([...hsync(50, 300), ...hsync(300_050 + pause, 300)], 600_000 + pause)
    const [gap] = parts(1_000_000).gaps
    expect(Math.abs(gap!.startTick - 300_050)).toBeLessThan(1100)
    expect(gap!.endTick).toBe(1_300_050)
    expect(parts(1_000_000).segments).toHaveLength(1)
    expect(parts(1_000_000).segments[0]!.phaseBreaks).toBe(1)
    expect(parts(5000).gaps).toEqual([])
  })

  it('forgives nothing in a vsync that has all its pulses, and keeps apart what lacks in one', () => {
    const without = hsync(50, 500).filter(({ tick }) => tick < 120_900 || tick > 123_500)
    const { segments } = follow([...without, ...vsync(...every(100, 5))], 500_000)
    expect(segments[0]!.missingInVsync.count).toBe(3)
    expect(faults(segments[0]!)).toEqual(['missing hsync 121', 'missing hsync 122', 'missing hsync 123'])
  })

  describe('at the ends of a capture, where two scanlines might have come', () => {
    const ends = (edges: readonly Wire[], end: number): [SegmentSync['endsNotJudged'], string[]] => {
      const [segment] = follow(edges, end).segments
      return [segment!.endsNotJudged, faults(segment!).filter((text) => !text.includes('vsync'))]
    }

    it('does not judge the first ones where a vsync is less than 20 scanlines off', () => {
      const from = (tick: number): Wire[] => [
        ...hsync(2050, 400),
        ...vsync(tick, tick + 100_000, tick + 200_000),
      ]
      expect(ends(from(19_990), 402_000)).toEqual([{ first: 2, last: 0 }, []])
      expect(ends(from(20_000), 402_000)).toEqual([
        { first: 0, last: 0 },
        ['missing hsync 0', 'missing hsync 1'],
      ])
      // none came before that
      expect(ends([...hsync(50, 400), ...vsync(19_990, 119_990)], 400_040)[0]).toEqual({ first: 0, last: 0 })
    })

    it('nor the last ones, of a vsync that has begun or ended', () => {
      // the first pulse that does not come would do so at 400 050
      const until = (...leads: number[]): ReturnType<typeof ends> =>
        ends([...hsync(50, 400), ...vsync(...leads)], 402_000)
      const judged = [{ first: 0, last: 0 }, ['missing hsync 400', 'missing hsync 401']]
      const notJudged = [{ first: 0, last: 2 }, []]
      expect(until(50_000, 150_000, 250_000)).toEqual(judged)
      // its trailing edge comes 3000 ticks later
      expect(until(77_000, 177_000, 277_000, 377_000)).toEqual(judged)
      expect(until(77_100, 177_100, 277_100, 377_100)).toEqual(notJudged)
    })

    it('nor the last ones where vsync lacks them, or none has come', () => {
      const without = (...scanlines: number[]): Wire[] =>
        hsync(50, 400).filter(({ tick }) => !scanlines.includes(Math.floor(tick / 1000)))
      const until = (edges: readonly Wire[]): ReturnType<typeof ends> =>
        ends([...edges, ...vsync(50_000, 150_000, 250_000, 350_000)], 402_000)
      expect(until(without())[0].last).toBe(0)
      expect(until(without(51))).toEqual([{ first: 0, last: 2 }, ['missing hsync 51']])
      // in the last vsync, of which nobody has asked yet
      expect(until(without(351))).toEqual([{ first: 0, last: 2 }, ['missing hsync 351']])
      // one that lacks between vsyncs says nothing of them
      expect(until(without(100))).toEqual([
        { first: 0, last: 0 },
        ['missing hsync 100', 'missing hsync 400', 'missing hsync 401'],
      ])
      expect(ends(hsync(50, 400), 402_000)).toEqual([{ first: 0, last: 2 }, []])
    })
  })
})
