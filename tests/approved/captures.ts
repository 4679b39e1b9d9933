// Small captures that between them lead through most of the measuring core: good and bad sync, one wire and two, dots that
// show and dots that do not, clocks that are clean and clocks that are not.

import type { MeasureOptions } from '../../src/measure.ts'
import { addChannels, joinSignals, type Signal } from '../support/signal.ts'
import { drawBus, drawPwm, drawSquareWave } from '../support/bystanders.ts'
import type { DrawOptions } from '../support/draw-signal.ts'
import { captureBytes, drawCard } from '../support/measured-card.ts'
import type { PictureKind } from '../support/pictures.ts'
import { playFrames } from '../support/play-frames.ts'
import type { Instrument } from '../support/sample-signal.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'
import type { CaptureForm } from '../support/write-capture.ts'
import { writeScopeCsv } from '../support/write-scope-csv.ts'

export interface ApprovedCapture {
  bytes: () => Uint8Array
  measure?: MeasureOptions
  /** Merge all frames, too. */
  merged?: boolean
}

/** Syncs without a picture: many scanlines for little time. */
function syncs(
  key: TimingKey,
  sampleRateHz: number,
  draw: Partial<DrawOptions>,
  instrument: Partial<Instrument> = {},
  form: CaptureForm = { kind: 'vcd' },
): ApprovedCapture {
  const omit = [...TIMINGS[key].channels]
  return {
    bytes: () =>
      captureBytes(drawCard(key, 'dark', { frames: 4.2, omit, ...draw }).signal, sampleRateHz, {
        instrument,
        form,
      }),
  }
}

function card(
  key: TimingKey,
  kind: PictureKind,
  sampleRateHz: number,
  draw: Partial<DrawOptions> = {},
  form: CaptureForm = { kind: 'vcd' },
): ApprovedCapture {
  return { bytes: () => captureBytes(drawCard(key, kind, draw).signal, sampleRateHz, { form }) }
}

const merging = (one: ApprovedCapture): ApprovedCapture => ({ ...one, merged: true })

const FAULTS: Partial<DrawOptions> = {
  frames: 3.2,
  hsyncJitterSeconds: 4e-9,
  missingHsync: [
    { frame: 1, scanline: 40 },
    { frame: 2, scanline: 9 },
  ],
  shiftedHsync: [
    { frame: 1, scanline: 90, seconds: 0.9e-6 },
    { frame: 2, scanline: 91, seconds: -0.7e-6 },
  ],
  resizedHsync: [
    { frame: 1, scanline: 120, seconds: -1.4e-6 },
    { frame: 2, scanline: 121, seconds: 1.1e-6 },
  ],
  spikes: [
    { channel: 'H', at: { frame: 1, scanline: 60, dot: 411 }, widthSeconds: 0.3e-6 },
    { channel: 'H', at: { frame: 2, scanline: 61, dot: 150 }, widthSeconds: 1.2e-6 },
    { channel: 'V', at: { frame: 1, scanline: 70, dot: 300 }, widthSeconds: 0.5e-6 },
    { channel: 'V', at: { frame: 2, scanline: 20, dot: 10 }, widthSeconds: 90e-6 },
  ],
}

/** A picture whose lower part moves while another part blinks. */
function moving(): Signal {
  const draw = { frames: 9.2, seed: 3 }
  const still = drawCard('cga80', 'text', draw).signal
  const other = drawCard('cga80', 'few-letters', draw).signal
  return playFrames([still, other], (stretch) => (stretch % 4 === 2 ? 1 : 0))
}

/** Channels without names, strangers among them. */
function unnamed(): Signal {
  const { signal } = drawCard('mda', 'text', {
    rename: { H: 'D0', V: 'D1', video: 'D2', I: 'D3' },
  })
  const { durationSeconds } = signal
  return addChannels(
    addChannels(signal, drawSquareWave('D4', 32_768, durationSeconds)),
    addChannels(drawPwm('D5', 22_000, 0.2, durationSeconds), drawBus('D6', 2, 3.1e5, durationSeconds)),
  )
}

