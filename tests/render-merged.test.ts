// Below one sample per dot: several frames of a still picture, sampled by a clock that runs free of the card's, give
// every dot, and what they do not give is said. Held against the drawn picture, dot for dot.

import { describe, expect, test, vi } from 'vitest'

import { renderMerged } from '../src/render-merged.ts'
import type { DrawnSignal } from './support/draw-signal.ts'
import { drawCard, measureSignal } from './support/measured-card.ts'
import { measureForMerge, merged, wrongIn } from './support/merged-card.ts'
import type { PictureKind } from './support/pictures.ts'
import { newRandom, type Random } from './support/random.ts'
import { TIMINGS } from './support/timings.ts'

/** Standard deviation of the drawn jitter. */
const JITTER_SECONDS = 2e-9
const KINDS: PictureKind[] = ['border', 'dither', 'checkerboard']

vi.setConfig({ testTimeout: 60_000 })

/** Every edge of every wire by itself. */
function withEdgeJitter(signal: DrawnSignal, sigmaSeconds: number, random: Random): DrawnSignal {
  const toggles = signal.toggles.map((times) =>
    times.map((time) => Math.max(0, time + sigmaSeconds * random.gaussian())).sort(),
  )
  return { ...signal, toggles }
}

/** Largest stretch of a sample interval in which none of so many frames is sampled; worked out from what was drawn. */
function largestGap(signal: DrawnSignal, frames: number, trueRateHz: number): number {
  const step = trueRateHz / signal.truth.frameHz
  const phases = Array.from({ length: frames }, (_, frame) => (frame * step) % 1).sort((a, b) => a - b)
  return Math.max(phases[0]! + 1 - phases.at(-1)!, ...phases.slice(1).map((phase, i) => phase - phases[i]!))
}

/** What a sample must be off both edges of a dot: 4.5 sigma of jitter, and a hundredth of the dot. */
const neededGap = (sampleRateHz: number, dotClockHz: number): number =>
  sampleRateHz * (0.976 / dotClockHz - 9 * JITTER_SECONDS)

describe.each([
  { key: 'mda', sampleRateHz: 12e6, frames: 8, dots: 882 },
  { key: 'cga80', sampleRateHz: 10e6, frames: 10, dots: 912 },
] as const)(
  '$key, $frames frames at $sampleRateHz samples per second',
  ({ key, sampleRateHz, frames, dots }) => {
    const random = newRandom(dots)
    const timing = TIMINGS[key]
    const skewSeconds = { [timing.channels[0]!]: 5e-9, [timing.channels[1]!]: -5e-9 }

    test.each(KINDS)('every dot of %s, whatever the clocks and the start', (kind) => {
      const { picture, signal } = drawCard(key, kind, {
        frames,
        startFrames: random.uniform(),
        skewSeconds,
        cardJitterSeconds: kind === 'dither' ? 0 : JITTER_SECONDS,
        seed: 1 + random.below(1000),
      })
      const jittered = kind === 'dither' ? withEdgeJitter(signal, JITTER_SECONDS, random) : signal
      // clocks so nearly in step that so few frames cannot do are looked at below
      let clockErrorPpm: number
      do clockErrorPpm = 200 * (random.uniform() - 0.5)
      while (
        largestGap(signal, frames - 1, sampleRateHz * (1 + clockErrorPpm * 1e-6)) >
        0.95 * neededGap(sampleRateHz, timing.dotClockHz)
      )
      const frame = merged(jittered, sampleRateHz, { phase: random.uniform(), clockErrorPpm })
      expect([wrongIn(frame, picture), frame.dotsWithoutSample, frame.dotsInDispute]).toEqual([0, 0, 0])
      const { merge } = frame
      expect(merge).toMatchObject({
        dotsPerScanline: dots,
        dotClockFrom: 'measured',
        moreFrames: 0,
        parts: [],
      })
      const { value, uncertainty } = merge!.dotClockHz
      const seenHz = signal.truth.dotClockHz / (1 + clockErrorPpm * 1e-6)
      expect(Math.abs(value - seenHz)).toBeLessThan(4 * uncertainty)
      expect(merge!.jitterSeconds / JITTER_SECONDS).toBeGreaterThan(0.8)
      expect(merge!.jitterSeconds / JITTER_SECONDS).toBeLessThan(1.2)
    })
  },
)

describe('too few frames', () => {
  const { signal, picture } = drawCard('mda', 'text-full', { frames: 9.2, startFrames: 0.9, seed: 5 })
  // about an eighth of a sample from frame to frame: five frames or six go round
  const measurement = measureForMerge(signal, 12e6, { phase: 0.3, clockErrorPpm: -72.85 })

  test.each([1, 2, 4])('%i: says how many dots are undetermined, and how many more frames do', (frames) => {
    const frame = renderMerged(measurement, { frames })
    const { merge } = frame
    expect(merge!.frames).toBe(frames)
    expect(frame.dotsWithoutSample).toBeGreaterThan(1000)
    expect(frame.dotsInDispute).toBe(0)
    // what is not said to be undetermined is right
    expect(wrongIn(frame, picture)).toBeLessThanOrEqual(frame.dotsWithoutSample)
    expect(merge!.moreFrames).toBeGreaterThan(0)
    expect(merge!.moreFrames).toBeLessThanOrEqual(8 - frames)
    const enough = renderMerged(measurement, { frames: frames + merge!.moreFrames! })
    expect([wrongIn(enough, picture), enough.dotsWithoutSample]).toEqual([0, 0])
  })
})

