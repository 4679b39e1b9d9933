// Captures that are not a plain whole frame of a named card: dark or bordered pictures, half frames, missing, swapped or
// unnamed wires, one wire for both syncs, wires from inside the card, two modes in one file.

import { describe, expect, it, test } from 'vitest'

import { renderFrame } from '../src/render-frame.ts'
import { drawBus, drawSquareWave } from './support/bystanders.ts'
import {
  captureBytes,
  drawCard,
  drawnArea,
  measureBytes,
  measureCard,
  measureSignal,
  NO_FAULTS,
  noticeCodes,
  STANDARD_IDS,
  wrongDots,
} from './support/measured-card.ts'
import { addChannels, joinSignals, type Signal } from './support/signal.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const rolesOf = (measurement: {
  channels: { name: string; role: string | null }[]
}): Record<string, string | null> =>
  Object.fromEntries(measurement.channels.map(({ name, role }) => [name, role]))

describe('pictures that prove less, or more, than their area', () => {
  test.each([24e6, 100e6])('dots of double width at %d S/s: half the count, the card’s raster', (rate) => {
    const { measurement, main, timing, picture } = measureCard('cga320', 'text-full', rate)
    expect(main.raster).toMatchObject({
      dotsPerScanline: 912,
      pictureDotsPerScanline: 456,
      dotClockFrom: 'measured',
    })
    expect(main.active).toEqual({ ...drawnArea(timing), from: 'measured' })
    expect(wrongDots(measurement, picture)).toBe(0)
  })

  const standards: TimingKey[] = ['mda', 'cga80', 'ega350with366', 'vga480']
  test.each(standards)('%s, dark: everything from the standard', (key) => {
    const { measurement, main, timing, picture } = measureCard(key, 'dark', 50e6)
    expect(main.raster).toMatchObject({
      dotsPerScanline: timing.h.total,
      dotClockFrom: 'standard',
      dotsNotMeasured: 'no-edges',
    })
    expect(main.active).toEqual({ ...drawnArea(timing), from: 'standard' })
    expect(wrongDots(measurement, picture)).toBe(0)
  })

  test.each(standards)('%s, one small block, a border, or blank cells: the standard’s window', (key) => {
    for (const kind of ['nearly-dark', 'border', 'text'] as const) {
      const { measurement, main, timing, picture } = measureCard(key, kind, 50e6)
      expect(main.raster.dotsPerScanline).toBe(timing.h.total)
      expect(main.active, kind).toEqual({ ...drawnArea(timing), from: 'standard' })
      expect(wrongDots(measurement, picture), kind).toBe(0)
    }
  })

  test('a dark picture in no catalogue has no dots and no area', () => {
    const { main } = measureCard('uncatalogued', 'dark', 50e6)
    expect(main).toMatchObject({
      active: null,
      raster: { dotsPerScanline: null, dotClockHz: null, dotClockFrom: null },
    })
    expect(main.raster.scanlinesPerFrame).toBe(560)
  })
})

