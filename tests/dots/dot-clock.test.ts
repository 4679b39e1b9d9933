import { describe, expect, it, test } from 'vitest'

import { countDots, fittingCounts, MAX_DOTS } from '../../src/dots/dot-clock.ts'
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

/** As many edges at each place, each seen late by up to a sample: evenly spread, as of samples that run free. */
function edgesAt(places: readonly number[], samplesPerScanline: number, each = 100): EdgePhases[] {
  const histogram = new Float64Array(PHASE_BINS)
  for (const place of places)
    for (let i = 0; i < each; i++)
      histogram[Math.floor((place + (i + 0.5) / each / samplesPerScanline) * PHASE_BINS)]!++
  return [{ plane: 0, rising: true, edges: each * places.length, histogram }]
}

/** The same where samples stand still: each place is seen at one sample. */
function edgesOnGrid(places: readonly number[], samples: number, each = 100): EdgePhases[] {
  const histogram = new Float64Array(PHASE_BINS)
  for (const place of places)
    histogram[Math.floor(((Math.ceil(place * samples - 1e-9) + 0.01) / samples) * PHASE_BINS)]! += each
  return [{ plane: 0, rising: true, edges: each * places.length, histogram }]
}

/** Boundaries of these dots, as shares of the scanline. */
const boundaries = (dots: number, from: number, to: number, step = 1): number[] =>
  Array.from({ length: Math.ceil((to - from) / step) }, (_, i) => (from + step * i) / dots)