function threeModes(): Signal {
  const omitted = (key: TimingKey): string[] => [...TIMINGS[key].channels]
  return joinSignals([
    drawCard('cga80', 'dark', { frames: 3.2, omit: omitted('cga80') }).signal,
    { channels: [], startLevels: [], toggles: [], durationSeconds: 0.004 },
    drawCard('mono348', 'dark', { frames: 2.7, omit: omitted('mono348') }).signal,
    drawCard('vga480', 'dark', { frames: 2.7, omit: omitted('vga480') }).signal,
  ])
}

function scope(): Uint8Array {
  const { signal } = drawCard('cga80', 'dark', { frames: 1.3, startFrames: 0.8, omit: ['R', 'G', 'B', 'I'] })
  return writeScopeCsv(signal, {
    sampleRateHz: 8e6,
    lowVolts: 0.2,
    highVolts: 3.4,
    rampSeconds: 60e-9,
    noiseVolts: 0.03,
  })
}

/** The same scanlines throughout, in frames of three lengths and both polarities of vsync. */
function verticalModes(): Signal {
  const part = (frames: number, key: TimingKey, draw: Partial<DrawOptions> = {}): Signal =>
    drawCard(key, 'dark', { frames, startFrames: 0, omit: [...TIMINGS[key].channels], ...draw }).signal
  return joinSignals([
    part(4, 'ega350with366', { missingHsync: [{ frame: 3, scanline: 100 }] }),
    part(4, 'ega350with364', {
      missingHsync: [
        { frame: 0, scanline: 3 },
        { frame: 1, scanline: 5 },
      ],
      shiftedHsync: [{ frame: 1, scanline: 200, seconds: 0.6e-6 }],
      spikes: [{ channel: 'H', at: { frame: 1, scanline: 90, dot: 300 }, widthSeconds: 0.3e-6 }],
    }),
    inverted(part(3.4, 'ega350with366'), 1),
  ])
}

function inverted(signal: Signal, channel: number): Signal {
  return {
    ...signal,
    startLevels: signal.startLevels.map((level, at) => (at === channel ? ((1 - level) as 0 | 1) : level)),
  }
}

/** One wire in whose vertical intervals pulses are missing, cut, moved, longer, shorter and too many. */
function verticalDefects(): Signal {
  const { h, dotClockHz } = TIMINGS.cga80
  const draw = { frames: 8.3, composite: { kind: 'serrated', polarity: 'negative' } } as const
  const { signal } = drawCard('cga80', 'dark', { ...draw, omit: [...TIMINGS.cga80.channels] })
  const times = [...signal.toggles[0]!]
  const scanline = h.total / dotClockHz
  /** Toggles on both sides of a pulse of the vertical interval of a frame. */
  const pulseAt = (frame: number, scanlines: number): number => {
    const at = signal.truth.vsyncSeconds[frame]! + scanlines * scanline
    const after = times.findIndex((time) => time > at - scanline / 8)
    return signal.startLevels[0] === (after % 2 === 0 ? 1 : 0) ? after : after + 1
  }
  const change = (frame: number, scanlines: number, by: [number, number], more: number[] = []): void => {
    const at = pulseAt(frame, scanlines)
    const [lead, trail] = [times[at]! + by[0], times[at + 1]! + by[1]]
    times.splice(at, 2, lead, ...more.map((seconds) => lead + seconds), trail)
  }
  times.splice(pulseAt(1, -1), 2)
  change(2, 1, [0.9e-6, 0.9e-6])
  change(3, 0, [0, -20e-6])
  change(4, 2, [0, 0], [9e-6, 9.4e-6])
  change(5, -2, [0, 0], [1.2e-6, 1.5e-6])
  change(6, 4, [0, 1.4e-6])
  return { ...signal, toggles: [Float64Array.from(times), ...signal.toggles.slice(1)] }
}

