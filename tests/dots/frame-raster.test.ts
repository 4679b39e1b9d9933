// From a recording to edge phases, the phase of the dots, and the frame that is drawn: by hand, dots of 10 ticks, 40 to a
// scanline.

import { describe, expect, it } from 'vitest'
import { fittingCounts } from '../../src/dots/dot-clock.ts'
import { dotPhase } from '../../src/dots/dot-phase.ts'
import { allPhases, edgePhases, PHASE_BINS, type EdgePhases } from '../../src/dots/edge-phases.ts'
import { frameRaster, isFrameTooLarge, type FrameRaster } from '../../src/dots/frame-raster.ts'
import type { ScanlineGrid } from '../../src/dots/scanline-grid.ts'
import type { Recording } from '../../src/dots/recording.ts'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { newRandom } from '../support/random.ts'
import { recordingOf as recordingOfRows } from './hand-made-recording.ts'

const LINE = 400

const grid = (lines: number, firstNumber = 0): ScanlineGrid => ({
  firstNumber,
  start: Float64Array.from({ length: lines + 1 }, (_, n) => 1000 + LINE * n),
  periodTicks: LINE,
  jitterTicks: 0,
})

/** Whose first frame is the fifth of the capture. */
const recordingOf = (
  rows: readonly (readonly [number, number])[],
  more: Partial<Recording> = {},
): Recording => recordingOfRows(rows, { firstFrame: 4, ...more })

const bins = ({ histogram }: { histogram: Float64Array }): [number, number][] =>
  [...histogram.entries()].filter(([, count]) => count > 0)

describe('edgePhases', () => {
  it('counts edges by plane, direction and place in the scanline', () => {
    const recording = recordingOf([
      [900, 2],
      [1000, 3],
      [1100, 2],
      [1400, 1],
      [1500, 0],
      [1899.9, 4],
      [2200, 0],
    ])
    const phases = edgePhases(recording, grid(3), 3)
    expect(phases.map(({ plane, rising, edges }) => `${plane} ${rising} ${edges}`)).toEqual([
      '0 false 2',
      '0 true 2',
      '1 false 1',
      '2 true 1',
    ])
    expect(bins(phases[0]!)).toEqual([[PHASE_BINS / 4, 2]])
    expect(bins(phases[1]!)).toEqual([[0, 2]])
    expect(bins(phases[2]!)).toEqual([[0, 1]])
    // 0.24975 of the scanline
    expect(bins(phases[3]!)).toEqual([[Math.floor(0.24975 * PHASE_BINS), 1]])
    expect(bins({ histogram: allPhases(phases) }).reduce((sum, [, count]) => sum + count, 0)).toBe(6)
    expect(edgePhases(recordingOf([]), grid(3), 2)).toEqual([])
  })
})

/** Edges of dots, each late by its delay and up to a sample. */
function phasesOf(
  delays: readonly number[],
  samplesPerScanline: number,
  edges = 4000,
  dots = 40,
): EdgePhases[] {
  const random = newRandom(31)
  return delays.map((delay, i) => {
    const histogram = new Float64Array(PHASE_BINS)
    for (let n = 0; n < edges; n++) {
      const phase = (3 + random.below(dots - 8) + delay) / dots + random.uniform() / samplesPerScanline
      histogram[Math.floor(phase * PHASE_BINS)]!++
    }
    return { plane: i >> 1, rising: (i & 1) === 1, edges, histogram }
  })
}

describe('dotPhase', () => {
  it('has the boundary half a sample after where edges begin, by plane and direction', () => {
    const { commonDots, byEdge } = dotPhase(phasesOf([0.1, 0.2, 0.15, 0.3], 400), 40, 2, 400)
    // a sample is a tenth of a dot
    for (const [edge, delay] of [0.1, 0.2, 0.15, 0.3].entries())
      expect(Math.abs(byEdge[edge]! - delay - 0.05), String(edge)).toBeLessThan(0.01)
    expect(commonDots).toBeGreaterThan(0.1)
    expect(commonDots).toBeLessThan(0.4)
  })

  it('keeps each within half a dot of the common one', () => {
    const { commonDots, byEdge } = dotPhase(phasesOf([0.97, 1.05], 400), 40, 1, 400)
    expect(Math.abs(byEdge[0]! - byEdge[1]! + 0.08)).toBeLessThan(0.01)
    for (const place of byEdge) expect(Math.abs(place - commonDots)).toBeLessThan(0.5)
  })

  it('takes the common one where edges are few', () => {
    const few = phasesOf([0.1, 0.3], 400)
    few[1] = { ...phasesOf([0, 0.3], 400, 23)[1]! }
    const { commonDots, byEdge } = dotPhase(few, 40, 2, 400)
    expect([byEdge[1], byEdge[2], byEdge[3]]).toEqual([commonDots, commonDots, commonDots])
    few[1] = { ...phasesOf([0, 0.3], 400, 24)[1]! }
    expect(Math.abs(dotPhase(few, 40, 2, 400).byEdge[1]! - 0.35)).toBeLessThan(0.03)
  })

  it('takes the mean where a sample is as long as a dot, and hsync itself where there is none', () => {
    // taken with the dot clock: all at one place
    const exact = phasesOf([0.3], 1e9)
    expect(dotPhase(exact, 40, 1, 40).commonDots).toBeCloseTo(0.3, 2)
    expect(dotPhase(phasesOf([0.8], 1e9), 40, 1, 40).commonDots).toBeCloseTo(0.8, 2)
    expect(dotPhase(phasesOf([0.3], 40), 40, 1, 40)).toEqual({ commonDots: 0, byEdge: Float64Array.of(0, 0) })
    expect(dotPhase([], 40, 1, 400)).toEqual({ commonDots: 0, byEdge: Float64Array.of(0, 0) })
  })

  it("takes samples as coarse as dots for the card's own where they are half coherent", () => {
    // two places that are as far apart as leaves their sum so long
    const of = (coherence: number): number => {
      const apart = Math.acos(coherence) / (2 * Math.PI)
      const histogram = new Float64Array(PHASE_BINS)
      for (const dot of [0.3 - apart, 0.3 + apart]) histogram[Math.floor(((9 + dot) / 40) * PHASE_BINS)] = 50
      return dotPhase([{ plane: 0, rising: true, edges: 100, histogram }], 40, 1, 40).commonDots
    }
    expect(of(0.55)).toBeCloseTo(0.3, 2)
    expect(of(0.45)).toBe(0)
  })
})

