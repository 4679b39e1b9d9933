// Vertical intervals as they are recorded and judged, one after the other: frames of 20 scanlines of 1000 ticks, with two
// broad pulses of vsync.

import { describe, expect, it } from 'vitest'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { ScanlineScale, type VerticalInterval } from '../../src/sync/vertical-interval.ts'
import { VerticalJudge, type JudgedInterval } from '../../src/sync/vertical-judge.ts'
import { VerticalRecorder, type RecordedInterval } from '../../src/sync/vertical-recorder.ts'

const PERIOD = 1000
const FRAME = 262
const accuracy = { sample: 0.005, jitter: 0 }

/** Pulses from 5 scanlines before vsync to 6 after it, in places from its begin. */
const USUAL = [
  ...[-5, -4, -3, -2, -1].flatMap((n) => [n, n + 0.07]),
  ...[0, 0.5, 1, 1.5].flatMap((n) => [n, n + 0.43]),
  ...[2, 3, 4, 5, 6, 7].flatMap((n) => [n, n + 0.07]),
]

function interval(
  begin: number,
  places: readonly number[] = USUAL,
  more: Partial<VerticalInterval> = {},
): VerticalInterval {
  const numbers = Array.from({ length: 30 }, (_, i) => Math.floor(begin) - 10 + i)
  return {
    frame: {} as FrameSync,
    vsyncPlace: begin,
    from: begin - 5.25,
    to: begin + 7.75,
    edges: places.map((place) => begin + place),
    told: new Set(numbers),
    scale: new ScanlineScale(
      numbers,
      numbers.map((n) => n * PERIOD),
      PERIOD,
    ),
    periodTicks: PERIOD,
    faults: [],
    ...more,
  }
}

function judged(intervals: readonly VerticalInterval[], judge = new VerticalJudge()): JudgedInterval[] {
  return [...intervals.flatMap((one) => judge.add(one, accuracy)), ...judge.judge(accuracy)]
}

const kinds = (list: readonly JudgedInterval[]): string[] =>
  list.map(({ judgement, shift }) =>
    judgement
      ? `${judgement.faults.map(({ kind }) => kind).join(' ') || 'right'}${shift === 0 ? '' : ` ${shift}`}`
      : 'not judged',
  )
const frames = (count: number, first = 300): number[] =>
  Array.from({ length: count }, (_, i) => first + i * FRAME)
/** Without the pulse whose leading edge is there. */
const without = (place: number): number[] => USUAL.toSpliced(USUAL.indexOf(place), 2)