/** Three pictures in turn, so that all that differs between them changes from frame to frame. */
function lively(): Signal {
  const draw = { frames: 8.3, seed: 5 }
  const stills = (['text', 'one-colour', 'few-letters'] as const).map(
    (kind) => drawCard('mda', kind, draw).signal,
  )
  return playFrames(stills, (stretch) => stretch % 3)
}

/** By name; every one is drawn, sampled and written anew. */
export const APPROVED_CAPTURES: Readonly<Record<string, ApprovedCapture>> = {
  'mda, text': card('mda', 'text-full', 24e6),
  'cga, text within a border': card('cga80', 'border', 24e6),
  'cga, few letters': card('cga80', 'few-letters', 24e6, { frames: 1.4, startFrames: 0.9 }),
  'ega, skewed channels': card('ega350with366', 'dither', 100e6, {
    frames: 1.2,
    startFrames: 0.9,
    skewSeconds: { R: 6e-9, g: -5e-9 },
  }),
  'vga, sampled at less than a dot': merging(card('vga480', 'text', 24e6, { frames: 5.2 })),
  'double width': card('cga320', 'text-full', 24e6, { frames: 1.3, startFrames: 0.8 }),
  'in no catalogue': card('uncatalogued', 'text', 100e6, { frames: 1.3, startFrames: 0.8 }),
  interlaced: merging(card('interlaced', 'text', 50e6, { frames: 2.2 })),
  'dot clock probed': card('cga80', 'dark', 50e6, { frames: 0.5, startFrames: 0.8, inside: ['DCLK', 'DE'] }),
  'moving picture': {
    merged: true,
    bytes: () => captureBytes(moving(), 24e6),
  },
  'faults, two wires': syncs('cga80', 24e6, FAULTS),
  'faults beside a picture': card('cga80', 'text', 24e6, { ...FAULTS, frames: 2.2, startFrames: 0.9 }),
  'faults, xor': syncs('cga80', 24e6, {
    ...FAULTS,
    spikes: [],
    composite: { kind: 'xor', polarity: 'negative' },
  }),
  'faults, or': syncs('mda', 24e6, {
    frames: 3.2,
    hsyncJitterSeconds: 4e-9,
    missingHsync: [{ frame: 1, scanline: 40 }],
    composite: { kind: 'or', polarity: 'positive' },
  }),
  'faults, serrated': syncs('cga80', 24e6, {
    frames: 3.2,
    missingHsync: [{ frame: 1, scanline: 40 }],
    shiftedHsync: [{ frame: 1, scanline: 90, seconds: 0.9e-6 }],
    composite: { kind: 'serrated', polarity: 'negative' },
  }),
  ringing: syncs('ega350with366', 50e6, {
    ringing: { edge: 'trailing', delaySeconds: 0.35e-6, widthSeconds: 0.2e-6, probability: 0.05 },
  }),
  'ringing before the leading edge': syncs('mda', 24e6, {
    ringing: { edge: 'leading', delaySeconds: -0.6e-6, widthSeconds: 0.25e-6, probability: 0.03 },
  }),
  'vsync missing, moved and long': syncs('cga80', 16e6, {
    frames: 9.2,
    missingVsync: [{ frame: 3 }],
    shiftedVsync: [{ frame: 5, scanlines: 2 }],
    resizedVsync: [{ frame: 7, scanlines: 5 }],
  }),
  'scanlines lost and gained': syncs('cga80', 16e6, {
    frames: 6.2,
    droppedScanlines: [{ frame: 2, scanline: 30 }],
    extraScanlines: [{ frame: 4, scanline: 50 }],
  }),
  'no hsync in vsync': syncs('cga80', 16e6, { hsyncAbsentInVsync: true }),
  hum: syncs('vga480', 100e6, { hum: { hertz: 610, amplitudeSeconds: 22e-9 } }),
  wander: syncs('ega350with366', 100e6, { wander: { sigmaSeconds: 30e-9, scanlines: 60 } }),
  'jitter of hsync': syncs('vga400', 100e6, { hsyncJitterSeconds: 12e-9 }),
  'jitter of the card': syncs('mono348', 50e6, { cardJitterSeconds: 15e-9 }),
  'clock coherent with the dots': syncs('mono348', 32e6, { dotClockErrorPpm: 0 }, { phase: 0.25 }),
  'samples nearly coherent': syncs('mono348', 32e6, { dotClockErrorPpm: 3 }),
  'hsync alone': syncs('vga480', 24e6, { omit: [...TIMINGS.vga480.channels, 'V'], frames: 1.4 }),
  'times in tenths of a microsecond': syncs(
    'cga80',
    24e6,
    {},
    {},
    { kind: 'csv', rows: 'per-change', timeDecimals: 7 },
  ),
  'rows of samples': syncs('mda', 4e6, { frames: 2.2 }, {}, { kind: 'csv', rows: 'per-sample' }),
  'names exchanged': syncs('cga80', 12e6, { rename: { H: 'V', V: 'H' } }),
  'no names, and strangers': { bytes: () => captureBytes(unnamed(), 24e6) },
  'three modes': { bytes: () => captureBytes(threeModes(), 24e6) },
  'voltages of an oscilloscope': { bytes: scope },
  'colours without sync': card('mda', 'border', 24e6, { omit: ['H', 'V'] }),
  'upright edges without sync': card('vga480', 'text-full', 24e6, { omit: ['H', 'V'], frames: 0.9 }),
  'few edges without sync': card('mono348', 'rectangle', 16e6, { omit: ['H', 'V'], frames: 1.2 }),
  'stripes without sync': card('cga80', 'checkerboard', 48e6, { omit: ['H', 'V'], frames: 0.3 }),
  'third frame of five': {
    ...card('cga80', 'text', 24e6, { frames: 5.4 }),
    measure: { frames: { first: 2, count: 1 } },
  },
  'frames of another length': { bytes: () => captureBytes(verticalModes(), 24e6) },
  'defects around vsync': { bytes: () => captureBytes(verticalDefects(), 24e6) },
  'interlaced, both syncs on one wire': syncs('interlaced', 24e6, {
    frames: 4.3,
    composite: { kind: 'serrated', polarity: 'positive' },
  }),
  'vsync with ringing': syncs('mda', 24e6, {
    frames: 6.3,
    spikes: [
      { channel: 'V', at: { frame: 1, scanline: 2, dot: 300 }, widthSeconds: 0.4e-6 },
      { channel: 'V', at: { frame: 2, scanline: 0, dot: 160 }, widthSeconds: 0.3e-6 },
      { channel: 'V', at: { frame: 3, scanline: 17, dot: 100 }, widthSeconds: 30e-6 },
      { channel: 'V', at: { frame: 4, scanline: 200, dot: 100 }, widthSeconds: 700e-6 },
    ],
    resizedVsync: [{ frame: 5, scanlines: -10 }],
  }),
  'less than a frame': card('cga80', 'text', 24e6, { frames: 0.25, startFrames: 0.9 }),
  'less than a frame, ending in vsync': card('mda', 'text', 24e6, { frames: 0.3, startFrames: 0.72 }),
  'changing, many samples a dot': {
    merged: true,
    bytes: () => captureBytes(lively(), 50e6),
  },
  'changing, few samples a dot': {
    merged: true,
    bytes: () => captureBytes(lively(), 20e6),
  },
  'jitter of all edges': card('cga80', 'dither', 24e6, { hsyncJitterSeconds: 20e-9, frames: 1.3 }),
  'samples as slow as dots': card('vga400', 'dither', 26e6, { frames: 1.3, startFrames: 0.8 }),
  'hsync absent in vsync, both on one wire': syncs('cga80', 16e6, {
    hsyncAbsentInVsync: true,
    composite: { kind: 'or', polarity: 'negative' },
  }),
}
