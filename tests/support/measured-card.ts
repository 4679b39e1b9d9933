// A card, drawn, sampled, written to a file and measured: the whole way round in one call, for end-to-end tests.

import { CaptureMeasurer, type CaptureMeasurement, type MeasureOptions } from '../../src/measure.ts'
import type { SegmentMeasurement } from '../../src/measure-segment.ts'
import { renderFrame } from '../../src/render-frame.ts'
import { drawSignal, type DrawnSignal, type DrawOptions } from './draw-signal.ts'
import { drawPicture, type Picture, type PictureKind } from './pictures.ts'
import { sampleSignal, type Instrument } from './sample-signal.ts'
import type { Signal } from './signal.ts'
import { TIMINGS, type Timing, type TimingKey } from './timings.ts'
import { writeCapture, type CaptureForm } from './write-capture.ts'

/** What the contract calls each timing; null = in no catalogue. */
export const STANDARD_IDS: Readonly<Record<TimingKey, string | null>> = {
  mda: 'mda-350',
  mono348: 'mono-348',
  cga80: 'cga-200',
  cgaGraphics: 'cga-200',
  cga320: 'cga-200',
  ega200: 'ega-200',
  ega350with366: 'ega-350',
  ega350with364: 'ega-350',
  vgaText400: 'vga-text-400-70',
  vga400: 'vga-400-70',
  vga480: 'vga-480-60',
  uncatalogued: null,
  interlaced: null,
}

/** Timings that are progressive and whose dots are one clock wide. */
export const PLAIN_TIMINGS: readonly TimingKey[] = [
  'mda',
  'mono348',
  'cga80',
  'cgaGraphics',
  'ega200',
  'ega350with366',
  'ega350with364',
  'vgaText400',
  'vga400',
  'vga480',
  'uncatalogued',
]

export function measureBytes(bytes: Uint8Array, options: MeasureOptions = {}): CaptureMeasurement {
  const measurer = new CaptureMeasurer(options)
  measurer.write(bytes)
  return measurer.end()
}

/** How a card is captured; everything has a usual value. */
export interface CaptureSetup {
  /** Default: 2.2 frames from 0.37 of a frame on, the crystal 17 ppm fast. */
  draw?: Partial<DrawOptions>
  /** Default: half a sample late. */
  instrument?: Partial<Instrument>
  /** Default: VCD in 1 ns ticks. */
  form?: CaptureForm
  measure?: MeasureOptions
}

export interface MeasuredCard {
  timing: Timing
  picture: Picture
  signal: DrawnSignal
  measurement: CaptureMeasurement
  main: SegmentMeasurement
}

export function drawCard(
  key: TimingKey,
  kind: PictureKind,
  draw: Partial<DrawOptions> = {},
): { timing: Timing; picture: Picture; signal: DrawnSignal } {
  const timing = TIMINGS[key]
  const picture = drawPicture(kind, timing, draw.seed)
  const signal = drawSignal(timing, picture, {
    frames: 2.2,
    startFrames: 0.37,
    dotClockErrorPpm: 17,
    ...draw,
  })
  return { timing, picture, signal }
}

export function captureBytes(
  signal: Signal,
  sampleRateHz: number,
  { instrument, form = { kind: 'vcd' } }: CaptureSetup = {},
): Uint8Array {
  return writeCapture(sampleSignal(signal, { sampleRateHz, phase: 0.5, ...instrument }), form)
}

export function measureSignal(
  signal: Signal,
  sampleRateHz: number,
  setup: CaptureSetup = {},
): CaptureMeasurement {
  return measureBytes(captureBytes(signal, sampleRateHz, setup), setup.measure)
}

export function measureCard(
  key: TimingKey,
  kind: PictureKind,
  sampleRateHz: number,
  setup: CaptureSetup = {},
): MeasuredCard {
  const card = drawCard(key, kind, setup.draw)
  const measurement = measureSignal(card.signal, sampleRateHz, setup)
  return { ...card, measurement, main: measurement.main }
}

/** Dots in which the rendered frame is not the drawn picture; Infinity where even its size is not. */
export function wrongDots(measurement: CaptureMeasurement, picture: Picture): number {
  const frame = renderFrame(measurement)
  if (frame.widthPixels !== picture.widthDots || frame.heightPixels !== picture.heightScanlines)
    return Infinity
  let wrong = 0
  for (let i = 0; i < frame.codes.length; i++) if (frame.codes[i] !== picture.codes[i]) wrong++
  return wrong
}

/** What `active` must say of a timing; porches as the timing lists them. */
export function drawnArea(timing: Timing): Record<string, number> {
  return {
    dots: timing.h.active,
    scanlines: timing.v.active * (timing.interlaced === true ? 2 : 1),
    hBackPorchDots: timing.h.backPorch,
    hFrontPorchDots: timing.h.frontPorch,
    vBackPorchScanlines: timing.v.backPorch,
    vFrontPorchScanlines: timing.v.frontPorch,
  }
}

export const NO_FAULTS: Readonly<Record<string, number>> = {
  extra: 0,
  missing: 0,
  short: 0,
  early: 0,
  late: 0,
  width: 0,
}

export function noticeCodes(measurement: CaptureMeasurement): string[] {
  return measurement.notices.map((notice) => notice.code)
}