describe('what a count rests on', () => {
  it('24 edges at least', () => {
    const few = (edges: number): object =>
      countDots(edgesAt(boundaries(40, 3, 3 + edges), 400.3, 1), 400.3, 500, 0, [])
    expect(few(23)).toEqual({ reason: 'no-edges', edges: 23 })
    expect(few(24)).toMatchObject({ dotsPerScanline: 40, edges: 24 })
  })

  it('coherence of one where every edge lies in its place, as fine as bins may be', () => {
    // of so many dots each has sixteen bins; samples are 200 times finer than dots
    const dots = 2039
    const samplesPerScanline = 200 * dots + 0.3
    const count = countDots(
      edgesAt(boundaries(dots, 100, 1900), samplesPerScanline, 20),
      samplesPerScanline,
      500,
      0,
      [],
    )
    expect(count).toMatchObject({ dotsPerScanline: dots })
    expect(count).toHaveProperty('coherence', expect.closeTo(1, 3))
    expect(count).toHaveProperty('explained', expect.closeTo(1, 2))
  })

  it('8 to 2048 dots', () => {
    const counted = (dots: number): object => {
      const samplesPerScanline = 2 * dots + 0.3
      return countDots(edgesAt(boundaries(dots, 0, dots), samplesPerScanline), samplesPerScanline, 500, 0, [])
    }
    expect(counted(MAX_DOTS)).toMatchObject({ dotsPerScanline: 2048 })
    expect(counted(MAX_DOTS + 1)).toHaveProperty('reason')
    // eighths, of which no fewer dots have edges; of sevenths the least that counts is twice as many
    const bars = (of: number): object =>
      countDots(
        edgesAt(
          [1, 2, 4, 5, of - 1].map((n) => n / of),
          303.4,
        ),
        303.4,
        500,
        0,
        [],
      )
    expect(bars(8)).toMatchObject({ dotsPerScanline: 8 })
    expect(bars(7)).toMatchObject({ dotsPerScanline: 14 })
  })

  it('so many places that no chance puts them there', () => {
    /** Every edge of a place in one bin, and so in one of the samples that places are counted by. */
    const bars = (samplesPerScanline: number, twentieths: readonly number[]): object => {
      const histogram = new Float64Array(PHASE_BINS)
      for (const n of twentieths) histogram[Math.floor((n / 20 + 0.0003) * PHASE_BINS)] = 100
      const phases = [{ plane: 0, rising: true, edges: 100 * twentieths.length, histogram }]
      return countDots(phases, samplesPerScanline, 500, 0, [])
    }
    // of n places one begins the arc, and the others lie in it with the chance of its width each; so many counts are tried
    const chance = (samplesPerScanline: number, places: number): number =>
      places *
      (20 / samplesPerScanline + 20 / PHASE_BINS) ** (places - 1) *
      Math.floor(samplesPerScanline / 1.12)
    const four = [1, 4, 9, 16]
    expect(chance(1787.3, 4)).toBeCloseTo(0.0105, 4)
    expect(bars(1787.3, four)).toEqual({ reason: 'few-places', edges: 400 })
    expect(chance(1900.3, 4)).toBeCloseTo(0.0094, 4)
    expect(bars(1900.3, four)).toMatchObject({ dotsPerScanline: 20 })
    expect(bars(1900.3, [4, 9, 16])).toEqual({ reason: 'few-places', edges: 300 })
  })

  it('no count beside it that explains the edges as well', () => {
    const samplesPerScanline = 912 * 4 + 0.3
    const of = (...blocks: [number, number][]): object =>
      countDots(
        edgesAt(
          blocks.flatMap(([from, to]) => boundaries(912, from, to)),
          samplesPerScanline,
          200,
        ),
        samplesPerScanline,
        500,
        0,
        [],
      )
    // a block over a quarter of the scanline: 913 dots put its edges over a quarter of a dot, and leave most of them out
    expect(of([100, 328])).toMatchObject({ dotsPerScanline: 912 })
    expect(of([400, 412])).toEqual({ reason: 'few-places', edges: 2400 })
    // also where a sixth of the edges lie anywhere
    const samples = edgesAt(boundaries(912, 400, 412), samplesPerScanline, 200)[0]!
    const scattered = edgesAt(
      Array.from({ length: 480 }, (_, i) => (i + 0.37) / 480),
      samplesPerScanline,
      1,
    )[0]!
    const both = {
      ...samples,
      edges: samples.edges + scattered.edges,
      histogram: samples.histogram.map((count, bin) => count + scattered.histogram[bin]!),
    }
    expect(countDots([both], samplesPerScanline, 500, 0, [])).toMatchObject({ reason: 'few-places' })
    // two blocks half a scanline apart: 913 dots leave one half a dot off, 914 a whole one
    expect(of([200, 206], [656, 662])).toEqual({ reason: 'few-places', edges: 2400 })
    // a third of it apart: 915 dots do
    expect(of([200, 206], [504, 510])).toEqual({ reason: 'few-places', edges: 2400 })
    // and three of them at no common distance: none
    expect(of([200, 206], [504, 510], [703, 709])).toMatchObject({ dotsPerScanline: 912 })
  })

  it('edges that real jitter spreads over most of a dot, if they are coherent as that leaves them', () => {
    // 0.14 dots: an arc of 5 * 0.14 and a sample of a sixth
    const samplesPerScanline = 912 * 6 + 0.3
    const jitter = 0.14 * 6
    const edges = edgesOf({ dots: 912, samplesPerScanline, jitter, count: 20_000 })
    expect(countDots(edges, samplesPerScanline, 500, jitter / samplesPerScanline, [])).toMatchObject({
      dotsPerScanline: 912,
    })
  })

  it('places that are not those of the samples alone', () => {
    const samplesPerScanline = 1528.7
    const edges = edgesAt(boundaries(600, 80, 560), samplesPerScanline, 10)
    /** So many of the places at which an edge could be seen are those of 600 dots, the others are anywhere. */
    const count = (share: number): object => {
      const places = new Float64Array(PHASE_BINS)
      for (let bin = 0; bin < PHASE_BINS; bin++) {
        const isThere = Math.floor((bin / PHASE_BINS) * 600) !== Math.floor(((bin - 1) / PHASE_BINS) * 600)
        places[bin] = (1 - share) / PHASE_BINS + (isThere ? share / 600 : 0)
      }
      return countDots(edges, samplesPerScanline, 500, 0, [], places)
    }
    expect(count(0)).toMatchObject({ dotsPerScanline: 600 })
    expect(count(0.45)).toMatchObject({ dotsPerScanline: 600 })
    expect(count(0.6)).toHaveProperty('reason')
    expect(count(1)).toHaveProperty('reason')
  })

  it('enough samples, or else that is what lacks', () => {
    const noise = edgesAt(
      Array.from({ length: 4000 }, (_, i) => (i + 0.5) / 4000),
      784.5,
      1,
    )
    // 784.5 samples show up to 700 dots, of 1.12 samples each
    expect(countDots(noise, 784.5, 500, 0, [])).toEqual({ reason: 'not-periodic', edges: 4000 })
    expect(countDots(noise, 783.5, 500, 0, [])).toEqual({ reason: 'sample-rate-too-low', edges: 4000 })
  })
})