describe('less than a frame', () => {
  // frames in the capture, where it begins, whether a vsync falls into it
  test.each([
    [0.4, 0.3, false],
    [0.4, 0.8, true],
    [0.9, 0.07, false],
    [0.9, 0.5, true],
  ] as const)('%d of a frame from %d on: no frame rate is invented', (frames, startFrames, hasVsync) => {
    for (const key of ['mda', 'cga80', 'vga480'] as const) {
      const { measurement, main, timing } = measureCard(key, 'dither', 50e6, {
        draw: { frames, startFrames },
      })
      expect(main.wholeFrames).toBe(0)
      expect(main.raster).toMatchObject({ scanlinesPerFrame: null, dotsPerScanline: timing.h.total })
      if (hasVsync) {
        expect(main.vsync).toMatchObject({ frequencyHz: null, polarity: timing.vsyncPolarity })
        expect(main.vsync!.widthScanlines).toBeCloseTo(timing.v.sync, 1)
        expect(main.classification.standard?.id).toBe(STANDARD_IDS[key])
      } else expect(main.vsync).toBeNull()
      expect(main.faults).toEqual(NO_FAULTS)
      expect(noticeCodes(measurement)).toContain('FRAME_NOT_WHOLE')
      expect(renderFrame(measurement)).toMatchObject({ whole: false, widthPixels: timing.h.active })
    }
  })

  test('a vsync that the end cuts off still ends a frame', () => {
    // from 16 scanlines of vsync on: the second one has lasted 7 when the capture ends
    const { main, timing } = measureCard('cga80', 'text', 50e6, {
      draw: { frames: 1.03, startFrames: 0.997 },
    })
    expect(main.wholeFrames).toBe(1)
    expect(main.raster.scanlinesPerFrame).toBe(timing.v.total)
    expect(main.vsync!.widthScanlines).toBeCloseTo(16, 1)
    expect(main.faults).toEqual(NO_FAULTS)
  })

  test('a few scanlines give a rate; fewer pulses than that a clear refusal', () => {
    const { main } = measureCard('cga80', 'dither', 50e6, { draw: { frames: 0.1, startFrames: 0.4 } })
    expect(main.hsync.frequencyHz.value).toBeCloseTo(15_700, -2)
    expect(() => measureCard('cga80', 'dither', 50e6, { draw: { frames: 0.008, startFrames: 0.4 } })).toThrow(
      expect.objectContaining({ code: 'HSYNC_TOO_FEW_EDGES', hint: expect.stringContaining('frame') }),
    )
  })
})

describe('wires', () => {
  test('syncs alone: mode and raster, no picture', () => {
    const { measurement, main } = measureCard('ega200', 'dither', 24e6, {
      draw: { omit: [...TIMINGS.ega200.channels] },
    })
    expect(main.classification.standard?.id).toBe('ega-200')
    expect(main).toMatchObject({ picture: null, raster: { dotsPerScanline: 912, dotClockFrom: 'standard' } })
    expect(() => renderFrame(measurement)).toThrow(expect.objectContaining({ code: 'VIDEO_NOT_FOUND' }))
  })

  test('no sync at all is said, with what to do', () => {
    for (const omit of [['H', 'V'], ['H']]) {
      expect(() => measureCard('ega200', 'text', 24e6, { draw: { omit } })).toThrow(
        expect.objectContaining({ code: 'SYNC_NOT_FOUND', hint: expect.stringContaining('--map hsync=') }),
      )
    }
  })

  test('hsync alone gives scanlines and dots', () => {
    const { main } = measureCard('mda', 'dither', 50e6, { draw: { omit: ['V'] } })
    expect(main).toMatchObject({ vsync: null, raster: { scanlinesPerFrame: null, dotsPerScanline: 882 } })
  })

  test.each(['mda', 'cga80', 'vgaText400'] as const)('%s with its syncs swapped in the labels', (key) => {
    const { measurement, main, timing } = measureCard(key, 'text', 50e6, {
      draw: { rename: { H: 'VSYNC', V: 'HSYNC' } },
    })
    expect(noticeCodes(measurement)).toContain('CHANNEL_NAMES_SWAPPED')
    expect(rolesOf(measurement)).toMatchObject({ VSYNC: 'hsync', HSYNC: 'vsync' })
    expect(main.classification.standard?.id).toBe(STANDARD_IDS[key])
    expect(main.raster.scanlinesPerFrame).toBe(timing.v.total)
  })

  test.each(['mda', 'cga80', 'ega350with364', 'vgaText400', 'uncatalogued'] as const)(
    '%s without names, among clocks and buses',
    (key) => {
      const wires = ['H', 'V', ...TIMINGS[key].channels]
      const rename = Object.fromEntries(wires.map((wire, i) => [wire, `CH${i}`]))
      const { signal, timing, picture } = drawCard(key, 'text-full', { rename })
      const seconds = signal.durationSeconds
      const bystanders = [
        drawSquareWave('X1', 8e6 / 3, seconds),
        drawSquareWave('X2', 14_723, seconds),
        drawBus('addr', 10, 1.1e6, seconds),
        drawBus('nibble', 4, 0.9e6, seconds, 3),
      ]
      const measurement = measureSignal(bystanders.reduce<Signal>(addChannels, signal), 50e6, {
        form: { kind: 'vcd', vectors: true },
      })
      expect(rolesOf(measurement)).toMatchObject({
        CH0: 'hsync',
        CH1: 'vsync',
        X1: null,
        X2: null,
        CH2: null,
      })
      expect(measurement.main.raster.dotsPerScanline).toBe(timing.h.total)
      expect(measurement.main.active).toEqual({ ...drawnArea(timing), from: 'measured' })
      expect(noticeCodes(measurement)).toEqual(
        expect.arrayContaining(['CHANNEL_FOUND_BY_BEHAVIOUR', 'COLOUR_UNNAMED']),
      )
      expect(wrongDots(measurement, picture)).toBe(0)
    },
  )

  test('pin numbers with their connector, and a map over names', () => {
    const rename = { H: 'pin8', V: 'pin9', R: 'pin3', G: 'pin4', B: 'pin5', I: 'pin6' }
    const { signal, picture } = drawCard('cga80', 'text-full', { rename })
    const bytes = captureBytes(signal, 24e6)
    const byPins = measureBytes(bytes, { connector: 'cga' })
    expect(rolesOf(byPins)).toEqual({
      pin8: 'hsync',
      pin9: 'vsync',
      pin3: 'red',
      pin4: 'green',
      pin5: 'blue',
      pin6: 'intensity',
    })
    expect(wrongDots(byPins, picture)).toBe(0)
    const mapped = measureBytes(bytes, { map: [{ role: 'blue', channel: 'pin3' }] })
    expect(rolesOf(mapped)).toMatchObject({ pin3: 'blue', pin8: 'hsync' })
  })
})

