import { describe, expect, it, test } from 'vitest'

import { bestWindow, phaseList, windowDots } from '../../src/dots/dot-window.ts'
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
