import { describe, expect, it, test } from 'vitest'

import {
  bestWindow,
  mostInside as mostAnywhere,
  phaseList,
  thinned,
  windowDots,
  type PhaseList,
} from '../../src/dots/dot-window.ts'
import { PHASE_BINS } from '../../src/dots/edge-phases.ts'
import { newRandom } from '../support/random.ts'

/** Edges of random dots of a card with `dots` per scanline, each late by anything up to a sample. */
function histogramOf(
  dots: number,
  samplesPerScanline: number,
  offsetDots: number,
  edges = 20_000,
): Float64Array {
  const random = newRandom(dots)
  const histogram = new Float64Array(PHASE_BINS)
  for (let i = 0; i < edges; i++) {
    const phase = (random.below(dots - 1) + offsetDots) / dots + random.uniform() / samplesPerScanline
    histogram[Math.floor((phase % 1) * PHASE_BINS)]!++
  }
  return histogram
}

/** Most edges that any window of that width holds, by trying every edge as its beginning. */
function mostInside(phases: readonly number[], dots: number, width: number): number {
  const wound = phases.map((phase) => (phase * dots) % 1)
  return Math.max(...wound.map((from) => wound.filter((at) => (at - from + 1) % 1 < width).length))
}

describe('bestWindow', () => {
  test.each([1.3, 1.5, 2, 7])(
    'holds the edges of true dots at %d samples per dot, in its middle',
    (samplesPerDot) => {
      const dots = 811
      const samples = dots * samplesPerDot
      const list = phaseList(histogramOf(dots, samples, 0.2), null)
      const width = windowDots(dots, samples, 0, null)
      const { inside, centreDots } = bestWindow(list, dots, width)
      expect(inside).toBeGreaterThan(0.9995 * list.edges) // but for what a bin of the histogram blurs
      // half a sample late on average
      const off = centreDots - (0.2 + 0.5 / samplesPerDot)
      expect(Math.abs(off - Math.round(off))).toBeLessThan(0.02)
      // any other count is explained no better than by chance
      for (const wrong of [dots - 1, dots + 1, 700, 405, 1000]) {
        const wrongWidth = windowDots(wrong, samples, 0, null)
        if (wrongWidth < 1)
          expect(bestWindow(list, wrong, wrongWidth).inside / list.edges - wrongWidth).toBeLessThan(0.05)
      }
    },
  )

  it('finds what trying every place finds', () => {
    const random = newRandom(4)
    for (let trial = 0; trial < 20; trial++) {
      const histogram = new Float64Array(PHASE_BINS)
      const phases: number[] = []
      for (let i = 0; i < 60; i++) {
        const bin = random.below(PHASE_BINS)
        histogram[bin]!++
        phases.push((bin + 0.5) / PHASE_BINS)
      }
      const dots = 20 + random.below(300)
      const width = 0.1 + 0.8 * random.uniform()
      const { inside } = bestWindow(phaseList(histogram, null), dots, width)
      // places are tried in steps of 1/1024 of a dot
      expect(inside).toBeLessThanOrEqual(mostInside(phases, dots, width))
      expect(inside).toBeGreaterThanOrEqual(mostInside(phases, dots, width - 3 / 1024))
    }
  })

  it('leaves the arc’s end out on a grid that stands still', () => {
    // 864 dots on 1296 samples: dots begin at two samples out of three
    const histogram = new Float64Array(PHASE_BINS)
    for (let dot = 0; dot < 864; dot++) histogram[Math.floor((Math.ceil(1.5 * dot) / 1296) * PHASE_BINS)]!++
    const list = phaseList(histogram, 1296)
    expect(list.edges).toBe(864)
    expect(bestWindow(list, 864, windowDots(864, 1296, 0, 1296)).inside).toBe(864)
    expect(bestWindow(list, 432, windowDots(432, 1296, 0, 1296)).inside).toBe(432)
  })
})

/** Edges of one dot a scanline, at steps of 1/1024 of it, with how many are at each. */
function listOf(edges: Readonly<Record<number, number>>): PhaseList {
  const entries = Object.entries(edges)
  return {
    phase: Float64Array.from(entries, ([step]) => (Number(step) + 0.5) / 1024),
    count: Float64Array.from(entries, ([, count]) => count),
    edges: entries.reduce((sum, [, count]) => sum + count, 0),
  }
}
const block = (from: number, to: number, count = 10): Record<number, number> =>
  Object.fromEntries(Array.from({ length: to - from }, (_, i) => [from + i, count]))

