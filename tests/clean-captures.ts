// Captures with nothing wrong in them, left to chance, and what is found in them: it ought to be nothing.

import { capturePulses, drawSync } from './pulses-of.ts'
import { newRandom, pick } from './support/random.ts'
import { ALL_TIMINGS, type Timing } from './support/timings.ts'
import type { CaptureForm } from './support/write-capture.ts'

export const NO_FAULTS = { extra: 0, missing: 0, short: 0, early: 0, late: 0, width: 0 }
export const CLEAN: object = {
  ...NO_FAULTS,
  oddFrames: 0,
  phaseBreaks: 0,
  faultsNotListed: 0,
  segments: 1,
  jitter: false,
  periodic: false,
}

/** One clean capture after another: mode, polarities, rate, phase, both clocks and the begin are left to chance. */
export function randomClean(seed: number): { what: string; faulty: object } {
  const random = newRandom(seed)
  const base = pick(random, ALL_TIMINGS)
  const sign = (): 'positive' | 'negative' => (random.below(2) === 0 ? 'positive' : 'negative')
  const timing: Timing = { ...base, hsyncPolarity: sign(), vsyncPolarity: sign() }
  // common rates and any rate at all: near-whole numbers of samples a scanline beat slowly
  const usual = [24e6, 25e6, 50e6, 100e6, 200e6, 400e6]
  const sampleRateHz =
    random.below(2) === 0 ? pick(random, usual) : Math.round(24e6 * (400 / 24) ** random.uniform())
  const kinds = ['xor', 'or', 'serrated'] as const
  const isComposite = random.below(4) === 0 && timing.v.sync >= 2
  const composite = isComposite ? { kind: kinds[random.below(3)]!, polarity: sign() } : undefined
  const signal = drawSync(timing, {
    frames: 1.3 + random.uniform(),
    startFrames: random.uniform(),
    seed,
    dotClockErrorPpm: 300 * (random.uniform() - 0.5),
    ...(composite ? { composite } : { hsyncAbsentInVsync: random.below(8) === 0 }),
  })
  const clockErrorPpm = 200 * (random.uniform() - 0.5)
  // ticks of 1 ns do not tell a sample of less than four of them, unless its rate is a usual one
  const isFine = random.below(2) === 0 || (!usual.includes(sampleRateHz) && sampleRateHz > 250e6)
  const form: CaptureForm = { kind: 'vcd', timescale: isFine ? '1 ps' : '1 ns' }
  const { pulses, measurement } = capturePulses(
    signal,
    { sampleRateHz, phase: random.uniform(), clockErrorPpm },
    form,
  )
  const { faultCounts, oddFrames, phaseBreaks, jitter, faultsNotListed } = pulses
  const what = `${seed} ${timing.name} ${JSON.stringify(composite)} ${sampleRateHz / 1e6} MS/s`
  return {
    what,
    faulty: {
      ...faultCounts,
      oddFrames,
      phaseBreaks,
      faultsNotListed,
      segments: measurement.segments.length,
      jitter: jitter?.belowResolution === false,
      periodic: (jitter?.periodic ?? null) !== null,
    },
  }
}
