// Which channels are sync, by what they do: on wires made by hand.

import { describe, expect, it, test } from 'vitest'
import type { Role } from '../../src/capture/role.ts'
import { pictureEdges, silenceIn } from '../../src/sync/picture-silence.ts'
import { keptPlaces, rareShare, scanlineRhythm, type Rhythm } from '../../src/sync/scanline-rhythm.ts'
import {
  couldBePicture,
  hsyncLikeness,
  hsyncSupport,
  vsyncLikeness,
} from '../../src/sync/sync-by-behaviour.ts'
import { areClose, pairFor, searchSync, type SyncPair } from '../../src/sync/sync-search.ts'
import type { ChannelActivity } from '../../src/transitions/channel-activity.ts'
import {
  captureOf,
  hsync,
  isInVsync,
  PERIOD,
  picture,
  SCANLINES,
  scanlines,
  vsync,
  type Capture,
  type Pulses,
} from './hand-made-wires.ts'

function rhythmOf({ store, activities }: Capture, channel = 0, only?: readonly number[]): Rhythm {
  return scanlineRhythm(store, activities, channel, 1, only)
}

describe('scanlineRhythm', () => {
  const capture = captureOf([hsync(), vsync(), picture(), picture(100)])
  const rhythm = rhythmOf(capture)

  it('beats with the leading edges', () => {
    expect(rhythm.channel).toBe(0)
    expect(rhythm.periodTicks).toBeCloseTo(PERIOD, 9)
    // 0.3 % of the scanline, or two and a half samples
    expect(rhythm.toleranceTicks).toBe(3)
    expect(scanlineRhythm(capture.store, capture.activities, 0, 2).toleranceTicks).toBe(5)
    // three quarters of 100 ticks in 1000
    expect(rhythm.watchedShare).toBeCloseTo(0.075, 9)
  })

  it('leaves gaps that are off out of the mean, by more than 1 % or two samples', () => {
    const withGap = (late: number, grid: number): number => {
      const pulses = hsync().map(([from, to], n): [number, number] =>
        n < 300 ? [from, to] : [from + late, to + late],
      )
      const { store, activities } = captureOf([pulses])
      return scanlineRhythm(store, activities, 0, grid).periodTicks
    }
    expect(withGap(10, 1)).toBeCloseTo(PERIOD + 10 / (SCANLINES - 1), 6)
    expect(withGap(11, 1)).toBeCloseTo(PERIOD, 9)
    expect(withGap(11, 6)).toBeCloseTo(PERIOD + 11 / (SCANLINES - 1), 6)
  })

  it('counts what happens in the pulses, but for their first quarter', () => {
    // from 75 to 150
    const inside = (at: number): number => {
      const { store, activities } = captureOf([
        hsync(),
        scanlines().map((n): [number, number] => [n * PERIOD + at, n * PERIOD + 500]),
      ])
      return scanlineRhythm(store, activities, 0, 1).duringPulse[1]!
    }
    expect(inside(60)).toBe(0)
    expect(inside(74)).toBe(0)
    expect(inside(75)).toBe(SCANLINES)
    expect(inside(149)).toBe(SCANLINES)
    expect(inside(151)).toBe(0)
    expect(rhythm.duringPulse[2]).toBe(0)
    // of strokes from 100 to 140 and later both edges of the first
    expect(rhythm.duringPulse[3]).toBe(2 * scanlines().filter((n) => !isInVsync(n)).length)
  })

  it('finds long pulses with their places', () => {
    const pulses = rhythm.longPulses[1]!
    expect(pulses.widthTicks).toEqual([3000, 3000, 3000, 3000])
    expect(pulses.leadTicks).toEqual([1050, 201_050, 401_050, 601_050])
    for (const phase of [...pulses.leadPhases, ...pulses.trailPhases])
      expect(Math.min(phase, PERIOD - phase)).toBeLessThan(1)
    // strokes are no long ones, and the beat itself is not asked
    expect(rhythm.longPulses[0]).toBeNull()
    expect(rhythm.longPulses[2]!.widthTicks).toEqual([])
  })

  it('wants them seven tenths of a scanline long, and rare', () => {
    const long = (width: number): number =>
      rhythmOf(captureOf([hsync(), vsync(width)])).longPulses[1]!.widthTicks.length
    expect(long(0.69)).toBe(0)
    expect(long(0.71)).toBe(4)
    const low = rhythmOf(captureOf([hsync(), vsync()], [0, 1])).longPulses[1]!
    expect(low.widthTicks).toEqual([3000, 3000, 3000, 3000])
    // for a sixth of the time and more
    expect(rhythmOf(captureOf([hsync(), vsync(24)])).longPulses[1]!.widthTicks).toHaveLength(3)
    expect(rhythmOf(captureOf([hsync(), vsync(34)])).longPulses[1]).toBeNull()
  })

  it('tells how much of the high time is spent in stretches that hsync does not end', () => {
    const { longHighShare } = rhythmOf(
      captureOf([
        hsync(),
        [
          [10_000, 11_010],
          [20_000, 20_500],
          [30_000, 30_510],
        ],
        [
          [10_000, 11_030],
          [20_000, 21_030],
        ],
      ]),
    )
    expect(longHighShare[0]).toBe(0)
    expect(longHighShare[1]).toBe(0)
    expect(longHighShare[2]).toBe(1)
    const half = rhythmOf(
      captureOf([
        hsync(),
        [
          [10_000, 13_000],
          [20_000, 20_900],
          [30_000, 30_900],
          [40_000, 40_900],
          [50_000, 50_300],
        ],
      ]),
    )
    expect(half.longHighShare[1]).toBeCloseTo(0.5, 9)
  })

  it('counts edges that keep their places, half a scanline away as well', () => {
    // eight edges of vsync, four each way: three keep to the one before
    expect(rhythm.kept[1]).toBe(6)
    const halves = [1, 101.5, 202, 302.5].map((n): [number, number] => [
      n * PERIOD + 50,
      (n + 3) * PERIOD + 50,
    ])
    expect(rhythmOf(captureOf([hsync(), halves])).kept[1]).toBe(6)
    const strays = [1, 101.3, 202, 302.7].map((n): [number, number] => [
      n * PERIOD + 50,
      (n + 3) * PERIOD + 50,
    ])
    expect(rhythmOf(captureOf([hsync(), strays])).kept[1]).toBe(-6)
    expect(keptPlaces([10, 13, 511, 514, 995, 20, 24], rhythm)).toBe(3)
    expect(keptPlaces([999, 1], rhythm)).toBe(1)
    expect(keptPlaces([10], rhythm)).toBe(0)
  })

  it('looks at the channels that are asked about alone', () => {
    const some = rhythmOf(capture, 0, [1])
    expect(some.longPulses[1]!.widthTicks).toHaveLength(4)
    expect(some.duringPulse[3]).toBe(0)
    expect(some.periodTicks).toBeCloseTo(PERIOD, 9)
  })
})

