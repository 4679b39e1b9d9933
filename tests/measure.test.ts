// The whole flow against drawn cards: every timing at every sample rate that can show its dots, in both formats. What a
// card's timing is comes from tests/support/timings.ts, which shares nothing with the catalogue.

import { describe, expect, it, test } from 'vitest'

import {
  drawnArea,
  measureCard,
  NO_FAULTS,
  noticeCodes,
  PLAIN_TIMINGS,
  STANDARD_IDS,
  wrongDots,
  type MeasuredCard,
} from './support/measured-card.ts'
import { newRandom, pick } from './support/random.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'
import type { CaptureForm } from './support/write-capture.ts'

const RATES = [24e6, 50e6, 100e6, 400e6]
/** Below about one sample per dot nothing tells the dots. */
const LEAST_SAMPLES_PER_DOT = 1.12

const FORMS: CaptureForm[] = [{ kind: 'vcd' }, { kind: 'csv', rows: 'per-change' }]

const matrix = PLAIN_TIMINGS.flatMap((key) =>
  RATES.filter((rate) => rate / TIMINGS[key].dotClockHz >= LEAST_SAMPLES_PER_DOT).flatMap((rate) =>
    FORMS.map((form) => ({ key, rate, form, name: TIMINGS[key].name, mhz: rate / 1e6, file: form.kind })),
  ),
)

function expectRates({ timing, signal, main }: MeasuredCard): void {
  const { value, uncertainty } = main.hsync.frequencyHz
  expect(Math.abs(value / signal.truth.scanlineHz - 1)).toBeLessThan(5e-6)
  expect(Math.abs(value - signal.truth.scanlineHz)).toBeLessThan(3 * uncertainty)
  expect(main.hsync.polarity).toBe(timing.hsyncPolarity)
  expect(main.vsync?.polarity).toBe(timing.vsyncPolarity)
  expect(main.raster.scanlinesPerFrame).toBe(timing.v.total)
  expect(main.vsync?.widthScanlines).toBeCloseTo(timing.v.sync, 1)
  const width = main.hsync.widthSeconds
  expect(Math.abs(width.value - timing.h.sync / signal.truth.dotClockHz)).toBeLessThan(3 * width.uncertainty)
}

describe.each(matrix)('$name at $mhz MS/s as $file', ({ key, rate, form }) => {
  // the two formats show two pictures that touch every edge of the active area
  const kind = form.kind === 'vcd' ? 'dither' : 'text-full'

  test('mode, rates, raster, active area and faults', () => {
    const card = measureCard(key, kind, rate, { form })
    const { main, timing, measurement } = card
    expect(main.classification.standard?.id ?? null).toBe(STANDARD_IDS[key])
    expectRates(card)
    expect(main.raster).toMatchObject({ dotsPerScanline: timing.h.total, dotClockFrom: 'measured' })
    expect(main.active).toEqual({ ...drawnArea(timing), from: 'measured' })
    expect(main.faults).toEqual(NO_FAULTS)
    expect(measurement.segments).toHaveLength(1)
    expect(main.wholeFrames).toBe(1)
    // 2.5 ns rounded to 1 ns ticks leave no grid to see
    if (rate < 400e6) expect(measurement.sampleIntervalSeconds).toBeCloseTo(1 / rate, 13)
    else expect(measurement.sampleIntervalSeconds).toBeNull()
  })
})

describe('a picture that only outlines its area', () => {
  test.each(['mda', 'cga80', 'ega350with364', 'vga480'] as const)('%s: proves the area', (key) => {
    const { main, timing, measurement, picture } = measureCard(key, 'rectangle', 50e6)
    expect(main.active).toEqual({ ...drawnArea(timing), from: 'measured' })
    expect(main.raster).toMatchObject({ dotsPerScanline: timing.h.total, dotClockFrom: 'standard' })
    expect(wrongDots(measurement, picture)).toBe(0)
  })

  test('proves no dots where no standard knows them', () => {
    const { main } = measureCard('uncatalogued', 'rectangle', 100e6)
    expect(main.raster).toMatchObject({
      dotsPerScanline: null,
      dotClockHz: null,
      dotsNotMeasured: 'few-places',
    })
    expect(main.active).toBeNull()
  })
})