describe('a window over 1024 steps of a dot', () => {
  const centre = (list: PhaseList, steps: number): number =>
    bestWindow(list, 1, steps / 1024).centreDots * 1024

  it('lies over most edges, in the middle of where it may lie', () => {
    const list = listOf(block(100, 110))
    expect(bestWindow(list, 1, 10 / 1024)).toEqual({ inside: 100, centreDots: 105 / 1024 })
    // from step 90 to step 100
    expect(bestWindow(list, 1, 20 / 1024)).toEqual({ inside: 100, centreDots: 105 / 1024 })
    expect(bestWindow(list, 1, 4 / 1024)).toEqual({ inside: 40, centreDots: 105 / 1024 })
    expect(mostAnywhere(list, 1, 4 / 1024)).toBe(40)
    // of a step that it meets in part nothing is inside, but one step always is
    expect(mostAnywhere(list, 1, 4.99 / 1024)).toBe(40)
    expect(mostAnywhere(list, 1, 0.1 / 1024)).toBe(10)
  })

  it('goes round', () => {
    const list = listOf({ ...block(1020, 1024), ...block(0, 6) })
    expect(bestWindow(list, 1, 10 / 1024).inside).toBe(100)
    expect(centre(list, 10)).toBeCloseTo(1, 9)
    expect(centre(list, 30)).toBeCloseTo(1, 9)
    const before = listOf(block(1010, 1020))
    expect(centre(before, 20)).toBeCloseTo(1015, 9)
    const behind = listOf(block(2, 12))
    expect(centre(behind, 20)).toBeCloseTo(7, 9)
  })

  it('takes places for as good that hold all but a thousandth of it', () => {
    // ten thousand edges, and a few at the far end
    const at = (few: number): number => centre(listOf({ 500: 5000, 520: 5000 - few, 521: few }), 30)
    // from 492 to 500 with them, from 491 without
    expect(at(11)).toBeCloseTo((492 + 500) / 2 + 15, 9)
    expect(at(10)).toBeCloseTo((491 + 500) / 2 + 15, 9)
  })

  it('holds everything where it is as wide as the dot', () => {
    const list = listOf({ 3: 1, 400: 2, 900: 4 })
    for (const width of [1, 1.5]) expect(bestWindow(list, 1, width).inside).toBe(7)
    expect(mostAnywhere(list, 1, 1)).toBe(7)
    expect(mostAnywhere(listOf({ 0: 1, 512: 1 }), 1, 0.5)).toBe(1)
  })

  it('winds phases round so many dots', () => {
    // fifths of the scanline are one place of five dots, and five of one
    const fifths = {
      phase: Float64Array.of(0.1, 0.3, 0.5, 0.7, 0.9),
      count: Float64Array.of(1, 2, 3, 4, 5),
      edges: 15,
    }
    expect(bestWindow(fifths, 5, 1 / 1024)).toEqual({ inside: 15, centreDots: 512.5 / 1024 })
    expect(mostAnywhere(fifths, 1, 1 / 1024)).toBe(5)
    expect(mostAnywhere(fifths, 10, 1 / 1024)).toBe(15)
  })
})

test('an arc is as wide as a sample, five deviations of jitter, and a bin where samples do not stand still', () => {
  expect(windowDots(800, 1000, 0, 1000)).toBeCloseTo(0.8, 12)
  expect(windowDots(800, 1000, 0, null)).toBeCloseTo(0.8 + 800 / PHASE_BINS, 12)
  expect(windowDots(800, 2000, 1e-4, 2000)).toBeCloseTo(0.4 + 0.4, 12)
})

test('phases are middles of bins, or whole samples where these stand still', () => {
  const histogram = new Float64Array(PHASE_BINS)
  histogram[0] = 2
  histogram[8192] = 5
  histogram[32_767] = 3
  expect(phaseList(histogram, null)).toEqual({
    phase: Float64Array.of(0.5 / PHASE_BINS, 8192.5 / PHASE_BINS, 32_767.5 / PHASE_BINS),
    count: Float64Array.of(2, 5, 3),
    edges: 10,
  })
  // the last bin is nearest to the first sample of the next scanline
  expect(phaseList(histogram, 1000)).toEqual({
    phase: Float64Array.of(0, 0.25),
    count: Float64Array.of(5, 5),
    edges: 10,
  })
  expect(phaseList(new Float64Array(PHASE_BINS), null)).toMatchObject({ edges: 0, phase: new Float64Array() })
})

test('every so many phases of a list', () => {
  const list = listOf({ 10: 1, 20: 2, 30: 3, 40: 4, 50: 5 })
  expect([...thinned(list, 2).count]).toEqual([1, 3, 5])
  expect(thinned(list, 2).edges).toBe(9)
  expect([...thinned(list, 2).phase]).toEqual([10.5, 30.5, 50.5].map((step) => step / 1024))
  for (const step of [0, 1, NaN]) expect(thinned(list, step).edges).toBe(15)
})