describe('VerticalJudge', () => {
  it('wants three intervals', () => {
    expect(kinds(judged(frames(2).map((at) => interval(at))))).toEqual(['not judged', 'not judged'])
    expect(kinds(judged(frames(3).map((at) => interval(at))))).toEqual(['right', 'right', 'right'])
    expect(judged([])).toEqual([])
    const [right] = judged(frames(3).map((at) => interval(at)))
    expect(right!.judgement).toEqual({ faults: [], cost: 0, edgesBeside: [] })
  })

  it('holds each against what most have', () => {
    const list = frames(5).map((at, i) =>
      interval(at, i === 2 ? without(-2) : i === 3 ? without(0.5) : USUAL),
    )
    expect(kinds(judged(list))).toEqual(['right', 'right', 'missing', 'missing', 'right'])
    const extra = frames(4).map((at, i) =>
      interval(at, i === 1 ? USUAL.toSpliced(10, 0, -0.7, -0.68) : USUAL),
    )
    const [, one] = judged(extra)
    expect(one!.judgement!.faults).toMatchObject([{ kind: 'extra', scanline: 561 }])
    expect(one!.judgement!.cost).toBe(1)
    expect(one!.judgement!.edgesBeside).toEqual([{ scanline: 561, edges: 1 }])
  })

  it('judges when enough are collected, and holds later ones against the same', () => {
    const judge = new VerticalJudge()
    const at = frames(40)
    const told = at.slice(0, 31).flatMap((begin) => judge.add(interval(begin), accuracy))
    expect(told).toEqual([])
    expect(judge.add(interval(at[31]!), accuracy)).toHaveLength(32)
    judge.add(interval(at[32]!, without(-2)), accuracy)
    expect(kinds(judge.judge(accuracy))).toEqual(['missing'])
  })

  it('keeps the two fields of interlaced frames apart', () => {
    const other = USUAL.map((place) => (place < -0.5 || place > 2 ? place + 0.5 : place)).sort(
      (a, b) => a - b,
    )
    const list = Array.from({ length: 8 }, (_, i) =>
      i % 2 === 0
        ? interval(300 + 262.5 * i)
        : interval(300 + 262.5 * i, i === 5 ? other.toSpliced(0, 2) : other),
    )
    expect(kinds(judged(list))).toEqual([
      'right',
      'right',
      'right',
      'right',
      'right',
      'missing',
      'right',
      'right',
    ])
  })

  it('lets vsync begin anywhere in its scanline, as long as it does so in each frame', () => {
    // 0.21 behind the begin, as is all of vsync
    const late = frames(4).map((at, i) =>
      interval(at, i === 2 ? without(-2) : USUAL, { vsyncPlace: at + 0.21 }),
    )
    expect(kinds(judged(late))).toEqual(['right', 'right', 'missing', 'right'])
    const nearlyHalf = frames(4).map((at) =>
      interval(at, USUAL, { vsyncPlace: at + 0.24 + (at % 2 === 0 ? 0.02 : 0) }),
    )
    expect(kinds(judged(nearlyHalf))).toEqual(['right', 'right', 'right', 'right'])
  })

  it('knows a vsync that seems late, because its first pulse is missing, by its frame', () => {
    const list = frames(5).map((at, i) =>
      i === 2 ? interval(at, without(0), { vsyncPlace: at + 0.5 }) : interval(at),
    )
    const found = judged(list)
    expect(kinds(found)).toEqual(['right', 'right', 'missing -0.5', 'right', 'right'])
    expect(found[2]!.judgement!.faults[0]).toMatchObject({ kind: 'missing', scanline: 824 })
  })

  it('so it does in any frame, and where half a scanline is too much or a whole one', () => {
    /** What is said of the one of six vsyncs that begins elsewhere. */
    const told = (frame: number, places: readonly number[], off: number): string => {
      const list = frames(6).map((at, i) =>
        i === frame ? interval(at, places, { vsyncPlace: at + off }) : interval(at),
      )
      const all = kinds(judged(list))
      expect(all.toSpliced(frame, 1)).toEqual(['right', 'right', 'right', 'right', 'right'])
      return all[frame]!
    }
    for (const frame of [0, 1, 2, 5]) expect(told(frame, without(0), 0.5)).toBe('missing -0.5')
    // a broad pulse too many before it
    const early = USUAL.toSpliced(USUAL.indexOf(0), 0, -0.5, -0.07)
    for (const frame of [0, 3]) expect(told(frame, early, -0.5)).toBe('extra 0.5')
    // both broad pulses of its first scanline are missing: two pulses are the simpler explanation
    const oneLate = without(0).toSpliced(USUAL.indexOf(0), 2)
    expect(told(1, oneLate, 1)).toBe('missing missing -1')
    // a scanline of broad pulses before it: one that is too wide, and one too many
    const oneEarly = USUAL.toSpliced(USUAL.indexOf(-1), 2, -1, -0.57, -0.5, -0.07)
    expect(told(1, oneEarly, -1)).toBe('width extra 1')
  })

  it('takes a vsync for one that comes at another time where that explains more', () => {
    /** The third of five vsyncs comes a scanline late. */
    const late = (places: readonly number[]): string =>
      kinds(judged(frames(5).map((at, i) => interval(i === 2 ? at + 1 : at, i === 2 ? places : USUAL))))[2]!
    expect(late(USUAL)).toBe('right')
    // costs 1 and the 1.5 of another time; in its usual place one is too short, one missing, one too wide: 2.9
    expect(late(without(1.5))).toBe('missing')
    // with an end that is 0.1 early it costs 0.8 more; in its usual place that is too wide all the same
    const shorter = without(1.5).map((place) => (place === 1.43 ? 1.33 : place))
    expect(late(shorter)).toBe('short missing width -1')
  })

  it('says how much of a scanline a damaged first pulse hides, from 0.12 on', () => {
    const begun = (off: number): JudgedInterval => {
      const places = USUAL.map((place) => (place === 0 ? off : place))
      const list = frames(30).map((at, i) =>
        i === 3 ? interval(at, places, { vsyncPlace: at + off }) : interval(at),
      )
      return judged(list)[3]!
    }
    const kindOf = ({ judgement }: JudgedInterval): string[] => judgement!.faults.map(({ kind }) => kind)
    expect(kindOf(begun(0.1))).toEqual(['late'])
    expect(begun(0.1).shift).toBe(0)
    expect(kindOf(begun(0.14))).toEqual(['late'])
    expect(begun(0.14).shift).toBeCloseTo(-0.14, 2)
    // nearer to the half: from there half a scanline back, and on by what is hidden
    expect(begun(0.3).shift).toBeCloseTo(-0.3, 2)
  })

  it('gives up on an interval in which too much is wrong', () => {
    const noise = Array.from({ length: 16 }, (_, i) => -5 + 0.37 * i)
    const list = frames(5).map((at, i) => interval(at, i === 2 ? noise : USUAL))
    expect(kinds(judged(list))[2]).toBe('not judged')
    expect(judged(list)[2]!.shift).toBe(0)
  })

  it('looks no further than what it was given', () => {
    const list = frames(5).map((at, i) =>
      i === 2 ? interval(at, USUAL.slice(6), { from: at - 2.25 }) : interval(at),
    )
    expect(kinds(judged(list))).toEqual(['right', 'right', 'right', 'right', 'right'])
    const [, , short] = judged(list)
    expect([short!.interval.from, short!.interval.to]).toEqual([824 - 2.25, 824 + 7.75])
  })
})