describe('fittingCounts', () => {
  it('gives those counts that explain the edges as well as the best', () => {
    // every second dot alone has edges: 40 dots, or 80
    const phases = phasesOf([0.2], 400, 3000)
    expect(fittingCounts(phases, [80, 40, 41, 39, 20], 400, 0)).toEqual([40, 80])
    expect(fittingCounts(phases, [41, 39], 400, 0)).toEqual([])
    // of more dots than samples nothing is known
    expect(fittingCounts(phases, [400, 440], 400, 0)).toEqual([])
    expect(fittingCounts([], [40], 400, 0)).toEqual([])
  })
})

describe('frameRaster', () => {
  const frame = (firstScanline: number): FrameSync =>
    ({
      startTick: 1000 + LINE * firstScanline,
      firstScanline,
      phase: 0,
      scanlines: 10,
    }) as unknown as FrameSync
  const raster = (
    frames: number[],
    lines: number,
    { rows = 10 as number | null, index = 0, firstNumber = 0 } = {},
  ): FrameRaster | undefined =>
    frameRaster(
      {
        recording: recordingOf(
          [
            [1010, 1],
            [1020, 0],
          ],
          { frames: frames.map(frame) },
        ),
        grid: grid(lines, firstNumber),
        phases: [],
        planeCount: 1,
        sampleIntervalTicks: 2,
      },
      40,
      rows,
      index,
    )
  const brief = (found: FrameRaster | undefined): unknown =>
    found && [found.firstScanline, found.frame, found.whole, found.placedByVsync]

  it('takes the frame asked for, or the next one that is whole', () => {
    expect(brief(raster([5, 15, 25], 40))).toEqual([5, 4, true, true])
    expect(brief(raster([5, 15, 25], 40, { index: 1 }))).toEqual([15, 5, true, true])
    // its scanlines begin later
    expect(brief(raster([5, 15, 25], 40, { firstNumber: 6 }))).toEqual([15, 5, true, true])
    // the last scanline may be cut off
    expect(brief(raster([5], 15))).toEqual([5, 4, true, true])
    expect(brief(raster([5], 14))).toEqual([5, 4, false, true])
  })

  it('without a whole one takes the side of a vsync that shows more', () => {
    expect(brief(raster([8], 13))).toEqual([-2, null, false, true])
    expect(brief(raster([4], 13))).toEqual([4, 4, false, true])
    // as much on both sides: what comes after
    expect(brief(raster([6], 12))).toEqual([6, 4, false, true])
    // there is no more than a frame before it
    expect(brief(raster([30], 38))).toEqual([20, null, false, true])
  })

  it('without a vsync takes what there is', () => {
    const all = raster([], 7, { rows: null })!
    expect(brief(all)).toEqual([0, null, false, false])
    expect(all.scanlines).toBe(7)
    expect([...all.codes.subarray(0, 3)]).toEqual([0, 1, 0])
    expect(brief(raster([], 7))).toEqual([0, null, false, false])
    expect(raster([], 7, { rows: 0.4 })).toBeUndefined()
    expect(raster([], 7, { rows: 0.5 })!.scanlines).toBe(1)
    expect(raster([], 7, { rows: 8193 })).toBeUndefined()
  })

  it('knows what is too large for a frame', () => {
    expect([isFrameTooLarge(100, 8192), isFrameTooLarge(100, 8193)]).toEqual([false, true])
    expect([isFrameTooLarge(2000, 8000), isFrameTooLarge(2001, 8000)]).toEqual([false, true])
  })
})
