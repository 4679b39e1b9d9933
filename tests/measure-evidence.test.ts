// Captures that show little: what is still right in the answer, and whether what is missing is said.

import { describe, expect, it, test } from 'vitest'

import { NO_INK } from '../src/report/ink.ts'
import { identifyReport } from '../src/report/identify-report.ts'
import { identifySchema } from '../src/report/identify-schema.ts'
import { identifyText } from '../src/report/identify-text.ts'
import type { CaptureMeasurement } from '../src/measure.ts'
import { PictureWithoutSyncError } from '../src/sync/picture-period.ts'
import { drawCard, measureCard, measureSignal, STANDARD_IDS } from './support/measured-card.ts'
import { drawPicture } from './support/pictures.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const missingIn = (measurement: CaptureMeasurement): string[] =>
  identifySchema
    .parse(identifyReport(measurement, 'a.vcd'))
    .main.missing.map(({ what }) => what)
    .sort()
const textOf = (measurement: CaptureMeasurement): string =>
  identifyText(measurement, 'a.vcd', NO_INK).replace(/\s+/g, ' ')

describe('pictures of little', () => {
  const cards: TimingKey[] = ['mda', 'cga80', 'ega350with366']
  test.each(cards)(
    '%s: a few letters, one cursor, one colour: the mode, less sure than of a full screen',
    (key) => {
      const full = measureCard(key, 'text-full', 24e6).main.classification.standard!
      for (const kind of ['few-letters', 'cursor', 'one-colour'] as const) {
        const { main, measurement, timing } = measureCard(key, kind, 24e6)
        const { standard } = main.classification
        expect(standard?.id, kind).toBe(STANDARD_IDS[key])
        expect(main.raster.dotsPerScanline, kind).toBe(timing.h.total)
        expect(standard!.confidence, kind).toBeLessThanOrEqual(full.confidence)
        if (kind !== 'cursor') continue
        expect(missingIn(measurement)).toEqual(['active-area', 'dots'])
        expect(textOf(measurement)).toMatch(
          /too few places in the scanline to count dots|often enough to count dots/,
        )
      }
    },
  )

  test('a cursor that is off in the frames that are kept', () => {
    const dark = drawPicture('dark', TIMINGS.cga80)
    const { main, measurement } = measureCard('cga80', 'cursor', 24e6, {
      draw: { frames: 6.2, otherPicture: { picture: dark, isShown: (frame) => frame < 4 } },
    })
    expect(main.classification.standard?.id).toBe('cga-200')
    expect(missingIn(measurement)).toContain('dots')
  })
})

describe('wires that are not probed', () => {
  const syncOnly = (key: TimingKey, more: string[] = []) => [...TIMINGS[key].channels, ...more]

  test('syncs alone of a 400-line VGA: one family, both names', () => {
    const { main, measurement } = measureCard('vga400', 'dark', 50e6, { draw: { omit: syncOnly('vga400') } })
    const { family, familyConfidence, standard } = main.classification
    expect(family.map(({ id }) => id).sort()).toEqual(['vga-400-70', 'vga-text-400-70'])
    expect(familyConfidence).toBeGreaterThan(standard!.confidence + 0.3)
    expect(missingIn(measurement)).toEqual(['dots', 'picture'])
    expect(textOf(measurement)).toMatch(
      /^VGA .*(640x400 at 70 Hz or VGA text 720x400|720x400 at 70 Hz or VGA 640x400).* one timing family/,
    )
  })

  test('hsync alone: its rate, no confident mode, and vsync called for', () => {
    for (const key of ['mda', 'cga80', 'vga480'] as const) {
      const { main, measurement, signal } = measureCard(key, 'dark', 24e6, {
        draw: { omit: syncOnly(key, ['V']) },
      })
      const { value, uncertainty } = main.hsync.frequencyHz
      expect(Math.abs(value - signal.truth.scanlineHz)).toBeLessThan(3.5 * uncertainty)
      const { standard, family, noneConfidence, familyConfidence } = main.classification
      for (const sure of [standard?.confidence ?? 0, noneConfidence, familyConfidence])
        expect(sure, key).toBeLessThan(0.9)
      expect(
        family.map(({ id }) => id),
        key,
      ).toContain(STANDARD_IDS[key])
      expect(missingIn(measurement)).toEqual(expect.arrayContaining(['dots', 'vsync']))
      expect(textOf(measurement)).toContain('no channel carries vsync')
    }
  })

  test('csync alone: rates and scanlines, and no polarity called inverted', () => {
    for (const key of ['mda', 'cga80', 'ega350with366'] as const) {
      const { main, measurement } = measureCard(key, 'dark', 24e6, {
        draw: { omit: syncOnly(key), composite: { kind: 'xor', polarity: 'positive' } },
      })
      expect(main.classification.standard?.id).toBe(STANDARD_IDS[key])
      expect(main.raster.scanlinesPerFrame).toBe(TIMINGS[key].v.total)
      expect(missingIn(measurement)).toEqual(['dots', 'picture', 'polarity'])
      expect(textOf(measurement)).not.toContain('inverted')
    }
  })
})