describe('VerticalRecorder', () => {
  const train = { periodTicks: PERIOD, pulseLevel: 1 }
  const frame = (startTick: number): FrameSync => ({ startTick }) as unknown as FrameSync

  /** Scanlines 0 to `count`, a broad pulse of two scanlines in the 50th; told up to scanline `until`. */
  function record(
    count: number,
    { first = 0, isEnd = false, more = [] as number[][] } = {},
  ): RecordedInterval[] {
    const recorder = new VerticalRecorder()
    const taken: RecordedInterval[] = []
    for (let n = first; n < count; n++) {
      if (n !== 51 && n !== 52) {
        recorder.edge(n * PERIOD, 1)
        recorder.edge(n === 50 ? 52_400 : n * PERIOD + 70, 0)
      }
      for (const [lead, trail] of more) {
        if (Math.floor(lead! / PERIOD) !== n) continue
        recorder.edge(lead!, 1)
        if (trail !== undefined) recorder.edge(trail, 0)
      }
      if (n === 53) recorder.vsync(frame(50_000), 50_000, 52_400)
      recorder.scanline(n, n * PERIOD)
      taken.push(...recorder.take(train, false))
    }
    if (isEnd) taken.push(...recorder.take(train, true))
    return taken
  }

  it('takes an interval as soon as it is over', () => {
    // it ends six scanlines after the one that follows vsync
    expect(record(60)).toEqual([])
    const [one, ...others] = record(61)
    expect(others).toEqual([])
    expect(one).toMatchObject({ vsyncPlace: 50, from: 44.75, to: 58.75, periodTicks: PERIOD })
    expect(one!.edges.map((place) => Math.round(place * 100) / 100)).toEqual(
      [45, 46, 47, 48, 49]
        .flatMap((n) => [n, n + 0.07])
        .concat(
          [50, 52.4],
          [53, 54, 55, 56, 57, 58].flatMap((n) => [n, n + 0.07]),
        ),
    )
    expect(one!.told.has(50)).toBe(true)
    expect(one!.frame.startTick).toBe(50_000)
  })

  it('takes what there is of one at the end', () => {
    const [one] = record(56, { isEnd: true })
    expect([one!.from, one!.to]).toEqual([44.75, 54.75])
    expect(one!.edges.at(-1)).toBeCloseTo(54.07, 9)
    expect(record(40, { isEnd: true })).toEqual([])
  })

  it('begins no earlier than scanlines do', () => {
    const [one] = record(61, { first: 48 })
    expect(one!.from).toBe(47.75)
    expect(one!.edges[0]).toBe(48)
  })

  it('ends before a pulse that has no end in it', () => {
    const [one] = record(61, { more: [[58_700, 58_760]] })
    expect(one!.to).toBeCloseTo(58.68, 9)
    expect(one!.edges.at(-1)).toBeCloseTo(58.07, 9)
  })

  it('leaves out a pulse that began before', () => {
    const [one] = record(61, { more: [[44_700, 44_800]] })
    expect(one!.edges[0]).toBe(45)
    expect(one!.edges.length % 2).toBe(0)
  })

  it('forgets what came before the count began anew, and waits for nothing then', () => {
    const recorder = new VerticalRecorder()
    recorder.vsync(frame(0), 0, 100)
    expect(recorder.isWaiting).toBe(true)
    expect(recorder.take(train, false)).toEqual([])
    recorder.clear()
    expect(recorder.isWaiting).toBe(false)
    recorder.vsync(frame(0), 0, 100)
    expect(recorder.take(train, true)).toEqual([])
    expect(recorder.isWaiting).toBe(false)
  })

  it('judges nothing where edges are so many that some were let go', () => {
    const noise = Array.from({ length: 9000 }, (_, i) => [47_100 + i / 20, 47_100 + i / 20 + 0.02])
    expect(record(61, { more: noise })).toEqual([])
  })
})