describe('the instrument’s own sample grid', () => {
  // 864 dots of 16.000 MHz: a scanline is 54 us, a whole number of samples at each of these rates
  it.each([24e6, 32e6, 40e6, 48e6])('is not taken for the dot clock: 16.000 MHz at %d S/s', (rate) => {
    for (const kind of ['dither', 'text', 'text-full'] as const) {
      const { main, measurement, picture } = measureCard('mono348', kind, rate, {
        draw: { dotClockErrorPpm: 0 },
      })
      expect(main.raster.samplesPerDot! * 864).toBeCloseTo((rate * 54) / 1e6, 3)
      expect(main.raster).toMatchObject({ dotsPerScanline: 864, dotClockFrom: 'measured' })
      expect(noticeCodes(measurement)).toContain('SAMPLE_GRID_COHERES')
      expect(wrongDots(measurement, picture)).toBe(0)
    }
  })

  it('is the dot clock where the capture was taken with it', () => {
    for (const key of ['mda', 'cga80', 'vgaText400', 'uncatalogued'] as const) {
      const { dotClockHz, h } = TIMINGS[key]
      const { main, measurement, picture } = measureCard(key, 'text-full', dotClockHz, {
        draw: { dotClockErrorPpm: 0 },
        form: { kind: 'vcd', timescale: '1 ps' },
      })
      expect(main.raster.dotsPerScanline).toBe(h.total)
      expect(wrongDots(measurement, picture)).toBe(0)
    }
  })

  it('hides behind dots that lie on ticks: 1 GS/s in 1 ns ticks', () => {
    const { main, measurement } = measureCard('vga480', 'text-full', 1e9)
    expect(measurement.sampleIntervalSeconds).toBeNull()
    expect(main.raster.dotsPerScanline).toBe(800)
    expect(main.hsync.widthSeconds.uncertainty).toBeLessThan(2e-9)
  })
})

describe('dots that are shorter than a sample', () => {
  it('25.175 MHz at 24 MS/s: the standard’s value, marked', () => {
    for (const kind of ['dither', 'text-full', 'text'] as const) {
      const { main, timing, measurement } = measureCard('vga480', kind, 24e6)
      expect(main.classification.standard?.id).toBe('vga-480-60')
      expect(main.raster).toMatchObject({
        dotsPerScanline: 800,
        dotClockFrom: 'standard',
        dotsNotMeasured: 'sample-rate-too-low',
        pictureDotsPerScanline: null,
      })
      expect(main.raster.dotClockHz!.value).toBeCloseTo(timing.dotClockHz * (1 + 17e-6), -2)
      expect(main.active).toEqual({ ...drawnArea(timing), from: 'standard' })
      expect(noticeCodes(measurement)).toContain('DOT_CLOCK_NOT_MEASURABLE')
    }
  })

  // 800 dots of 25.175 MHz and 900 of 28.322 MHz last the same to 5 ppm
  it.each(['vga400', 'vgaText400'] as const)('%s at 24 MS/s: two modes that cannot be told apart', (key) => {
    const { main, measurement } = measureCard(key, 'text-full', 24e6)
    const { standard, alternatives, familyNote } = main.classification
    expect([standard!.id, ...alternatives.map(({ id }) => id)].slice(0, 2).sort()).toEqual([
      'vga-400-70',
      'vga-text-400-70',
    ])
    expect(familyNote).toMatch(/dots per scanline/i)
    expect(main.raster.dotClockFrom).toBe('standard')
    expect(noticeCodes(measurement)).toContain('DOT_CLOCK_NOT_MEASURABLE')
  })
})

describe('uncertainties', () => {
  it('hold about two thirds of all errors, and nearly all threefold', () => {
    const random = newRandom(20)
    let inside = 0
    let far = 0
    const captures = 60
    for (let i = 0; i < captures; i++) {
      const keys = PLAIN_TIMINGS as TimingKey[]
      const { main, signal } = measureCard(pick(random, keys), 'dark', 24e6 + random.below(80) * 1e6, {
        draw: {
          frames: 1.2 + random.uniform(),
          startFrames: random.uniform(),
          dotClockErrorPpm: 200 * (random.uniform() - 0.5),
          hsyncJitterSeconds: 3e-9,
          seed: 1 + random.below(1e6),
        },
        instrument: { phase: random.uniform() },
      })
      const { value, uncertainty } = main.hsync.frequencyHz
      const off = Math.abs(value - signal.truth.scanlineHz) / uncertainty
      if (off < 1) inside++
      if (off > 3) far++
    }
    // binomial, p = 0.68 and 0.003, four standard deviations of 60 trials
    expect(inside).toBeGreaterThan(27)
    expect(inside).toBeLessThan(56)
    expect(far).toBeLessThan(3)
  })
})