describe('likeness', () => {
  const activity = (more: Partial<ChannelActivity>): ChannelActivity => ({
    edges: 1000,
    highShare: 0.1,
    periodTicks: PERIOD,
    gapSpreadTicks: 0,
    regularShare: 0.98,
    pulseTicks: 100,
    widestPulseTicks: 100,
    ...more,
  })

  test('hsync: narrow, often, and as even as it is', () => {
    expect(hsyncLikeness(activity({}))).toBe(0.98)
    expect(hsyncLikeness(activity({ regularShare: 0.3 }))).toBe(0.3)
    expect(hsyncLikeness(activity({ edges: 31 }))).toBe(0)
    expect(hsyncLikeness(activity({ edges: 32 }))).toBe(0.98)
    for (const [share, isLike] of [
      [0.014, false],
      [0.016, true],
      [0.29, true],
      [0.31, false],
      [0.69, false],
      [0.71, true],
      [0.984, true],
      [0.986, false],
    ] as const)
      expect(hsyncLikeness(activity({ highShare: share })) > 0, String(share)).toBe(isLike)
    expect(rareShare(activity({ highShare: 0.9 }))).toBeCloseTo(0.1, 12)
  })

  test('hsync is borne out by wires that are blank in it, and belied by one that speaks only then', () => {
    const support = (...others: Pulses[]): number => {
      const capture = captureOf([hsync(), ...others])
      return hsyncSupport(capture.activities, rhythmOf(capture))
    }
    expect(support()).toBe(0)
    expect(support(picture())).toBeCloseTo(1, 9)
    expect(support(picture(), picture(320), picture(340))).toBeCloseTo(1.2, 9)
    expect(support(picture(), picture(310), picture(320), picture(330), picture(340))).toBeCloseTo(1.3, 9)
    // strokes all over the scanline: not blank
    expect(support(picture(90, 200))).toBe(0)
    const gated = scanlines().map((n): [number, number] => [n * PERIOD + 80, n * PERIOD + 120])
    expect(support(gated)).toBe(-1)
    expect(support(gated, picture())).toBeCloseTo(0, 9)
    // of seven and more edges in ten
    const partly = (share: number): number =>
      support(
        scanlines().map((n): [number, number] =>
          n % 100 < share ? [n * PERIOD + 80, n * PERIOD + 120] : [n * PERIOD + 500, n * PERIOD + 550],
        ),
      )
    expect(partly(75)).toBe(-1)
    expect(partly(65)).toBe(0)
    // 8 edges would have to fall into it by chance
    const few = (edges: number): number =>
      support(
        picture()
          .filter((_, i) => i >= 40 && i % 8 === 0)
          .slice(0, edges / 2),
      )
    expect(few(106)).toBe(0)
    expect(few(108)).toBeCloseTo(1, 9)
    // lit over many scanlines now and then
    const unbroken = [...picture(), [SCANLINES * PERIOD - 300, SCANLINES * PERIOD + 8000] as const]
    expect(support(unbroken)).toBe(0)
  })

  const vsyncOf = (pulses: Pulses): number => {
    const capture = captureOf([hsync(), pulses, picture()])
    return vsyncLikeness(capture.activities[1]!, 1, rhythmOf(capture))
  }

  test('vsync: at one place, a frame apart, whole scanlines long', () => {
    // paced 1, locked 1, whole 0.3
    expect(vsyncOf(vsync())).toBeCloseTo(2.3, 9)
    expect(vsyncOf(vsync(3.3))).toBeCloseTo(2 - 1.5, 9)
    expect(vsyncOf(vsync(3.004))).toBeCloseTo(0.5, 9)
    expect(vsyncOf(vsync(2.998))).toBeCloseTo(2.3, 9)
    // gaps from 100 to 1400 scanlines
    expect(vsyncOf(vsync(3, 50, 100))).toBeCloseTo(2.3, 9)
    expect(vsyncOf(vsync(3, 50, 99))).toBe(0)
    // no two of them at one place
    const strays = [1, 151.3, 302, 452.7].map((n): [number, number] => [n * PERIOD, (n + 3) * PERIOD])
    expect(vsyncOf(strays)).toBeCloseTo(1 - 1 + 0.3, 9)
  })

  test('vsync: one pulse says less, one edge hardly anything, and long ones nothing', () => {
    expect(vsyncOf([[200_050, 203_050]])).toBeCloseTo(0.4 + 0 + 0.3, 9)
    expect(vsyncOf([[615_000, 999_000]])).toBe(0)
    const edge = captureOf([hsync(), [[600_000, 700_000]]])
    const rhythm = rhythmOf(edge)
    expect(
      vsyncLikeness({ ...edge.activities[1]!, highShare: 0.1, edges: 2 }, 1, {
        ...rhythm,
        longPulses: [null, { leadTicks: [], leadPhases: [], trailPhases: [], widthTicks: [] }],
      }),
    ).toBe(0.2)
    expect(
      vsyncLikeness({ ...edge.activities[1]!, highShare: 0.1, edges: 3 }, 1, {
        ...rhythm,
        longPulses: [null, { leadTicks: [], leadPhases: [], trailPhases: [], widthTicks: [] }],
      }),
    ).toBe(0)
    expect(vsyncOf([[200_050, 240_000]])).toBeGreaterThan(-2)
    expect(vsyncOf([[200_050, 240_051]])).toBe(0)
  })

  test('vsync: half of the gaps must be frames', () => {
    const at = (...list: number[]): number =>
      vsyncOf(list.map((n): [number, number] => [n * PERIOD + 50, (n + 3) * PERIOD + 50]))
    // one of two: paced 0.75
    expect(at(1, 201, 221)).toBeCloseTo(0.75 + 1 + 0.3, 9)
    expect(at(1, 201, 221, 241)).toBe(0)
  })

  test('picture: up to a fifth of what chance puts into sync, and a twentieth of its light', () => {
    const could = (during: number, longHigh: number): boolean =>
      couldBePicture(activity({ edges: 100 }), 1, {
        watchedShare: 0.5,
        duringPulse: Float64Array.of(0, during),
        longHighShare: Float64Array.of(0, longHigh),
      } as unknown as Rhythm)
    expect([could(10, 0), could(11, 0)]).toEqual([true, false])
    expect([could(0, 0.049), could(0, 0.05)]).toEqual([true, false])
  })

  test('picture: blank in sync, never lit past it', () => {
    const could = (pulses: Pulses): boolean => {
      const capture = captureOf([hsync(), pulses])
      return couldBePicture(capture.activities[1]!, 1, rhythmOf(capture))
    }
    expect(could(picture())).toBe(true)
    expect(could(picture(90, 200))).toBe(false)
    expect(could([])).toBe(false)
    expect(could(vsync())).toBe(false)
    // in the pulse up to a fifth of what chance has: 0.075 of the edges
    const now = (every: number): boolean =>
      could(
        scanlines().map((n): [number, number] =>
          n % every === 0 ? [n * PERIOD + 80, n * PERIOD + 300] : [n * PERIOD + 300, n * PERIOD + 400],
        ),
      )
    // of 1240 edges 18.6
    expect(now(33)).toBe(false)
    expect(now(36)).toBe(true)
  })
})

