// Edges between the samples of several frames, by hand: scanlines of 400 ticks, a sample every 10, one row to a frame. Each
// frame comes later by its shift, so that the picture's edges lie elsewhere between its samples.

import { describe, expect, it } from 'vitest'
import { PHASE_BINS } from '../../src/dots/edge-phases.ts'
import { mergedEdges, type MergedEdges } from '../../src/dots/merged-edges.ts'
import { recordingOf } from './hand-made-recording.ts'

const LINE = 400
const STEP = 10

/** A change of one plane at a place in the scanline, in ticks; only some frames may have it. */
interface Change {
  at: number
  plane: number
  level: number
  in?: readonly number[]
}

/** @param shifts of the frames, in ticks, up to a sample: the first sample of a scanline lies 10 less that behind its start */
function edgesOf(shifts: readonly number[], changes: readonly Change[], planeCount = 1): MergedEdges {
  const rows: [number, number][] = []
  let levels = 0
  shifts.forEach((shift, frame) => {
    for (const { at, plane, level, in: frames } of changes) {
      if (frames && !frames.includes(frame)) continue
      levels = (levels & ~(1 << plane)) | (level << plane)
      // it shows at the next sample
      rows.push([STEP * Math.ceil((LINE * frame + shift + at) / STEP), levels])
    }
  })
  return mergedEdges({
    recording: recordingOf(rows),
    grid: {
      firstNumber: 0,
      start: Float64Array.from({ length: shifts.length + 3 }, (_, line) => LINE * line),
      periodTicks: LINE,
      jitterTicks: 0,
    },
    instants: { originTicks: 0, intervalTicks: STEP, uncertaintyTicks: 0 },
    planeCount,
    frames: shifts.map((shiftTicks, index) => ({ index, firstLine: index, whole: true, shiftTicks })),
    rows: 1,
  })
}

/** Places of edges in ticks, with how many there are. */
function placesOf({ phases }: MergedEdges, plane: number, rising: boolean): [number, number][] {
  const entry = phases.find((one) => one.plane === plane && one.rising === rising)
  const list: [number, number][] = []
  entry?.histogram.forEach((count, bin) => {
    if (count > 0)
      list.push([Number((Math.round((((bin + 0.5) / PHASE_BINS) * LINE) / 0.05) * 0.05).toFixed(2)), count])
  })
  expect(entry?.edges ?? 0).toBe(list.reduce((sum, [, count]) => sum + count, 0))
  return list
}

describe('mergedEdges', () => {
  // samples at 10, 3 and 4.5 behind each scanline's start, and every 10 after them
  const SHIFTS = [0, 7, 5.5]

  it('puts an edge into the middle of the gap that it is seen in', () => {
    const edges = edgesOf(SHIFTS, [
      { at: 103.7, plane: 0, level: 1 },
      { at: 202, plane: 0, level: 0 },
    ])
    // between 103 and 104.5, and between 200 and 203
    expect(placesOf(edges, 0, true)).toEqual([[103.75, 1]])
    expect(placesOf(edges, 0, false)).toEqual([[201.5, 1]])
    expect(edges.gapTicks).toBe(3)
  })

  it('says how large the gaps are in which edges were, not those without', () => {
    expect(
      edgesOf(SHIFTS, [
        { at: 103.7, plane: 0, level: 1 },
        { at: 203.2, plane: 0, level: 0 },
      ]).gapTicks,
    ).toBe(1.5)
    // the largest is as long as 0.55 samples
    expect(
      edgesOf(SHIFTS, [
        { at: 107, plane: 0, level: 1 },
        { at: 203.2, plane: 0, level: 0 },
      ]).gapTicks,
    ).toBe(5.5)
    expect(edgesOf(SHIFTS, []).gapTicks).toBe(0)
  })

  it('leaves out gaps of more than 0.6 samples, and says where edges could have been', () => {
    // samples at 10 and 6.5: gaps of 3.5 and 6.5
    const edges = edgesOf(
      [0, 3.5],
      [
        { at: 108, plane: 0, level: 1 },
        { at: 203, plane: 0, level: 0 },
      ],
    )
    expect(placesOf(edges, 0, true)).toEqual([[108.25, 1]])
    expect(placesOf(edges, 0, false)).toEqual([])
    expect(edges.gapTicks).toBe(3.5)
    // one such gap to a sample, but for those at the ends
    const total = edges.places.reduce((sum, ticks) => sum + ticks, 0)
    expect(total / 3.5).toBeGreaterThanOrEqual(LINE / STEP - 2)
    expect(total / 3.5).toBeLessThanOrEqual(LINE / STEP)
    // 5.9 are few enough
    const allowed = edgesOf(
      [0, 4.1],
      [
        { at: 203, plane: 0, level: 1 },
        { at: 308, plane: 0, level: 0 },
      ],
    )
    expect(placesOf(allowed, 0, true)).toEqual([[202.95, 1]])
  })

  it('keeps planes apart, those that change together too', () => {
    const edges = edgesOf(
      SHIFTS,
      [
        { at: 103.7, plane: 0, level: 1 },
        { at: 103.8, plane: 2, level: 1 },
        { at: 202, plane: 2, level: 0 },
        { at: 203.5, plane: 0, level: 0 },
      ],
      3,
    )
    expect(placesOf(edges, 0, true)).toEqual([[103.75, 1]])
    expect(placesOf(edges, 2, true)).toEqual([[103.75, 1]])
    expect(placesOf(edges, 2, false)).toEqual([[201.5, 1]])
    expect(placesOf(edges, 0, false)).toEqual([[203.75, 1]])
    expect(edges.phases).toHaveLength(4)
  })

  it('wants two equal samples on either side from five frames on', () => {
    // what one frame alone shows in between makes no edges then
    const changes = (frame: number): Change[] => [
      { at: 100, plane: 0, level: 1 },
      { at: 150, plane: 0, level: 0, in: [frame] },
      { at: 158, plane: 0, level: 1, in: [frame] },
      { at: 300, plane: 0, level: 0 },
    ]
    const four = edgesOf([0, 2, 4, 6], changes(2))
    expect(placesOf(four, 0, true).length).toBeGreaterThan(1)
    const five = edgesOf([0, 2, 4, 6, 8], changes(2))
    expect(placesOf(five, 0, true)).toHaveLength(1)
    expect(placesOf(five, 0, false)).toHaveLength(1)
  })

  it('finds none in one frame', () => {
    const { phases, places } = edgesOf([0], [{ at: 103.7, plane: 0, level: 1 }])
    expect(phases).toEqual([])
    expect(places.every((ticks) => ticks === 0)).toBe(true)
  })
})