describe('one wire for both syncs', () => {
  const cards: TimingKey[] = ['cga80', 'mda', 'vga480', 'uncatalogued', 'interlaced']
  test.each(cards)('%s: xor, or and serrated, of either polarity', (key) => {
    for (const kind of ['xor', 'or', 'serrated'] as const) {
      const polarity = kind === 'or' || key === 'mda' ? 'negative' : 'positive'
      const { measurement, main, timing, signal, picture } = measureCard(key, 'text-full', 50e6, {
        draw: { composite: { kind, polarity } },
      })
      const { value, uncertainty } = main.hsync.frequencyHz
      expect(Math.abs(value - signal.truth.scanlineHz), kind).toBeLessThan(3 * uncertainty)
      const perFrame = timing.v.total * (timing.interlaced === true ? 2 : 1)
      expect(main.raster, kind).toMatchObject({
        scanlinesPerFrame: perFrame,
        dotsPerScanline: timing.h.total,
      })
      expect(main.hsync.polarity).toBe(polarity)
      // what the gate leaves of vsync is short or long of it by a sync pulse
      expect(Math.abs(main.vsync!.widthScanlines - timing.v.sync), kind).toBeLessThan(0.25)
      expect(main.faults, kind).toEqual(NO_FAULTS)
      expect(noticeCodes(measurement)).toContain('SYNC_COMPOSITE')
      expect(wrongDots(measurement, picture), kind).toBe(0)
    }
  })
})

describe('sources with habits', () => {
  test.each(['mda', 'cga80', 'vga480'] as const)('%s: no hsync in vsync is no fault', (key) => {
    const { measurement, main, timing, picture } = measureCard(key, 'text-full', 50e6, {
      draw: { hsyncAbsentInVsync: true, frames: 4.3 },
    })
    expect(noticeCodes(measurement)).toContain('HSYNC_STOPS_IN_VSYNC')
    expect(main.faults).toEqual(NO_FAULTS)
    expect(main.raster.scanlinesPerFrame).toBe(timing.v.total)
    expect(wrongDots(measurement, picture)).toBe(0)
  })

  test('scanlines dropped or shown twice make odd frames, not faults', () => {
    for (const places of [
      [{ frame: 2, scanline: 100 }],
      [
        { frame: 2, scanline: 100 },
        { frame: 3, scanline: 90 },
      ],
    ]) {
      const dropped = measureCard('cga80', 'text', 24e6, { draw: { frames: 6.3, droppedScanlines: places } })
      const doubled = measureCard('cga80', 'text', 24e6, { draw: { frames: 6.3, extraScanlines: places } })
      for (const { main, signal } of [dropped, doubled]) {
        expect(main.faults).toEqual(NO_FAULTS)
        expect(main.raster.scanlinesPerFrame).toBe(262)
        expect(main.oddFrames).toBe(places.length)
        const lengths = main.sync.frames
          .slice(0, main.wholeFrames)
          .map((frame) => Math.round(frame.scanlines))
        expect(lengths).toEqual(signal.truth.wholeFrames.map((frame) => frame.scanlines))
      }
    }
  })
})