describe('silenceIn', () => {
  const judge = (isDark: (n: number) => boolean, wires = 1): number => {
    const capture = captureOf([
      hsync(),
      vsync(),
      ...scanlines(wires).map((i) => picture(300 + 10 * i, 90, isDark)),
    ])
    const rhythm = rhythmOf(capture)
    const edges = pictureEdges(capture.store, capture.activities, rhythm)
    return silenceIn(edges, SCANLINES * PERIOD, rhythm, 1)
  }

  it('speaks for a vsync in which the picture is quiet, and against one in which it is not', () => {
    expect(judge(isInVsync)).toBe(0.5)
    expect(judge(() => false)).toBe(-1)
    // one of its twelve scanlines is 8 % of what chance has
    expect(judge((n) => isInVsync(n) && n !== 202)).toBe(-1)
    expect(judge((n) => isInVsync(n) && n !== 202, 2)).toBe(-1)
  })

  it('says nothing where chance may have it, or where there is no long pulse', () => {
    // 12 of 620 scanlines: 413 edges make 8
    const few = (scanlinesLit: number): number => judge((n) => n < 300 || n >= 300 + scanlinesLit)
    expect(few(51)).toBe(0)
    expect(few(53)).toBe(0.5)
    const capture = captureOf([hsync(), picture()])
    expect(silenceIn(Float64Array.of(1, 2), 10, rhythmOf(capture), 1)).toBe(0)
  })

  it('asks only what could be picture', () => {
    const capture = captureOf([hsync(), vsync(), picture(), picture(90, 200), [[500_300, 500_400]]])
    const rhythm = rhythmOf(capture)
    const edges = pictureEdges(capture.store, capture.activities, rhythm)
    // every change of the one picture, and its first level
    expect(edges).toHaveLength(2 * picture().length + 1)
    expect([...edges].every((tick, i) => i === 0 || tick >= edges[i - 1]!)).toBe(true)
  })
})