describe('samples that stand still', () => {
  it('do so where a frame does not drift off them by half a one', () => {
    const stands = (samplesPerScanline: number, scanlines: number): boolean => {
      const edges = edgesOnGrid(boundaries(300, 20, 280), Math.round(samplesPerScanline))
      const count = countDots(edges, samplesPerScanline, scanlines, 0, [])
      expect(count).toMatchObject({ dotsPerScanline: 300 })
      return 'sampleGridCoheres' in count && count.sampleGridCoheres
    }
    expect(stands(2000 + 1 / 1024, 511)).toBe(true)
    expect(stands(2000 + 1 / 1024, 512)).toBe(false)
    // with more than four to each of the most dots there are, it does not matter
    expect(stands(8192, 512)).toBe(true)
    expect(stands(8193, 512)).toBe(false)
  })

  it('are the dots themselves where nothing coarser explains the edges: 8 to 2048 of them', () => {
    const own = (samples: number): object =>
      countDots(edgesOnGrid(boundaries(samples, 1, samples), samples), samples, 500, 0, [])
    expect(own(2048)).toMatchObject({ dotsPerScanline: 2048, explained: 1, sampleGridCoheres: false })
    expect(own(2049)).toHaveProperty('reason')
    expect(own(8)).toMatchObject({ dotsPerScanline: 8 })
    expect(own(7)).toHaveProperty('reason')
  })

  it('are not where a coarser raster explains the edges, unless the rates say so and it does not divide them', () => {
    const triple = edgesOnGrid(boundaries(882, 120, 840, 3), 882)
    for (const likely of [[], [882], [294], [882, 294], [900]])
      expect(countDots(triple, 882, 500, 0, likely)).toMatchObject({ dotsPerScanline: 294 })
    // text of cells of nine dots, the last of them empty: eight ninths of the dots explain it, if they are to be expected
    const text = edgesOnGrid(
      boundaries(882, 120, 840).filter((_, i) => i % 9 !== 8),
      882,
    )
    const dots = (likely: number[]): object => countDots(text, 882, 500, 0, likely)
    expect(dots([784])).toMatchObject({ dotsPerScanline: 784, sampleGridCoheres: true })
    expect(dots([784, 882])).toMatchObject({ dotsPerScanline: 882, sampleGridCoheres: false })
    expect(dots([882])).toMatchObject({ dotsPerScanline: 882 })
  })
})

describe('fittingCounts', () => {
  const samplesPerScanline = 912 * 3.3

  it('gives those of some counts that explain the edges, rising', () => {
    const edges = edgesOf({ dots: 912, samplesPerScanline, step: 2 })
    expect(fittingCounts(edges, [912, 900, 456, 457], samplesPerScanline, 0)).toEqual([456, 912])
    expect(fittingCounts(edges, [900, 457], samplesPerScanline, 0)).toEqual([])
    expect(fittingCounts([], [456], samplesPerScanline, 0)).toEqual([])
  })

  it('leaves out those whose dots jitter bridges', () => {
    const edges = edgesOf({ dots: 912, samplesPerScanline, step: 2 })
    // 5 * 0.1 dots of 912 and a sample are 0.8 dots, and over one dot of 1824
    const jitter = 0.1 / 912
    expect(fittingCounts(edges, [456, 912, 1824], samplesPerScanline, jitter)).toEqual([456, 912])
    expect(fittingCounts(edges, [456, 912, 1824], samplesPerScanline, 0)).toEqual([456, 912, 1824])
  })
})
