import { describe, expect, it, test } from 'vitest'

import { countDots } from '../../src/dots/dot-clock.ts'
import { PHASE_BINS, type EdgePhases } from '../../src/dots/edge-phases.ts'
import { newRandom } from '../support/random.ts'

interface Edges {
  dots: number
  samplesPerScanline: number
  /** First and last dot that has edges, as shares of the scanline. */
  from?: number
  to?: number
  /** Only every so many dots. */
  step?: number
  /** Standard deviation, in samples. */
  jitter?: number
  count?: number
}

/** Rising and falling edges at random dots, as an instrument shows them. */
function edgesOf({
  dots,
  samplesPerScanline,
  from = 0.15,
  to = 0.95,
  step = 1,
  jitter = 0,
  count = 5000,
}: Edges): EdgePhases[] {
  const random = newRandom(dots + step)
  return [false, true].map((rising) => {
    const histogram = new Float64Array(PHASE_BINS)
    for (let i = 0; i < count; i++) {
      const dot = step * Math.floor((dots * (from + (to - from) * random.uniform())) / step)
      const late = (random.uniform() + jitter * random.gaussian()) / samplesPerScanline
      histogram[Math.floor((((dot + 0.3) / dots + late) % 1) * PHASE_BINS)]!++
    }
    return { plane: 0, rising, edges: count, histogram }
  })
}

describe('countDots', () => {
  test.each([1.2, 1.45, 1.9, 3.3, 20])('counts dots at %d samples each', (samplesPerDot) => {
    for (const dots of [744, 792, 882, 912, 1344]) {
      const samplesPerScanline = dots * samplesPerDot
      const count = countDots(edgesOf({ dots, samplesPerScanline }), samplesPerScanline, 500, 0, [])
      expect(count).toMatchObject({ dotsPerScanline: dots, edges: 10_000 })
    }
  })

  it('counts double dots as what they show', () => {
    const samplesPerScanline = 1528.7
    const edges = edgesOf({ dots: 912, samplesPerScanline, step: 2 })
    expect(countDots(edges, samplesPerScanline, 500, 0, [912])).toMatchObject({ dotsPerScanline: 456 })
  })

  it('stands jitter of the whole card', () => {
    const samplesPerScanline = 912 * 7.3
    const jitter = 0.6
    const edges = edgesOf({ dots: 912, samplesPerScanline, jitter })
    expect(countDots(edges, samplesPerScanline, 500, jitter / samplesPerScanline, [])).toMatchObject({
      dotsPerScanline: 912,
    })
  })

  test.each([456, 372])('takes no half of the dots where jitter blurs them: %d', (half) => {
    // too few samples for the dots themselves; both the even and the odd ones fit into the arc that jitter leaves a half
    const samplesPerScanline = 2 * half * 1.1
    const jitter = 0.22
    const edges = edgesOf({ dots: 2 * half, samplesPerScanline, count: 150_000 })
    expect(countDots(edges, samplesPerScanline, 2400, jitter / samplesPerScanline, [])).not.toHaveProperty(
      'dotsPerScanline',
    )
    // but they are counted where they are the dots
    const own = edgesOf({ dots: half, samplesPerScanline, jitter: 0.15, count: 150_000 })
    expect(countDots(own, samplesPerScanline, 2400, 0.15 / samplesPerScanline, [])).toMatchObject({
      dotsPerScanline: half,
    })
  })

  it('does not take the mirror image of a count on samples that stand still', () => {
    // 2548 samples a scanline: 912 dots and 2548 - 912 = 1636 look alike; every tenth edge is off by as much as wander makes
    const [dots, samplesPerScanline] = [912, 2548]
    const random = newRandom(5)
    const histogram = new Float64Array(PHASE_BINS)
    const count = 20_000
    for (let i = 0; i < count; i++) {
      const off = i % 10 === 0 ? 0.4 + random.uniform() : 0
      const sample = Math.ceil(((100 + random.below(640)) / dots) * samplesPerScanline + 0.2 + off)
      histogram[Math.floor((sample / samplesPerScanline) * PHASE_BINS)]!++
    }
    const phases = [{ plane: 0, rising: true, edges: count, histogram }]
    expect(countDots(phases, samplesPerScanline, 900, 0, [])).toMatchObject({ dotsPerScanline: dots })
  })

  it('says why there is no count', () => {
    const samplesPerScanline = 912 * 2.3
    expect(countDots([], samplesPerScanline, 500, 0, [])).toEqual({ reason: 'no-edges', edges: 0 })
    // a block that is 30 dots wide is explained by many counts
    const block = edgesOf({ dots: 912, samplesPerScanline, from: 0.4, to: 0.43 })
    expect(countDots(block, samplesPerScanline, 500, 0, [])).toMatchObject({ reason: 'few-places' })
    const slow = edgesOf({ dots: 800, samplesPerScanline: 762.7 })
    expect(countDots(slow, 762.7, 500, 0, [])).toMatchObject({ reason: 'sample-rate-too-low' })
    const noise = edgesOf({ dots: 100_003, samplesPerScanline: 3e5 })
    expect(countDots(noise, samplesPerScanline, 500, 0, [])).toMatchObject({ reason: 'not-periodic' })
  })

  it('takes a likely count where several explain the edges', () => {
    // sampled with the dot clock itself, text that leaves one column of nine empty looks like 8/9 of the dots
    const histogram = new Float64Array(PHASE_BINS)
    const random = newRandom(9)
    for (let i = 0; i < 5000; i++) {
      const dot = 120 + 9 * random.below(80) + random.below(8)
      histogram[Math.floor(((dot + 0.001) / 882) * PHASE_BINS)]!++
    }
    const edges = [{ plane: 0, rising: true, edges: 5000, histogram }]
    expect(countDots(edges, 882, 500, 0, [882, 900])).toMatchObject({
      dotsPerScanline: 882,
      sampleGridCoheres: false,
    })
    expect(countDots(edges, 882, 500, 0, [])).toMatchObject({ dotsPerScanline: 882 })
    // the same samples of a card that is known to have more dots than they can show
    expect(countDots(edges, 882, 500, 0, [1056])).toHaveProperty('reason')
  })
})
