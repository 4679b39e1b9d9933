// Vertical intervals of a composite sync by hand: which edges belong together, what most intervals have, what is wrong.

import { describe, expect, it, test } from 'vitest'
import { isAsWanted, matchEdges, type WantedEdge } from '../../src/sync/edge-matching.ts'
import type { SyncFault } from '../../src/sync/sync-fault.ts'
import { judgeVertical, type VerticalJudgement } from '../../src/sync/vertical-faults.ts'
import { ScanlineScale, type VerticalInterval } from '../../src/sync/vertical-interval.ts'
import { verticalPattern, type AlignedInterval } from '../../src/sync/vertical-pattern.ts'

const PERIOD = 1000

const wantedAt = (places: readonly number[], tolerance = 0.01): WantedEdge[] =>
  places.map((place) => ({ place, tolerance }))

describe('matchEdges', () => {
  const matched = (wanted: readonly number[], seen: readonly number[]): { cost: number; pairs: string } => {
    const { cost, pairs } = matchEdges(wantedAt(wanted), seen)
    const sign = (at: number): string => (at < 0 ? '-' : String(at))
    return {
      cost,
      pairs: pairs
        .map(({ wanted, seen, isRight }) => `${sign(wanted)}${isRight ? '=' : '~'}${sign(seen)}`)
        .join(' '),
    }
  }

  it('costs nothing where all are in their places', () => {
    expect(matched([0, 0.1, 1, 1.1], [0.009, 0.1, 1, 1.091])).toEqual({ cost: 0, pairs: '0=0 1=1 2=2 3=3' })
    expect(matched([], [])).toEqual({ cost: 0, pairs: '' })
  })

  it('finds a pulse too many, and one too few', () => {
    expect(matched([0, 0.1, 1, 1.1], [0, 0.1, 0.5, 0.6, 1, 1.1])).toEqual({
      cost: 1,
      pairs: '0=0 1=1 -~2 -~3 2=4 3=5',
    })
    expect(matched([0, 0.1, 1, 1.1, 2, 2.1], [0, 0.1, 2, 2.1])).toEqual({
      cost: 1,
      pairs: '0=0 1=1 2~- 3~- 4=2 5=3',
    })
    expect(matched([0, 0.1], [])).toEqual({ cost: 1, pairs: '0~- 1~-' })
    expect(matched([], [0, 0.1])).toEqual({ cost: 1, pairs: '-~0 -~1' })
  })

  it('takes an edge that is off for the same edge, leading ones up to 0.15 scanlines, trailing ones up to 0.6', () => {
    const late = matched([0, 0.1, 1, 1.1], [0, 0.1, 1.05, 1.1])
    expect(late.pairs).toBe('0=0 1=1 2~2 3=3')
    expect(late.cost).toBeCloseTo(0.6 + 2 * 0.05, 12)
    expect(matched([0, 0.7, 1, 1.7], [0, 0.7, 1.14, 1.7]).pairs).toBe('0=0 1=1 2~2 3=3')
    expect(matched([0, 0.7, 1, 1.7], [0, 0.7, 1.16, 1.7]).pairs).not.toContain('2~2')
    expect(matched([0, 0.7], [0, 0.11])).toMatchObject({ pairs: '0=0 1~1', cost: 0.95 })
    expect(matched([0, 0.75], [0, 0.11]).pairs).not.toContain('1~1')
  })

  it('never takes a leading edge for a trailing one', () => {
    // the gap between two pulses is gone: one trailing and one leading edge too few
    const { pairs, cost } = matched([0, 0.5, 0.55, 1], [0, 1])
    expect(pairs).toBe('0=0 1~- 2~- 3=1')
    expect(cost).toBe(1)
  })
})

test('isAsWanted: as many edges, each within its tolerance', () => {
  const wanted = wantedAt([0, 0.1, 1, 1.1])
  expect(isAsWanted(wanted, [0.009, 0.091, 1, 1.1])).toBe(true)
  expect(isAsWanted(wanted, [0.011, 0.1, 1, 1.1])).toBe(false)
  expect(isAsWanted(wanted, [0, 0.1])).toBe(false)
  expect(isAsWanted(wanted, [0, 0.1, 1, 1.1, 2, 2.1])).toBe(false)
})