describe('wires from inside the card', () => {
  test('display enable gives the area outright, even of a dark picture', () => {
    for (const key of ['mda', 'vga480', 'ega200'] as const) {
      const { measurement, main, timing, picture } = measureCard(key, 'dark', 50e6, {
        draw: { inside: ['DE'] },
      })
      expect(main.active, key).toEqual({ ...drawnArea(timing), from: 'measured' })
      expect(wrongDots(measurement, picture)).toBe(0)
    }
    const { main, timing } = measureCard('uncatalogued', 'text', 50e6, { draw: { inside: ['DE'] } })
    expect(main.active).toEqual({ ...drawnArea(timing), from: 'measured' })
  })

  test('a dot clock gives the dots outright', () => {
    for (const key of ['cga80', 'uncatalogued'] as const) {
      const { main, timing } = measureCard(key, 'rectangle', 100e6, {
        draw: { inside: ['DCLK'], frames: 1.1 },
      })
      expect(main.raster).toMatchObject({ dotsPerScanline: timing.h.total, dotClockFrom: 'measured' })
    }
  })
})

describe('one capture with two modes', () => {
  const silence: Signal = { channels: [], startLevels: [], toggles: [], durationSeconds: 0.004 }

  test.each([
    ['cga80', 'cgaGraphics'],
    ['cga80', 'ega350with366'],
    ['mda', 'mono348'],
    ['vga400', 'vga480'],
    ['ega350with364', 'ega350with366'],
  ] as const)('%s, then %s after a silence', (first, second) => {
    const before = drawCard(first, 'text', { frames: 4.2 })
    const after = drawCard(second, 'text-full', { frames: 5.1 })
    const measurement = measureSignal(joinSignals([before.signal, silence, after.signal]), 50e6)
    expect(measurement.segments.map((segment) => segment.classification.standard?.id)).toEqual([
      STANDARD_IDS[first],
      STANDARD_IDS[second],
    ])
    const [one, two] = measurement.segments
    expect([one!.raster.scanlinesPerFrame, two!.raster.scanlinesPerFrame]).toEqual([
      before.timing.v.total,
      after.timing.v.total,
    ])
    // a change of the vertical timing alone shows at a vsync; anything else within a few scanlines
    const change = before.signal.durationSeconds
    const frame = before.timing.v.total / before.signal.truth.scanlineHz
    expect(one!.endSeconds).toBeGreaterThan(change - frame)
    expect(two!.startSeconds).toBeLessThan(change + silence.durationSeconds + frame)
    expect(one!.scanlines + two!.scanlines).toBeGreaterThan(
      0.99 * (before.signal.truth.scanlineSeconds.length + after.signal.truth.scanlineSeconds.length),
    )
    expect(measurement.main).toBe(
      measurement.segments[two!.endSeconds - two!.startSeconds > one!.endSeconds - one!.startSeconds ? 1 : 0],
    )
    expect(noticeCodes(measurement)).toContain('STRETCH_WITHOUT_SYNC')
  })

  it('changes without a gap between', () => {
    const before = drawCard('cga80', 'text-full', { frames: 3.3 })
    const after = drawCard('cgaGraphics', 'dither', { frames: 4.1 })
    const measurement = measureSignal(joinSignals([before.signal, after.signal]), 50e6)
    const widths = measurement.segments.map((segment) =>
      Math.round(segment.hsync.widthSeconds.value * TIMINGS.cga80.dotClockHz),
    )
    expect(widths).toEqual([80, 160])
    expect(wrongDots(measurement, after.picture)).toBe(0)
    expect(noticeCodes(measurement)).not.toContain('STRETCH_WITHOUT_SYNC')
  })
})
