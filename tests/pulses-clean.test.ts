// Where nothing is wrong, nothing is flagged: sampling is not jitter, and its beat with the scanlines is no hum.

import { describe, expect, it, test } from 'vitest'
import { capturePulses, drawSync } from './pulses-of.ts'
import { newRandom } from './support/random.ts'
import type { CaptureForm } from './support/write-capture.ts'
import { ALL_TIMINGS, TIMINGS, type Timing, type TimingKey } from './support/timings.ts'

const NO_FAULTS = { extra: 0, missing: 0, short: 0, early: 0, late: 0, width: 0 }
const CAPTURES = 500
const SETS = 10

/** One clean capture after another: mode, polarities, rate, phase, both clocks and the begin are left to chance. */
function randomClean(seed: number): { what: string; faulty: object } {
  const random = newRandom(seed)
  const base = ALL_TIMINGS[random.below(ALL_TIMINGS.length)]!
  const sign = (): 'positive' | 'negative' => (random.below(2) === 0 ? 'positive' : 'negative')
  const timing: Timing = { ...base, hsyncPolarity: sign(), vsyncPolarity: sign() }
  // common rates and any rate at all: near-whole numbers of samples a scanline beat slowly
  const usual = [24e6, 25e6, 50e6, 100e6, 200e6, 400e6]
  const sampleRateHz =
    random.below(2) === 0
      ? usual[random.below(usual.length)]!
      : Math.round(24e6 * (400 / 24) ** random.uniform())
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

describe('500 random clean captures', () => {
  const clean = {
    ...NO_FAULTS,
    oddFrames: 0,
    phaseBreaks: 0,
    faultsNotListed: 0,
    segments: 1,
    jitter: false,
    periodic: false,
  }
  test.each(Array.from({ length: SETS }, (_, set) => set))('set %d: nothing at all is flagged', (set) => {
    for (let i = 0; i < CAPTURES / SETS; i++) {
      const { what, faulty } = randomClean(1000 * set + i)
      expect({ what, ...faulty }).toEqual({ what, ...clean })
    }
  })
})

it('flags nothing where the sample rate is nearly a multiple of the scanline rate', () => {
  for (const ppm of [0, 1, 3, 10, 30, 100, -2, -50]) {
    const timing = TIMINGS.cga80
    const scanlineHz = timing.dotClockHz / timing.h.total
    const signal = drawSync(timing, { frames: 4 })
    const instrument = { sampleRateHz: Math.round(1600 * scanlineHz * (1 + ppm * 1e-6)), phase: 0.4 }
    const { pulses } = capturePulses(signal, instrument)
    expect(pulses.faultCounts).toEqual(NO_FAULTS)
    expect(pulses.jitter).toMatchObject({ belowResolution: true, periodic: null })
  }
})

it('flags nothing in a picture full of edges', () => {
  for (const key of ['cga80', 'ega350with364', 'mda'] satisfies TimingKey[]) {
    const { pulses } = capturePulses(drawSync(key, { frames: 2.2, startFrames: 0.4 }, 'dither'), {
      sampleRateHz: 24e6,
      phase: 0.6,
    })
    expect(pulses.faultCounts).toEqual(NO_FAULTS)
    expect(pulses.remedy).toBeNull()
    expect(pulses.frames.map(({ countedEdges }) => countedEdges)).toEqual([TIMINGS[key].v.total])
  }
})

describe('jitter of a card that is not perfect', () => {
  // 4 ns at 24 MS/s is a tenth of a sample, 40 ns is a whole one
  test.each([1e-9, 4e-9, 10e-9, 40e-9, 100e-9])('of %d s is not taken for faults', (sigma) => {
    for (let seed = 1; seed <= 6; seed++) {
      for (const sampleRateHz of [24e6, 100e6]) {
        const signal = drawSync('cga80', {
          frames: 4,
          seed,
          cardJitterSeconds: sigma,
          hsyncJitterSeconds: sigma / 2,
        })
        const { pulses } = capturePulses(signal, { sampleRateHz, phase: 0.1 * seed })
        expect({ seed, sampleRateHz, ...pulses.faultCounts }).toEqual({ seed, sampleRateHz, ...NO_FAULTS })
      }
    }
  })
})