describe('searchSync', () => {
  const search = (
    wires: readonly Pulses[],
    roles: readonly (Role | null)[] = wires.map(() => null),
    { fixed = wires.map(() => false), isPlausible = (periodTicks: number): boolean => periodTicks > 0 } = {},
  ): SyncPair[] => searchSync({ ...captureOf(wires), gridTicks: 1, roles, fixed, isPlausible })

  it('finds the pair, and scores it by likeness, support and name', () => {
    const [pair] = search([picture(), vsync(), hsync()])
    expect(pair).toMatchObject({ vsync: 1, rivalVsync: -1 })
    expect(pair!.rhythm.channel).toBe(2)
    expect(pair!.hsyncScore).toBeCloseTo(1 + 1, 6)
    expect(pair!.vsyncLikeness).toBeCloseTo(2.3, 6)
    expect(pair!.score).toBeCloseTo(2 + 2.3, 6)
    const [named] = search([picture(), vsync(), hsync()], ['red', 'vsync', 'hsync'])
    expect(named!.hsyncScore).toBeCloseTo(3, 6)
    expect(named!.score).toBeCloseTo(3 + 3.3, 6)
    const [misnamed] = search([picture(), vsync(), hsync()], ['hsync', 'red', 'blue'])
    expect(misnamed!.rhythm.channel).toBe(2)
    expect(misnamed!.score).toBeCloseTo(2 - 0.3 + 2.3 - 0.3, 6)
  })

  it('a rate that no video has weighs against it', () => {
    const [pair] = search([hsync(), vsync()], [null, null], { isPlausible: (period) => period < 900 })
    expect(pair!.hsyncScore).toBeCloseTo(1 - 3, 6)
  })

  it('a beat with gaps loses against the one without', () => {
    const gappy = hsync().filter((_, n) => n % 4 !== 3)
    const pairs = search([gappy, hsync()], ['hsync', null])
    expect(pairs[0]!.rhythm.channel).toBe(1)
    // nine of ten are enough
    const nearly = search([hsync().filter((_, n) => n % 10 !== 9), hsync()], ['hsync', null])
    expect(nearly[0]!.rhythm.channel).toBe(0)
  })

  it('takes the word of the user for hsync and vsync', () => {
    const wires = [picture(), vsync(), hsync(), hsync(90)]
    const fixed = search(wires, [null, null, null, 'hsync'], { fixed: [false, false, false, true] })
    expect(fixed.map(({ rhythm }) => rhythm.channel)).toEqual([3])
    const frames = search(wires, ['vsync', null, null, null], { fixed: [true, false, false, false] })
    expect(frames[0]!.vsync).toBe(0)
    // a channel that has another role for sure is neither
    const taken = search(wires, [null, 'red', 'blue', null], { fixed: [false, true, true, false] })
    expect(taken.map(({ rhythm, vsync: other }) => [rhythm.channel, other])[0]).toEqual([3, -1])
    expect(taken.some(({ rhythm }) => rhythm.channel === 2)).toBe(false)
    expect(search([[], vsync()], ['hsync', null], { fixed: [true, false] })).toEqual([])
  })

  it('looks for no vsync beside a composite sync', () => {
    const [pair] = search([hsync(), vsync()], ['csync', null])
    expect(pair).toMatchObject({ vsync: -1, vsyncLikeness: 0 })
    expect(pair!.score).toBeCloseTo(1 + 1, 6)
  })

  it('tells where a second vsync fits as well', () => {
    const other = vsync(3, 50).map(([from, to]): [number, number] => [from + 50_000, to + 50_000])
    const [pair] = search([hsync(), vsync(), other])
    expect(pair!.vsync).toBe(1)
    expect(pair!.rivalVsync).toBe(2)
    // a picture that is quiet in the first alone decides
    const [decided] = search([hsync(), other, vsync(), picture()])
    expect(decided).toMatchObject({ vsync: 2, rivalVsync: -1 })
    expect(decided!.score).toBeCloseTo(2 + 2.3 + 0.5, 6)
  })

  it('pairs are close below 0.3', () => {
    const pair = (score: number): SyncPair => ({ score }) as unknown as SyncPair
    expect(areClose(pair(4), pair(3.71))).toBe(true)
    expect(areClose(pair(4), pair(3.69))).toBe(false)
    expect(areClose(pair(4), undefined)).toBe(false)
  })

  it('asks no others than it is told', () => {
    const capture = captureOf([hsync(), vsync(), picture()])
    const asked = {
      ...capture,
      gridTicks: 1,
      roles: ['hsync', 'vsync', 'red'] as Role[],
      fixed: [false, false, false],
      isPlausible: () => true,
    }
    expect(pairFor(asked, 0, [1])).toMatchObject({ vsync: 1 })
    expect(pairFor(asked, 0, [2]).vsync).toBe(-1)
  })
})
