// A drawn card, captured and merged from all its frames: for end-to-end tests.

import type { CaptureMeasurement } from '../../src/measure.ts'
import type { RenderedFrame } from '../../src/render-frame.ts'
import { renderMerged } from '../../src/render-merged.ts'
import { measureSignal } from './measured-card.ts'
import type { Picture } from './pictures.ts'
import type { Instrument } from './sample-signal.ts'
import type { Signal } from './signal.ts'

/** Measures with every frame kept. */
export function measureForMerge(
  signal: Signal,
  sampleRateHz: number,
  instrument: Partial<Instrument> = {},
): CaptureMeasurement {
  return measureSignal(signal, sampleRateHz, {
    instrument,
    measure: { frames: { first: 0, count: 128 }, keepSignal: true },
  })
}

export function merged(
  signal: Signal,
  sampleRateHz: number,
  instrument: Partial<Instrument> = {},
): RenderedFrame {
  return renderMerged(measureForMerge(signal, sampleRateHz, instrument))
}

/** Dots in which a frame is not the picture; Infinity where its size is not. */
export function wrongIn(frame: RenderedFrame, picture: Picture): number {
  if (frame.widthPixels !== picture.widthDots || frame.heightPixels !== picture.heightScanlines)
    return Infinity
  return frame.codes.reduce((sum, code, dot) => sum + (code === picture.codes[dot] ? 0 : 1), 0)
}
