// Measures random captures and prints how often errors lie within their stated uncertainties, quantity by quantity, and how
// near the scanline rate comes to what least squares can give.

import { CaptureError } from '../../src/errors.ts'
import { CaptureMeasurer } from '../../src/measure.ts'
import { boundRatio, type BoundCase } from './rate-bound.ts'
import { judgeCapture } from './quantities.ts'
import { randomCapture, type RandomCapture } from './random-capture.ts'
import { randomScope } from './random-scope.ts'
import { CalibrationTally } from './tally.ts'

/** What the scanline rate's RMS error may be, in units of its bound. */
export const MOST_BOUND_RATIO = 1.3

export interface Calibration {
  tally: CalibrationTally
  bounds: BoundCase[]
  /** Captures that could not be measured, with the code that says why. */
  refused: { seed: number; code: string }[]
}

/**
 * @param firstSeed of the captures, which are numbered on from it
 * @param draw makes one of them
 */
export function calibrationOf(
  captures: number,
  firstSeed: number,
  draw: (seed: number) => RandomCapture = randomCapture,
): Calibration {
  const result: Calibration = { tally: new CalibrationTally(), bounds: [], refused: [] }
  for (let seed = firstSeed; seed < firstSeed + captures; seed++) {
    const capture = draw(seed)
    try {
      const measurer = new CaptureMeasurer()
      measurer.write(capture.bytes)
      const measurement = measurer.end()
      const { measured, counted } = judgeCapture(capture, measurement)
      result.tally.add(measured, counted, seed)
      result.bounds.push({
        errorHz: measurement.main.hsync.frequencyHz.value - capture.dotClockHz / capture.timing.h.total,
        samplesPerScanline: (capture.sampleRateHz * capture.timing.h.total) / capture.dotClockHz,
        sampleRateHz: capture.sampleRateHz,
        jitterSamples: capture.jitterSeconds * capture.sampleRateHz,
        digitSamples: capture.digitSeconds * capture.sampleRateHz,
        scanlines: measurement.main.scanlines,
      })
    } catch (error) {
      if (!(error instanceof CaptureError)) throw error
      result.refused.push({ seed, code: error.code })
    }
  }
  return result
}

/** The whole command: text to print, and whether everything is as it ought to be. */
export function calibrate(captures: number, firstSeed: number): { text: string; isHeld: boolean } {
  const steady = calibrationOf(captures, firstSeed)
  const more = Math.ceil(captures / 5)
  const wandering = calibrationOf(more, firstSeed + captures, (seed) => randomCapture(seed, { wander: true }))
  const scopes = calibrationOf(more, firstSeed + captures, randomScope)
  const ratio = boundRatio(steady.bounds)
  const rows = steady.tally.rows()
  const text = [
    `${captures} random captures, seeds from ${firstSeed}`,
    '',
    ...tableOf(steady.tally),
    '',
    'without uncertainty                  right  wrong',
    ...steady.tally
      .counts()
      .map(({ quantity, right, wrong }) => `${quantity.padEnd(36)} ${cell(right, 5)} ${cell(wrong, 6)}`),
    '',
    `RMS error of the scanline rate / bound: ${ratio.beating.toFixed(2)} (${ratio.beatingCaptures} captures)`,
    `  where samples hardly beat with scanlines: ${ratio.slow.toFixed(2)} (${ratio.slowCaptures} captures)`,
    ...refusedText(steady),
    '',
    'beyond 3 u, by seed:',
    ...steady.tally.far.map(({ seed, quantity, error }) => `  ${seed} ${quantity} ${error.toPrecision(2)}`),
    '',
    `${more} more, whose card wanders slowly (not demanded)`,
    '',
    ...tableOf(wandering.tally),
    ...refusedText(wandering),
    '',
    `${more} more, of an oscilloscope: voltages of the syncs alone (not demanded)`,
    '',
    ...tableOf(scopes.tally),
    ...refusedText(scopes),
  ].join('\n')
  return { text, isHeld: rows.every(({ isHeld }) => isHeld) && ratio.beating <= MOST_BOUND_RATIO }
}

function tableOf(tally: CalibrationTally): string[] {
  return [
    'quantity            captures  within 1 u   2 u    3 u   RMS error / u',
    ...tally.rows().map(({ quantity, count, within1, within2, within3, rms, isHeld }) => {
      const shares = [cell(percent(within1), 11), cell(percent(within2), 7), cell(percent(within3, 2), 7)]
      return `${quantity.padEnd(20)} ${cell(count, 7)} ${shares.join('')} ${cell(rms.toFixed(2), 8)}${isHeld ? '' : '  outside'}`
    }),
  ]
}

function refusedText({ refused }: Calibration): string[] {
  return refused.map(({ seed, code }) => `seed ${seed} was not measured: ${code}`)
}

function percent(share: number, decimals = 1): string {
  return (100 * share).toFixed(decimals)
}

function cell(value: string | number, width: number): string {
  return String(value).padStart(width)
}
