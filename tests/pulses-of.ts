// From a drawn signal to its judged pulses, by way of a capture file: what the tests of `pulses` share.

import { CaptureMeasurer, type CaptureMeasurement, type MeasureOptions } from '../src/measure.ts'
import { measurePulses, type PulseMeasurement } from '../src/measure-pulses.ts'
import { drawSignal, type DrawnSignal, type DrawOptions } from './support/draw-signal.ts'
import { drawPicture, type PictureKind } from './support/pictures.ts'
import { sampleSignal, type Instrument, type SampledSignal } from './support/sample-signal.ts'
import type { Signal } from './support/signal.ts'
import { TIMINGS, type Timing, type TimingKey } from './support/timings.ts'
import { writeCapture, type CaptureForm } from './support/write-capture.ts'

/** Draws sync alone, or with a picture. */
export function drawSync(
  timing: Timing | TimingKey,
  options: DrawOptions,
  picture?: PictureKind,
): DrawnSignal {
  const row = typeof timing === 'string' ? TIMINGS[timing] : timing
  const omit = picture === undefined ? row.channels : []
  return drawSignal(row, drawPicture(picture ?? 'dark', row), { omit, ...options })
}

export interface Captured {
  samples: SampledSignal
  measurement: CaptureMeasurement
  pulses: PulseMeasurement
}

/** Samples, writes and measures. A VCD in picoseconds rounds 24 MS/s by less than a hundred-thousandth of a sample. */
export function capturePulses(
  signal: Signal,
  instrument: Instrument,
  form: CaptureForm = { kind: 'vcd', timescale: '1 ps' },
  options: MeasureOptions = {},
): Captured {
  const samples = sampleSignal(signal, instrument)
  const measurer = new CaptureMeasurer(options)
  measurer.write(writeCapture(samples, form))
  const measurement = measurer.end()
  return { samples, measurement, pulses: measurePulses(measurement) }
}
