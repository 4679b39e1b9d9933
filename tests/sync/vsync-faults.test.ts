// Vsync pulses as numbers: which are right, and what is wrong with the others. Scanlines last 1000 ticks, samples 10.

import { describe, expect, it, test } from 'vitest'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { runsOf, usualLength } from '../../src/sync/usual-frame.ts'
import { judgeVsync, type VsyncPulses, type VsyncVerdict } from '../../src/sync/vsync-faults.ts'

const PERIOD = 1000
const USUAL = 262
const WIDTH = 3

interface Pulse {
  /** In scanlines. */
  at: number
  width?: number
  longestPiece?: number
}

/** Leading edges a quarter of a scanline behind its begin. */
function framesAt(pulses: readonly Pulse[], breaks: readonly number[] = []): FrameSync[] {
  return pulses.map(({ at, width = WIDTH, longestPiece = width }, i) => {
    const next = pulses[i + 1]
    return {
      startTick: at * PERIOD,
      firstScanline: Math.floor(at),
      phase: at - Math.floor(at),
      scanlines: next && !breaks.includes(i) ? next.at - at : NaN,
      countedEdges: 0,
      scanlinesBefore: 0,
      widthTicks: width * PERIOD,
      longestPieceTicks: longestPiece * PERIOD,
    }
  })
}

function judge(
  pulses: readonly Pulse[],
  more: Partial<VsyncPulses> = {},
  breaks: readonly number[] = [],
): VsyncVerdict {
  return judgeVsync({
    frames: framesAt(pulses, breaks),
    startTick: NaN,
    endTick: NaN,
    periodTicks: PERIOD,
    resolutionTicks: 10,
    composite: false,
    ...more,
  })
}

const slots = (...list: number[]): Pulse[] => list.map((slot) => ({ at: 100.25 + slot * USUAL }))
const slotAt = (slot: number, off = 0, width = WIDTH): Pulse => ({ at: 100.25 + slot * USUAL + off, width })
const kinds = ({ faults }: VsyncVerdict): string[] =>
  faults.map(({ kind, tick }) => `${kind} ${tick / PERIOD}`)

