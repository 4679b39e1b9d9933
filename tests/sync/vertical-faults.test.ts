import { describe, expect, it } from 'vitest'
import { judgeVertical } from '../../src/sync/vertical-faults.ts'
import { ScanlineScale } from '../../src/sync/vertical-interval.ts'

/** Scanlines of a hundred ticks; pulses of eight, and a broad one over three scanlines from the second on. */
const PERIOD = 100
const PULSES: readonly [number, number][] = [
  [0, 0.08],
  [1, 1.08],
  [2, 4.92],
  [5, 5.08],
  [6, 6.08],
]
const TOLERANCE = 0.02

/** What is told of the pulses, each as kind, scanline and width in ticks, once some of them are others. */
function toldOf(changes: Record<number, readonly (readonly [number, number])[]>): string[] {
  const wanted = PULSES.flat().map((place) => ({ place, tolerance: TOLERANCE }))
  const number = [0, 1, 2, 3, 4, 5, 6]
  const { faults } = judgeVertical(wanted, {
    frame: {} as never,
    vsyncPlace: 2,
    from: -0.25,
    to: 6.75,
    edges: PULSES.flatMap((pulse, i) => changes[i] ?? [pulse]).flat(),
    told: new Set(number),
    scale: new ScanlineScale(
      number,
      number.map((scanline) => scanline * PERIOD),
      PERIOD,
    ),
    periodTicks: PERIOD,
    faults: [],
  })
  return faults.map(({ kind, scanline, widthTicks }) => `${kind} ${scanline} ${Math.round(widthTicks)}`)
}

describe('a vertical interval', () => {
  it('as it ought to be has no fault, nor one whose edges are off by what they may be', () => {
    expect(toldOf({})).toEqual([])
    expect(toldOf({ 1: [[1.019, 1.061]] })).toEqual([])
  })

  it('a pulse that is longer or shorter is one fault, at its begin', () => {
    expect(toldOf({ 1: [[1, 1.12]] })).toEqual(['width 1 12'])
    expect(toldOf({ 2: [[2, 4.8]] })).toEqual(['width 2 280'])
    expect(toldOf({ 1: [[1, 1.03]] })).toEqual(['short 1 3'])
  })

  it('a pulse that comes early or late is one fault, though both of its edges are elsewhere', () => {
    expect(toldOf({ 3: [[4.96, 5.04]] })).toEqual(['early 5 8'])
    expect(toldOf({ 3: [[5.05, 5.13]] })).toEqual(['late 5 8'])
  })

  it('one that shares neither begin nor end nor half the width is another pulse, and that one is missing', () => {
    expect(toldOf({ 1: [[0.93, 0.95]] })).toEqual(['extra 1 2', 'missing 1 0'])
    expect(toldOf({ 1: [[0.93, 0.98]] })).toEqual(['early 1 5'])
    expect(toldOf({ 1: [[1.05, 1.08]] })).toEqual(['late 1 3'])
  })

  it('a gap that comes early is one fault: an end and a begin are elsewhere together', () => {
    expect(toldOf({ 2: [[2, 4.88]], 3: [[4.96, 5.08]] })).toEqual(['early 5 12'])
  })

  it('an end that is off by as much as a pulse after it that is moved as a whole is another fault', () => {
    expect(toldOf({ 2: [[2, 4.88]], 3: [[4.96, 5.04]] })).toEqual(['width 2 288', 'early 5 8'])
  })

  it('a late pulse that is cut is late, and has a false one in it', () => {
    expect(
      toldOf({
        1: [
          [1.05, 1.06],
          [1.07, 1.08],
        ],
      }),
    ).toEqual(['late 1 1', 'extra 1 1'])
  })

  it('a pulse that is not there, one too many, and one that is cut in two', () => {
    expect(toldOf({ 3: [] })).toEqual(['missing 5 0'])
    // its end is no end of the pulse that is missing after it, near as it is
    expect(toldOf({ 1: [[0.6, 0.64]] })).toEqual(['extra 1 4', 'missing 1 0'])
    expect(
      toldOf({
        0: [
          [0, 0.08],
          [0.3, 0.34],
        ],
      }),
    ).toEqual(['extra 0 4'])
    expect(
      toldOf({
        2: [
          [2, 3.2],
          [3.25, 4.92],
        ],
      }),
    ).toEqual(['extra 3 167'])
  })
})