describe('less than two vsyncs', () => {
  test('none, or one: no frame rate, and it is said', () => {
    for (const [startFrames, what] of [
      [0.3, 'vsync'],
      [0.8, 'frame'],
    ] as const) {
      const { measurement, main } = measureCard('cga80', 'text-full', 24e6, {
        draw: { frames: 0.4, startFrames },
      })
      expect(missingIn(measurement)).toContain(what)
      expect(main.classification.standard?.id).toBe('cga-200')
      expect(main.classification.standard!.confidence).toBeLessThan(0.9)
    }
  })

  test('and in no catalogue: the height is what was captured, and it is said', () => {
    const { measurement, main } = measureCard('uncatalogued', 'text-full', 100e6, { draw: { frames: 0.8 } })
    expect(main.classification.standard).toBeNull()
    expect(missingIn(measurement)).toEqual(['active-height', 'frame'])
    expect(textOf(measurement)).toContain(
      `the height of ${main.active!.scanlines} scanlines is that of what was`,
    )
  })
})

test('an invented interlaced timing at the rate of a listed one is none of the known', () => {
  for (const kind of ['text-full', 'text', 'dark'] as const) {
    const { main, measurement } = measureCard('interlaced', kind, 50e6)
    expect(main.classification.standard, kind).toBeNull()
    expect(main.classification.nearest.id).toBe('cga-200')
    expect(textOf(measurement)).toContain('scan: interlaced instead of progressive')
  }
})

describe('colours alone', () => {
  const provedBy = (key: TimingKey, ...[kind, sampleRateHz]: [Parameters<typeof drawCard>[1], number]) => {
    const { signal } = drawCard(key, kind, { omit: ['H', 'V'] })
    try {
      measureSignal(signal, sampleRateHz)
    } catch (error) {
      return { error, periodSeconds: 1 / signal.truth.scanlineHz }
    }
    throw new Error('measured without sync')
  }

  test('uprights of a picture prove the scanline period, and nothing is named from it', () => {
    for (const key of ['mda', 'cga80', 'ega350with366'] as const) {
      for (const kind of ['one-colour', 'border'] as const) {
        const { error, periodSeconds } = provedBy(key, kind, 48e6)
        expect(error, `${key} ${kind}`).toBeInstanceOf(PictureWithoutSyncError)
        const { scanlinePeriodSeconds, code, message } = error as PictureWithoutSyncError
        expect(code).toBe('SYNC_NOT_FOUND')
        expect(message).toMatch(/edges of the picture repeat every .* no mode is named/)
        const { value, uncertainty } = scanlinePeriodSeconds
        expect(Math.abs(value - periodSeconds), `${key} ${kind}`).toBeLessThan(3 * uncertainty)
        expect(uncertainty / periodSeconds).toBeLessThan(1e-3)
      }
    }
  })

  it('says nothing of a period where dots are scattered, even, or almost none', () => {
    for (const kind of ['dither', 'checkerboard', 'cursor', 'dark'] as const) {
      const { error } = provedBy('cga80', kind, 24e6)
      expect(error, kind).not.toBeInstanceOf(PictureWithoutSyncError)
      expect(error, kind).toMatchObject({
        code: expect.stringMatching(/SYNC_NOT_FOUND|CAPTURE_NO_TRANSITIONS/),
      })
    }
  })
})
