// One number → one oscilloscope capture of a known card: two probes on its syncs, ramps and noise drawn by chance.

import { drawSignal } from '../support/draw-signal.ts'
import { drawPicture } from '../support/pictures.ts'
import { between, betweenLogs, newRandom, pick } from '../support/random.ts'
import type { Signal } from '../support/signal.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'
import { writeScopeCsv } from '../support/write-scope-csv.ts'
import type { RandomCapture } from './random-capture.ts'

const KEYS: readonly TimingKey[] = ['mda', 'cga80', 'ega350with366', 'vga480']
/** In MS/s. */
const RATES = [25, 50, 62.5, 100, 125]

/** A part of a frame, as its memory holds. @param seed one capture each; the same on every machine */
export function randomScope(seed: number): RandomCapture {
  const random = newRandom(seed)
  const timing = TIMINGS[pick(random, KEYS)]
  const frames = between(random, 0.05, 0.25)
  const signal = drawSignal(timing, drawPicture('dark', timing), {
    frames,
    startFrames: random.uniform(),
    dotClockErrorPpm: 200 * (random.uniform() - 0.5),
    seed,
  })
  const sampleRateHz = 1e6 * pick(random, RATES)
  const bytes = writeScopeCsv(onlySyncs(signal), {
    sampleRateHz,
    lowVolts: 0.2,
    highVolts: 3.4,
    noiseVolts: betweenLogs(random, 0.005, 0.1),
    // from an edge that no sample lies on to one of many
    rampSeconds: betweenLogs(random, 0.2, 8) / sampleRateHz,
    phase: random.uniform(),
    seed,
  })
  return {
    bytes,
    timing,
    sampleRateHz,
    dotClockHz: signal.truth.dotClockHz,
    jitterSeconds: 0,
    jitterOf: 'none',
    isWandering: false,
    digitSeconds: 0,
  }
}

function onlySyncs(signal: Signal): Signal {
  const kept = signal.channels.flatMap((name, n) => (name === 'H' || name === 'V' ? [n] : []))
  return {
    channels: kept.map((n) => signal.channels[n]!),
    startLevels: kept.map((n) => signal.startLevels[n]!),
    toggles: kept.map((n) => signal.toggles[n]!),
    durationSeconds: signal.durationSeconds,
  }
}
