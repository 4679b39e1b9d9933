// Draw a picture, capture it, rebuild it: the same dots. From 1.45 samples per dot on, however the card's wires are
// skewed, whatever rings on hsync, and wherever in the frame and between two samples the capture begins.

import { describe, expect, test } from 'vitest'

import { renderFrame } from '../src/render-frame.ts'
import { measureCard, NO_FAULTS, PLAIN_TIMINGS, wrongDots } from './support/measured-card.ts'
import type { PictureKind } from './support/pictures.ts'
import { newRandom } from './support/random.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const KINDS: PictureKind[] = ['dither', 'text-full', 'checkerboard']
const KEYS: TimingKey[] = [...PLAIN_TIMINGS, 'cga320']
/** Exactly the least that is promised, a ratio of small numbers, and one that is neither. */
const SAMPLES_PER_DOT = [1.45, 1.6, 2.37]

const skewOf = (key: TimingKey): Record<string, number> =>
  Object.fromEntries(TIMINGS[key].channels.map((name, i) => [name, ((i % 3) - 1) * 5e-9]))

describe.each(SAMPLES_PER_DOT)('at %d samples per dot', (samplesPerDot) => {
  test.each(KEYS)('%s: every dot, with skew and ringing', (key) => {
    const random = newRandom(KEYS.indexOf(key) * 100 + Math.round(samplesPerDot * 10))
    const rate = TIMINGS[key].dotClockHz * samplesPerDot
    const { measurement, main, picture, signal } = measureCard(key, KINDS[random.below(3)]!, rate, {
      draw: {
        startFrames: random.uniform(),
        dotClockErrorPpm: 100 * (random.uniform() - 0.5),
        seed: 1 + random.below(1000),
        skewSeconds: skewOf(key),
        ringing: { delaySeconds: 160e-9, widthSeconds: 2.2 / rate, probability: 0.4 },
      },
      instrument: { phase: random.uniform() },
      form: { kind: 'vcd', timescale: '100 ps' },
    })
    expect(wrongDots(measurement, picture)).toBe(0)
    // ringing in the scanline that the capture begins or ends in may or may not be seen
    const { extra, ...others } = main.faults
    expect(Math.abs(extra - signal.truth.defects.length)).toBeLessThanOrEqual(1)
    expect({ ...others, extra: 0 }).toEqual(NO_FAULTS)
  })
})

describe('interlaced', () => {
  test.each([0.1, 0.4, 0.6, 0.9])('two fields make the frame, from %d of a frame on', (startFrames) => {
    // no listed timing says how wide the picture is, so it must touch its own edges, as text does not
    for (const kind of KINDS.filter((one) => one !== 'text-full')) {
      const { measurement, main, picture } = measureCard('interlaced', kind, 50e6, { draw: { startFrames } })
      expect(main.raster).toMatchObject({ scanlinesPerFrame: 525, interlaced: true, dotsPerScanline: 912 })
      expect(main.active).toMatchObject({
        dots: 640,
        scanlines: 400,
        vBackPorchScanlines: 35,
        vFrontPorchScanlines: 24.5,
      })
      expect(wrongDots(measurement, picture)).toBe(0)
    }
  })
})

describe('rendering', () => {
  test('a wanted frame later in the capture', () => {
    const { measurement, picture } = measureCard('cga80', 'text-full', 24e6, {
      draw: { frames: 5.3 },
      measure: { frames: { first: 3, count: 2 } },
    })
    expect(renderFrame(measurement, { frame: 3 })).toMatchObject({ frame: 3, whole: true })
    expect(wrongDots(measurement, picture)).toBe(0)
    expect(() => renderFrame(measurement, { frame: 17 })).toThrow(
      expect.objectContaining({ code: 'FRAME_NOT_FOUND' }),
    )
  })

  test('the full raster holds the picture where the porches say', () => {
    const { measurement, main, picture, timing } = measureCard('mda', 'text-full', 50e6)
    const frame = renderFrame(measurement, { fullRaster: true })
    expect([frame.widthPixels, frame.heightPixels]).toEqual([882, 370])
    const left = timing.h.sync + main.active!.hBackPorchDots
    const top = timing.v.sync + main.active!.vBackPorchScanlines!
    for (const [x, y] of [
      [0, 0],
      [719, 349],
      [360, 175],
    ] as const) {
      expect(frame.codes[(top + y) * 882 + left + x]).toBe(picture.codes[y * 720 + x])
    }
    // row 0 lies in vsync: all of it has the first code after those of the two channels, the tint of sync
    expect(frame.codes.subarray(0, 882).every((code) => code === 4)).toBe(true)
    // between hsync and the picture is the tint of the porches
    expect(frame.codes[top * 882 + left - 1]).toBe(5)
    expect([...frame.palette.entries.subarray(12, 18)]).not.toEqual([...frame.palette.entries.subarray(0, 6)])
  })

  test('a capture without colours has nothing to draw', () => {
    const { measurement } = measureCard('cga80', 'text', 24e6, { draw: { omit: ['R', 'G', 'B', 'I'] } })
    expect(() => renderFrame(measurement)).toThrow(expect.objectContaining({ code: 'VIDEO_NOT_FOUND' }))
    expect(() => renderFrame(measurement, { segment: 4 })).toThrow(
      expect.objectContaining({ code: 'SEGMENT_NOT_FOUND' }),
    )
  })
})