describe('ScanlineScale', () => {
  const scale = new ScanlineScale([10, 11, 13, 14], [5000, 6000, 8100, 9100], PERIOD)

  it('draws straight lines between scanlines', () => {
    for (const [place, tick] of [
      [10, 5000],
      [10.25, 5250],
      [11, 6000],
      [12, 7050],
      [13, 8100],
      [13.5, 8600],
      [14, 9100],
    ] as const) {
      expect(scale.tickOf(place)).toBeCloseTo(tick, 9)
      expect(scale.placeOf(tick)).toBeCloseTo(place, 9)
    }
  })

  it('goes on with the usual period beyond both ends', () => {
    expect(scale.tickOf(8.5)).toBe(3500)
    expect(scale.placeOf(3500)).toBe(8.5)
    expect(scale.tickOf(16)).toBe(11_100)
    expect(scale.placeOf(11_100)).toBe(16)
    const one = new ScanlineScale([10], [5000], PERIOD)
    expect([one.tickOf(9), one.tickOf(10), one.tickOf(12), one.placeOf(5500)]).toEqual([
      4000, 5000, 7000, 10.5,
    ])
  })
})

describe('judgeVertical', () => {
  /** Two scanlines, two broad pulses of half a scanline, two scanlines. */
  const PLACES = [0, 0.07, 1, 1.07, 2, 2.43, 2.5, 2.93, 3, 3.07, 4, 4.07]

  const judge = (
    edges: readonly number[],
    { told = [0, 1, 2, 3, 4], faults = [] as SyncFault[] } = {},
  ): VerticalJudgement =>
    judgeVertical(wantedAt(PLACES), {
      from: -0.25,
      to: 5,
      edges,
      told: new Set(told),
      scale: new ScanlineScale([0, 5], [10_000, 15_000], PERIOD),
      periodTicks: PERIOD,
      faults,
    } as unknown as VerticalInterval)
  const changed = (at: number, ...edges: number[]): number[] =>
    PLACES.with(at, NaN).flatMap((place, i) => (i === at ? edges : [place]))
  const without = (from: number, count: number): number[] => PLACES.toSpliced(from, count)

  it('finds nothing wrong in what is as wanted', () => {
    expect(judge(PLACES)).toEqual({ faults: [], cost: 0, edgesBeside: [] })
  })

  it('a missing pulse of a scanline that was told, and one of none', () => {
    const { faults, edgesBeside } = judge(without(2, 2))
    expect(faults).toHaveLength(1)
    expect(faults[0]).toMatchObject({
      kind: 'missing',
      channel: 'csync',
      scanline: 1,
      offsetTicks: 0,
      widthTicks: 0,
      lineCountError: -1,
    })
    expect(faults[0]!.tick).toBeCloseTo(11_000, 9)
    expect(faults[0]!.sinceTrueTicks).toBeNaN()
    expect(edgesBeside).toEqual([{ scanline: 1, edges: -1 }])
    // the scanline was not told: no counter has counted it
    expect(judge(without(2, 2), { told: [0, 2, 3, 4] }).edgesBeside).toEqual([])
    // a second broad pulse belongs to no scanline's begin
    const half = judge(without(6, 2), { told: [] })
    expect(half.faults).toMatchObject([{ kind: 'missing', scanline: 2 }])
    expect(half.edgesBeside).toEqual([{ scanline: 2, edges: -1 }])
  })

  it('a false pulse, counted from the begin of its scanline', () => {
    const { faults, edgesBeside } = judge(PLACES.toSpliced(4, 0, 1.6, 1.62))
    expect(faults).toHaveLength(1)
    expect(faults[0]).toMatchObject({ kind: 'extra', scanline: 2, lineCountError: 1 })
    expect(faults[0]!.tick).toBeCloseTo(11_600, 6)
    expect(faults[0]!.offsetTicks).toBeCloseTo(-400, 6)
    expect(faults[0]!.widthTicks).toBeCloseTo(20, 6)
    expect(faults[0]!.rejectWidthTicks).toBeCloseTo(20, 6)
    expect(faults[0]!.sinceTrueTicks).toBeCloseTo(600, 6)
    expect(edgesBeside).toEqual([{ scanline: 2, edges: 1 }])
    // one in the middle belongs to the scanline that it falls in
    expect(judge(PLACES.toSpliced(4, 0, 1.52, 1.53)).faults[0]!.scanline).toBe(1)
  })

  it('a false pulse where none is wanted', () => {
    const { faults } = judgeVertical([], {
      edges: [1.6, 1.62],
      told: new Set([1]),
      scale: new ScanlineScale([0, 5], [10_000, 15_000], PERIOD),
      periodTicks: PERIOD,
      // of what scanlines have seen, nothing tells how near it must be
      faults: [{ tick: 11_600, colourEdgeNear: true }],
    } as unknown as VerticalInterval)
    expect(faults).toMatchObject([{ kind: 'extra', scanline: 2, colourEdgeNear: false }])
  })

  it('a pulse cut in two: a filter has to reject the shorter piece', () => {
    const late = judge(changed(5, 2.33, 2.35, 2.43))
    expect(late.faults).toHaveLength(1)
    expect(late.faults[0]!.kind).toBe('extra')
    expect(late.faults[0]!.tick).toBeCloseTo(12_350, 6)
    expect(late.faults[0]!.widthTicks).toBeCloseTo(80, 6)
    expect(late.faults[0]!.rejectWidthTicks).toBeCloseTo(80, 6)
    const early = judge(changed(5, 2.1, 2.12, 2.43))
    expect(early.faults).toHaveLength(1)
    expect(early.faults[0]!.widthTicks).toBeCloseTo(310, 6)
    expect(early.faults[0]!.rejectWidthTicks).toBeCloseTo(100, 6)
  })

  it('a pulse that comes early or late', () => {
    const late = judge(PLACES.map((place, i) => (i === 2 || i === 3 ? place + 0.05 : place)))
    expect(late.faults).toHaveLength(1)
    expect(late.faults[0]).toMatchObject({ kind: 'late', scanline: 1, lineCountError: 0 })
    expect(late.faults[0]!.offsetTicks).toBeCloseTo(50, 6)
    expect(late.faults[0]!.widthTicks).toBeCloseTo(70, 6)
    expect(late.edgesBeside).toEqual([])
    const early = judge(PLACES.map((place, i) => (i === 2 || i === 3 ? place - 0.05 : place)))
    expect(early.faults).toMatchObject([{ kind: 'early', scanline: 1 }])
    // too far off to be told with its scanline, but counted
    expect(
      judge(
        PLACES.map((place, i) => (i === 2 || i === 3 ? place + 0.05 : place)),
        { told: [0, 2, 3, 4] },
      ).edgesBeside,
    ).toEqual([{ scanline: 1, edges: 1 }])
  })

  it('a pulse that ends early or late, told where it begins', () => {
    const long = judge(changed(3, 1.2))
    expect(long.faults).toHaveLength(1)
    expect(long.faults[0]).toMatchObject({ kind: 'width', scanline: 1, offsetTicks: 0 })
    expect(long.faults[0]!.tick).toBeCloseTo(11_000, 6)
    expect(long.faults[0]!.widthTicks).toBeCloseTo(200, 6)
    expect(judge(changed(5, 2.22)).faults).toMatchObject([{ kind: 'width', scanline: 2 }])
    expect(judge(changed(5, 2.21)).faults).toMatchObject([{ kind: 'short', scanline: 2 }])
  })

  it('a gap that comes at another time moves the pulse after it, and no more', () => {
    const moved = judge(PLACES.map((place, i) => (i === 5 || i === 6 ? place + 0.03 : place)))
    expect(moved.faults).toMatchObject([{ kind: 'late', scanline: 2 }])
    // by different amounts these are two
    const two = judge(PLACES.map((place, i) => (i === 5 ? place + 0.02 : i === 6 ? place + 0.05 : place)))
    expect(two.faults.map(({ kind }) => kind).sort()).toEqual(['late', 'width'])
  })

  it('knows what colours did where scanlines had seen the same', () => {
    const near = (tick: number): SyncFault =>
      ({ tick, colourEdgeNear: true, colourShareNear: 0.25 }) as unknown as SyncFault
    const extra = PLACES.toSpliced(4, 0, 1.6, 1.62)
    expect(judge(extra, { faults: [near(11_609)] }).faults[0]).toMatchObject({
      colourEdgeNear: true,
      colourShareNear: 0.25,
    })
    const other = judge(extra, { faults: [near(11_611)] }).faults[0]!
    expect(other.colourEdgeNear).toBe(false)
    expect(other.colourShareNear).toBeNaN()
  })
})