describe('judgeVsync', () => {
  it('finds nothing wrong in even frames', () => {
    const verdict = judge(slots(0, 1, 2, 3))
    expect(verdict).toMatchObject({ usualScanlines: USUAL, faults: [], oddFrames: 0 })
    expect(verdict.shortestGapTicks).toBe(USUAL * PERIOD)
    expect(verdict.shortestPulseTicks).toBe(WIDTH * PERIOD)
    const [first, second] = verdict.right
    expect(verdict.right).toHaveLength(4)
    expect(first).toMatchObject({
      kind: 'true',
      channel: 'vsync',
      tick: 100_250,
      scanline: 100,
      widthTicks: 3000,
    })
    // the first has none before it to be off from
    expect(first!.offsetTicks).toBeNaN()
    expect(second!.offsetTicks).toBe(0)
  })

  it('judges nothing before there is a whole frame', () => {
    const verdict = judge(slots(0))
    expect(verdict).toMatchObject({ usualScanlines: null, faults: [], oddFrames: 0 })
    expect(verdict.right.map(({ tick }) => tick)).toEqual([100_250])
    expect(judge([]).right).toEqual([])
  })

  it('tells where one is missing, and two in a row', () => {
    const verdict = judge(slots(0, 1, 2, 4, 5, 8))
    expect(kinds(verdict)).toEqual(['missing 886.25', 'missing 1672.25', 'missing 1934.25'])
    expect(verdict.faults[0]).toMatchObject({
      channel: 'vsync',
      scanline: 886,
      widthTicks: 0,
      offsetTicks: 0,
      rejectWidthTicks: 0,
      colourEdgeNear: false,
      lineCountError: 0,
    })
    expect(verdict.faults[0]!.sinceTrueTicks).toBeNaN()
    // two frames as long as two, one as long as three
    expect(verdict.oddFrames).toBe(2)
  })

  it('misses them at the ends of a capture as well, if there was room for a whole one', () => {
    // half a frame before the first, and one pulse and a scanline
    const begin = (tick: number): string[] => kinds(judge(slots(2, 3, 4), { startTick: tick * PERIOD }))
    const room = WIDTH + 1
    expect(begin(362.25 - room - 1)).toEqual(['missing 362.25'])
    expect(begin(362.25 - room + 1)).toEqual([])
    expect(begin(100.25 - room - 1)).toEqual(['missing 100.25', 'missing 362.25'])
    const end = (tick: number): string[] => kinds(judge(slots(0, 1, 2), { endTick: tick * PERIOD }))
    expect(end(886.25 + room + 1)).toEqual(['missing 886.25'])
    expect(end(886.25 + room - 1)).toEqual([])
    expect(end(1148.25 + room + 1)).toEqual(['missing 886.25', 'missing 1148.25'])
  })

  it('gives one that is missing near the begin of a scanline to that scanline', () => {
    const pulses = [0, 1, 3].map((slot) => ({ at: 100.99 + slot * USUAL }))
    expect(judge(pulses).faults[0]).toMatchObject({ kind: 'missing', scanline: 625 })
    const earlier = [0, 1, 3].map((slot) => ({ at: 100.9 + slot * USUAL }))
    expect(judge(earlier).faults[0]).toMatchObject({ kind: 'missing', scanline: 624 })
  })

  it('calls a pulse early or late from three samples on', () => {
    // three samples of 10 ticks are as much as 0.03 scanlines
    expect(kinds(judge([...slots(0, 1), slotAt(2, 0.031), ...slots(3, 4)]))).toEqual(['late 624.281'])
    expect(kinds(judge([...slots(0, 1), slotAt(2, 0.029), ...slots(3, 4)]))).toEqual([])
    expect(kinds(judge([...slots(0, 1), slotAt(2, -4), ...slots(3, 4)]))).toEqual(['early 620.25'])
    const coarse = (off: number): string[] =>
      kinds(judge([...slots(0, 1), slotAt(2, off), ...slots(3, 4)], { resolutionTicks: 40 }))
    expect(coarse(0.13)).toHaveLength(1)
    expect(coarse(0.11)).toEqual([])
  })

  it('says by how much, and keeps what was right', () => {
    const verdict = judge([...slots(0, 1), slotAt(2, 5), ...slots(3, 4)])
    expect(verdict.faults).toHaveLength(1)
    expect(verdict.faults[0]).toMatchObject({
      kind: 'late',
      offsetTicks: 5000,
      widthTicks: 3000,
      scanline: 629,
    })
    expect(verdict.right.map(({ tick }) => tick / PERIOD)).toEqual([100.25, 362.25, 886.25, 1148.25])
    expect(verdict.shortestGapTicks).toBe((USUAL - 5) * PERIOD)
    expect(verdict.oddFrames).toBe(2)
  })

  it('takes one that is further off for another one', () => {
    const late = (off: number): string[] => kinds(judge([...slots(0, 1), slotAt(2, off), ...slots(3, 4)]))
    expect(late(0.099 * USUAL)).toEqual([`late ${(624.25 + 0.099 * USUAL).toFixed(3)}`])
    expect(late(30)).toEqual(['missing 624.25', 'extra 654.25'])
  })

  it('tells a false pulse by the true one before it', () => {
    const verdict = judge([...slots(0, 1), slotAt(1, 100), ...slots(2, 3)])
    expect(verdict.faults).toHaveLength(1)
    expect(verdict.faults[0]).toMatchObject({
      kind: 'extra',
      offsetTicks: 100_000,
      sinceTrueTicks: 100_000,
      rejectWidthTicks: 3000,
      widthTicks: 3000,
    })
    // also where the next true one is too short to be found as such
    const beside = judge([...slots(0, 1), slotAt(1, 100), slotAt(2, 0, 1), ...slots(3, 4)])
    expect(beside.faults.map(({ kind, sinceTrueTicks }) => `${kind} ${sinceTrueTicks}`)).toEqual([
      'extra 100000',
      'short NaN',
    ])
    // nothing true came before
    const first = judge([slotAt(0, -50), ...slots(0, 1, 2)])
    expect(first.right.map(({ tick }) => tick)).toContain(100_250)
  })

  it('takes the nearest of several for the one that comes at another time', () => {
    const told = (...offs: number[]): string[] =>
      kinds(judge([...slots(0, 1), ...offs.map((off) => slotAt(2, off)), ...slots(3, 4)]))
    expect(told(-10, 5)).toEqual(['extra 614.25', 'late 629.25'])
    expect(told(-5, 10)).toEqual(['early 619.25', 'extra 634.25'])
    expect(told(4, 9, 12)).toEqual(['late 628.25', 'extra 633.25', 'extra 636.25'])
    // of two that are as near the first
    expect(told(-8, 8)).toEqual(['early 616.25', 'extra 632.25'])
    // in two frames, each its own
    expect(kinds(judge([...slots(0, 1), slotAt(2, 6), slotAt(3, -7), ...slots(4, 5)]))).toEqual([
      'late 630.25',
      'early 879.25',
    ])
  })

  it('tells a false pulse before any true one by itself', () => {
    const { faults } = judge([slotAt(0, -50, 1), ...slots(0, 1, 2)])
    expect(faults).toMatchObject([{ kind: 'extra', tick: 50_250, offsetTicks: 0, widthTicks: 1000 }])
    expect(faults[0]!.sinceTrueTicks).toBeNaN()
  })

  it('knows a narrow false one from a short true one by its place', () => {
    const false_ = judge([...slots(0, 1), slotAt(1, 20, 1), ...slots(2, 3)])
    expect(kinds(false_)).toEqual(['extra 382.25'])
    const short = judge([...slots(0, 1), slotAt(2, 0, 1), ...slots(3, 4)])
    expect(kinds(short)).toEqual(['short 624.25'])
    // narrow: less than half as wide as most
    expect(kinds(judge([...slots(0, 1), slotAt(2, 0, 1.51), ...slots(3, 4)]))).toEqual(['width 624.25'])
    expect(kinds(judge([...slots(0, 1), slotAt(2, 0, 1.49), ...slots(3, 4)]))).toEqual(['short 624.25'])
  })

  it('allows widths what ringing adds, or a tenth', () => {
    const width = (of: number, usual: number): string[] =>
      kinds(judge([0, 1, 2, 3, 4].map((slot) => slotAt(slot, 0, slot === 2 ? of : usual))))
    // 0.6 scanlines and a sample
    expect(width(3.6, 3)).toEqual([])
    expect(width(3.62, 3)).toEqual(['width 624.25'])
    expect(width(2.38, 3)).toEqual(['width 624.25'])
    expect(width(17.6, 16)).toEqual([])
    expect(width(17.62, 16)).toEqual(['width 624.25'])
  })

  it('leaves the widths of a composite sync alone, and wants its places less exactly', () => {
    const composite = { composite: true }
    const verdict = judge([...slots(0, 1), slotAt(2, 0, 1), ...slots(3, 4)], composite)
    expect(verdict.faults).toEqual([])
    expect(verdict.right[2]).toMatchObject({ channel: 'csync', widthTicks: 1000 })
    expect(kinds(judge([...slots(0, 1), slotAt(2, 0.24), ...slots(3, 4)], composite))).toEqual([])
    const late = judge([...slots(0, 1), slotAt(2, 0.26), ...slots(3, 4)], composite)
    expect(late.faults).toMatchObject([{ kind: 'late', channel: 'csync' }])
  })

  it('begins anew where the phase breaks', () => {
    const later = slots(3, 4, 5).map(({ at }) => ({ at: at + 77 }))
    const verdict = judge(
      [...slots(0, 1, 2), ...later],
      { startTick: 90 * PERIOD, endTick: 1600 * PERIOD },
      [2],
    )
    expect(verdict.faults).toEqual([])
    expect(verdict.right).toHaveLength(6)
    // across the break nothing is known of gaps
    expect(verdict.shortestGapTicks).toBe(USUAL * PERIOD)
  })

  it('counts frames as odd from 0.4 scanlines on', () => {
    const odd = (off: number): number => judge([...slots(0, 1), slotAt(2, off), slotAt(3, off)]).oddFrames
    expect(odd(0.39)).toBe(0)
    expect(odd(0.41)).toBe(1)
  })

  it('filters must keep the longest piece of a pulse that is cut', () => {
    const verdict = judge([...slots(0, 1), { ...slotAt(2), longestPiece: 1.25 }, ...slots(3)])
    expect(verdict.shortestPulseTicks).toBe(1250)
  })
})

