// One number → one capture of a known card: mode, instrument, start, length, jitter and file all drawn by chance.

import { drawSignal, type DrawOptions } from '../support/draw-signal.ts'
import { drawPicture } from '../support/pictures.ts'
import { betweenLogs, chance, newRandom, pick } from '../support/random.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import { TIMINGS, type Timing, type TimingKey } from '../support/timings.ts'
import { writeCapture, type CaptureForm } from '../support/write-capture.ts'

/** What is in the file, and what is true of it. */
export interface RandomCapture {
  bytes: Uint8Array
  timing: Timing
  sampleRateHz: number
  dotClockHz: number
  /** Standard deviation of a leading edge of hsync, in seconds; sampling is not in it. */
  jitterSeconds: number
  jitterOf: JitterKind
  isWandering: boolean
  /** What the file's times are rounded to; 0 where that loses nothing. */
  digitSeconds: number
}

/** What jitters: nothing, hsync alone, or the whole card. */
export type JitterKind = 'none' | 'hsync' | 'card'

export interface RandomCaptureOptions {
  /** Slow wander of the whole card on top. Default false. */
  wander?: boolean
}

const KEYS = Object.keys(TIMINGS) as TimingKey[]
/** Rates of cheap instruments, in MS/s. */
const RATES = [12, 16, 20, 24, 25, 32, 40, 48, 50, 80, 100]
const FORMS: readonly CaptureForm[] = [
  { kind: 'vcd' },
  { kind: 'vcd' },
  { kind: 'vcd', timescale: '100 ps' },
  { kind: 'vcd', timescale: '1 ps' },
  { kind: 'csv', rows: 'per-change', time: 'nanoseconds' },
  { kind: 'csv', rows: 'per-change', time: 'seconds' },
  { kind: 'csv', rows: 'per-change', time: 'sample' },
  { kind: 'csv', rows: 'per-change', time: 'seconds', timeDecimals: 8 },
]

/** @param seed one capture each; the same on every machine */
export function randomCapture(seed: number, { wander = false }: RandomCaptureOptions = {}): RandomCapture {
  const random = newRandom(seed)
  const timing = TIMINGS[pick(random, KEYS)]
  const form = pick(random, FORMS)
  // mostly a usual rate; others only where the file's digits show the samples, for behind coarser ones they look like dots
  const isUsual = chance(random, 0.7) || (form.kind === 'csv' && form.timeDecimals !== undefined)
  const sampleRateHz = 1e6 * (isUsual ? pick(random, RATES) : betweenLogs(random, 12, 100))
  const frames = betweenLogs(random, 1.3, 5)
  const jitterOf = pick(random, ['none', 'hsync', 'card'] as const)
  const jitterSeconds = jitterOf === 'none' ? 0 : betweenLogs(random, 0.05, 2) / sampleRateHz
  const draw: DrawOptions = {
    frames,
    startFrames: random.uniform(),
    dotClockErrorPpm: 200 * (random.uniform() - 0.5),
    seed: seed + 1_000_003,
    ...(jitterOf === 'hsync' && { hsyncJitterSeconds: jitterSeconds }),
    ...(jitterOf === 'card' && { cardJitterSeconds: jitterSeconds }),
    ...(wander && {
      wander: {
        sigmaSeconds: betweenLogs(random, 0.1, 5) / sampleRateHz,
        scanlines: betweenLogs(random, 20, 20_000),
      },
    }),
  }
  const signal = drawSignal(
    timing,
    drawPicture(pick(random, ['text', 'text-full'] as const), timing, seed),
    draw,
  )
  const samples = sampleSignal(signal, { sampleRateHz, phase: random.uniform() })
  const digits = {
    cutOff: chance(random, 0.3),
    firstSampleAt: chance(random, 0.5) ? random.uniform() : 0,
  }
  return {
    bytes: writeCapture(samples, { ...form, digits }),
    timing,
    sampleRateHz,
    dotClockHz: signal.truth.dotClockHz,
    jitterSeconds,
    jitterOf,
    isWandering: wander,
    digitSeconds: isWhole(1 / (sampleRateHz * digitSecondsOf(form))) ? 0 : digitSecondsOf(form),
  }
}

/** Infinity where it counts samples. */
function digitSecondsOf(form: CaptureForm): number {
  if (form.kind === 'vcd')
    return form.timescale === '1 ps' ? 1e-12 : form.timescale === '100 ps' ? 1e-10 : 1e-9
  return form.time === 'sample' ? Infinity : 10 ** -(form.timeDecimals ?? 9)
}

function isWhole(digits: number): boolean {
  return Math.abs(digits - Math.round(digits)) < 1e-6
}
