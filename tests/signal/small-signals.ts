// What tests of the synthesizer share: a mode's capture in one line, and its measurement.

import { CaptureMeasurer, type CaptureMeasurement } from '../../src/measure.ts'
import type { ChartName } from '../../src/signal/choices.ts'
import { signalPalette } from '../../src/signal/signal-channels.ts'
import type { SignalPicture } from '../../src/signal/signal-picture.ts'
import { activeScanlinesOf, signalTiming, type SignalTiming } from '../../src/signal/signal-timing.ts'
import { synthesize, type SynthesisOptions, type SynthesisSummary } from '../../src/signal/synthesize.ts'
import { drawChart } from '../../src/signal/test-charts.ts'

export interface Made {
  timing: SignalTiming
  picture: SignalPicture
  chunks: Uint8Array[]
  summary: SynthesisSummary
}

interface Wanted extends Partial<SynthesisOptions> {
  chart?: ChartName
}

/** A capture of 2.2 frames at 24 MS/s with the chart `card`, unless told otherwise. */
export function made(mode: string | SignalTiming, wanted: Wanted = {}): Made {
  const { chart = 'card', ...options } = wanted
  const timing = typeof mode === 'string' ? signalTiming(mode) : mode
  const picture =
    options.picture ??
    drawChart(chart, timing.horizontal.active, activeScanlinesOf(timing), signalPalette(timing))
  return { timing, picture, ...synthesize({ timing, sampleRateHz: 24e6, frames: 2.2, ...options, picture }) }
}

export function measured(chunks: readonly Uint8Array[]): CaptureMeasurement {
  const measurer = new CaptureMeasurer()
  for (const chunk of chunks) measurer.write(chunk)
  return measurer.end()
}

export function textOf(chunks: readonly Uint8Array[]): string {
  return Buffer.concat(chunks).toString('latin1')
}

/** A raster small enough to work out sample by sample: 32 dots by 16 scanlines, a red dot at each corner and more. */
export function tinyTiming(): SignalTiming {
  return signalTiming(null, {
    dotClockHz: 1e6,
    horizontal: { active: 16, frontPorch: 4, sync: 6, backPorch: 6 },
    vertical: { active: 8, frontPorch: 2, sync: 2, backPorch: 4 },
    hsyncPolarity: 'negative',
    vsyncPolarity: 'positive',
    colour: 'rgb',
  })
}