describe('usualLength', () => {
  const usual = (
    pulses: readonly Pulse[],
    isNarrow: (frame: FrameSync) => boolean = () => false,
  ): number | null => usualLength(runsOf(framesAt(pulses)), isNarrow, 0.03)

  test('runs end where a length is not known', () => {
    const runs = runsOf(framesAt(slots(0, 1, 2, 3), [1]))
    expect(runs.map(({ place }) => place)).toEqual([
      [0, USUAL],
      [0, USUAL],
    ])
    expect(runs.map(({ frames }) => frames.length)).toEqual([2, 2])
    expect(runsOf([])).toEqual([])
  })

  test('none without a whole frame', () => {
    expect(usual(slots(0))).toBeNull()
    expect(usual([])).toBeNull()
  })

  test('the commonest, to the half scanline', () => {
    expect(usual([{ at: 0 }, { at: 262.52 }, { at: 525.04 }])).toBe(262.5)
    expect(usual([{ at: 0 }, { at: 262.2 }, { at: 524.4 }])).toBe(262)
  })

  test('a length that others are multiples of, even if these are more', () => {
    // 1, 2, 2, 3 frames long: the single one explains all, a double one only itself
    expect(usual(slots(0, 1, 3, 5, 8))).toBe(USUAL)
    // but of one and one the longer
    expect(usual([{ at: 0 }, { at: 262 }, { at: 262 + 400 }])).toBe(400)
    // five halves are no multiple
    expect(usual([{ at: 0 }, { at: 100 }, { at: 350 }, { at: 600 }])).toBe(250)
  })

  test('up to eight frames may lack their vsync', () => {
    const twice = (times: number): number | null =>
      usual([
        { at: 0 },
        { at: 100 },
        { at: 100 * (1 + times) },
        { at: 100 * (1 + 2 * times) },
        { at: 100 * (2 + 2 * times) },
      ])
    expect(twice(8)).toBe(100)
    expect(twice(9)).toBe(900)
  })

  test('narrow ones do not count', () => {
    const pulses = [...slots(0), slotAt(0, 100, 0.5), ...slots(1), slotAt(1, 90, 0.5), ...slots(2)]
    expect(usual(pulses, ({ widthTicks }) => widthTicks < 1000)).toBe(USUAL)
  })
})