describe('verticalPattern', () => {
  const SAMPLE = 0.004
  const accuracy = { sample: SAMPLE, jitter: 0 }
  const interval = (edges: readonly number[], from = -0.25, to = 5): AlignedInterval => ({ from, to, edges })
  const EDGES = [0, 0.07, 1, 1.07, 2, 2.43]
  const placesOf = (intervals: readonly AlignedInterval[]): number[] | undefined =>
    verticalPattern(intervals, accuracy)?.edges.map(({ place }) => Math.round(place * 1e6) / 1e6)

  it('wants three intervals', () => {
    expect(placesOf([interval(EDGES), interval(EDGES)])).toBeUndefined()
    expect(placesOf([interval(EDGES), interval(EDGES), interval(EDGES)])).toEqual(EDGES)
  })

  it('has what more than half of them have', () => {
    const extra = interval([...EDGES.slice(0, 4), 1.5, 1.53, ...EDGES.slice(4)])
    const usual = interval(EDGES)
    expect(placesOf([usual, extra, usual])).toEqual(EDGES)
    expect(placesOf([extra, extra, usual])).toHaveLength(8)
    expect(placesOf([extra, extra, usual, usual])).toEqual(EDGES)
    const lacking = interval(EDGES.slice(2))
    expect(placesOf([lacking, usual, usual])).toEqual(EDGES)
    expect(placesOf([lacking, lacking, usual])).toEqual(EDGES.slice(2))
  })

  it('counts only intervals that reach there, and goes as far as three of them', () => {
    const short = interval(EDGES.slice(2), 0.75, 5)
    expect(placesOf([short, short, short, interval(EDGES), interval(EDGES), interval(EDGES)])).toEqual(EDGES)
    const two = verticalPattern([short, short, interval(EDGES), interval(EDGES, -0.2, 2.6)], accuracy)!
    expect([two.from, two.to]).toEqual([0.75, 5])
    expect(two.edges).toHaveLength(4)
  })

  it('is in the middle of where samples show an edge, and the less tolerant the more of them do', () => {
    const shifted = (by: number): AlignedInterval => interval(EDGES.map((place) => place + by))
    const spread = verticalPattern([shifted(0), shifted(0.5 * SAMPLE), shifted(SAMPLE)], accuracy)!
    expect(spread.edges[0]!.place).toBeCloseTo(SAMPLE / 2, 9)
    // a sample, and 0.12 for the line
    expect(spread.edges[0]!.tolerance).toBeCloseTo(1.12 * SAMPLE, 9)
    const alike = verticalPattern([shifted(0), shifted(0), shifted(0)], accuracy)!
    expect(alike.edges[0]!.tolerance).toBeCloseTo(1.62 * SAMPLE, 9)
    const jittery = verticalPattern([shifted(0), shifted(0), shifted(0)], { sample: SAMPLE, jitter: SAMPLE })!
    expect(jittery.edges[0]!.tolerance).toBeGreaterThan(4 * SAMPLE)
  })

  it('pools edges at one place of the scanline', () => {
    // those of scanline 0 were seen early in the sample, those of scanline 1 late
    const edges = [0, 0.07, 1 + 0.9 * SAMPLE, 1.07 + 0.9 * SAMPLE]
    const pooled = verticalPattern([interval(edges), interval(edges), interval(edges)], accuracy)!
    const [first, , second] = pooled.edges
    expect(first!.place).toBeCloseTo(0.45 * SAMPLE, 9)
    expect(second!.place).toBeCloseTo(1 + 0.45 * SAMPLE, 9)
    expect(first!.tolerance).toBeCloseTo((1.12 + 0.05) * SAMPLE, 9)
    // further apart they are two places
    const apart = [0, 0.07, 1 + 1.2 * SAMPLE, 1.07 + 1.2 * SAMPLE]
    const [own] = verticalPattern([interval(apart), interval(apart), interval(apart)], accuracy)!.edges
    expect(own!.place).toBeCloseTo(0, 9)
  })

  it('leaves out what one interval has elsewhere', () => {
    const moved = interval(EDGES.map((place, i) => (i === 2 ? place + 3 * SAMPLE : place)))
    const usual = interval(EDGES)
    const pattern = verticalPattern([usual, moved, usual], accuracy)!
    expect(pattern.edges[2]!.place).toBeCloseTo(1, 9)
  })

  it('is none where most have no sequence of whole pulses', () => {
    // trailing edges at three places
    const edges = (trail: number): AlignedInterval => interval([0, trail])
    expect(verticalPattern([edges(0.1), edges(0.2), edges(0.3)], accuracy)).toBeUndefined()
  })
})