describe("an instrument whose clock is the card's", () => {
  test('the same dots are met in every frame, and it is said', () => {
    const { signal, picture } = drawCard('cga80', 'text-full', { frames: 6.2, dotClockErrorPpm: 0 })
    const frame = merged(signal, (TIMINGS.cga80.dotClockHz * 2) / 3)
    expect(frame.merge).toMatchObject({
      sampleGridMoves: false,
      moreFrames: null,
      dotsPerScanline: 912,
      dotClockFrom: 'standard',
      parts: [],
    })
    expect(Math.abs(frame.merge!.frameStepSamples.value)).toBeLessThan(1e-3)
    expect(frame.dotsWithoutSample).toBeGreaterThan(10_000)
    expect(wrongIn(frame, picture)).toBeLessThanOrEqual(frame.dotsWithoutSample)
  })

  test('two places in turn are no more than two frames', () => {
    const perFrame = 912 * 262
    const { signal } = drawCard('cga80', 'text-full', { frames: 6.2, dotClockErrorPpm: 0 })
    const frame = merged(signal, (TIMINGS.cga80.dotClockHz * (Math.round(perFrame / 1.5) + 0.5)) / perFrame)
    expect(frame.merge).toMatchObject({ sampleGridMoves: false, moreFrames: null, dotsPerScanline: 912 })
    expect(frame.dotsInDispute).toBe(0)
  })
})

describe('the count of dots', () => {
  test('of a mode in no catalogue is measured at 0.72 samples per dot', () => {
    const timing = TIMINGS.uncatalogued
    const { signal, picture } = drawCard('uncatalogued', 'text-full', { frames: 8.2 })
    const frame = merged(signal, 0.72 * timing.dotClockHz, { clockErrorPpm: 31 })
    expect(frame.merge).toMatchObject({ dotsPerScanline: timing.h.total, dotClockFrom: 'measured' })
    expect(wrongIn(frame, picture)).toBe(0)
  })

  test('is measured at a quarter of a sample per dot, with frames enough', () => {
    const { signal, picture } = drawCard('mda', 'text', { frames: 24.2 })
    const frame = merged(signal, 4e6, { clockErrorPpm: 12 })
    expect(frame.merge).toMatchObject({ dotsPerScanline: 882, dotClockFrom: 'measured' })
    expect(wrongIn(frame, picture)).toBe(0)
  })

  test('that the picture does not prove is assumed, and others that fit are told', () => {
    const { signal, picture } = drawCard('mda', 'nearly-dark', { frames: 8.2 })
    const { merge, ...frame } = merged(signal, 12e6, { clockErrorPpm: 12 })
    expect(merge).toMatchObject({ dotsPerScanline: 882, dotClockFrom: 'standard' })
    expect(merge!.otherDotsPerScanline).toEqual(expect.arrayContaining([881, 883]))
    expect(wrongIn({ merge, ...frame }, picture)).toBe(0)
  })
})

test('fields of an interlaced picture are merged each by itself', () => {
  const { signal, picture } = drawCard('interlaced', 'text-full', { frames: 8.2, startFrames: 0.3 })
  const frame = merged(signal, 10e6, { clockErrorPpm: 12 })
  expect([frame.dotsWithoutSample, wrongIn(frame, picture)]).toEqual([0, 0])
})

test('enough samples per dot: one frame tells as much as several', () => {
  const { signal, picture } = drawCard('cga80', 'dither', { frames: 2.4 })
  expect(wrongIn(merged(signal, 24e6, { clockErrorPpm: 12 }), picture)).toBe(0)
  // more than are needed are thinned out
  expect(wrongIn(merged(signal, 100e6, { clockErrorPpm: 12 }), picture)).toBe(0)
})

describe('what cannot be merged', () => {
  test('a capture without a whole frame', () => {
    const { signal } = drawCard('cga80', 'text', { frames: 0.8 })
    expect(() => merged(signal, 10e6)).toThrow(expect.objectContaining({ code: 'FRAME_NOT_FOUND' }))
  })

  test('a capture of which no signal was kept', () => {
    const { signal } = drawCard('cga80', 'text')
    expect(() => renderMerged(measureSignal(signal, 10e6))).toThrow(
      expect.objectContaining({ code: 'FRAME_NOT_FOUND' }),
    )
  })

  test('a capture without colours', () => {
    const { signal } = drawCard('cga80', 'text', { frames: 3.2, omit: ['R', 'G', 'B', 'I'] })
    expect(() => merged(signal, 10e6)).toThrow(expect.objectContaining({ code: 'FRAME_NOT_FOUND' }))
  })
})
