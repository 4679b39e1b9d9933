// Jitter put into a drawn sync comes out again, within the uncertainty that is stated; statistics are checked against a
// general library that sees the same edges.

import {
  linearRegression,
  mean,
  sampleStandardDeviation,
  standardDeviation,
  variance,
} from 'simple-statistics'
import { describe, expect, it, test } from 'vitest'
import type { PulseJitter } from '../../src/measure-pulses.ts'
import { measureJitter } from '../../src/sync/jitter.ts'
import { JitterMeter } from '../../src/sync/jitter-meter.ts'
import { RunningMean } from '../../src/sync/running-mean.ts'
import { capturePulses, drawSync } from '../pulses-of.ts'
import type { DrawOptions } from '../support/draw-signal.ts'
import { newRandom } from '../support/random.ts'
import type { SampledSignal } from '../support/sample-signal.ts'

function jitterOf(options: Partial<DrawOptions>, sampleRateHz: number, seed: number): PulseJitter {
  const random = newRandom(seed)
  const signal = drawSync('cga80', {
    startFrames: random.uniform(),
    frames: 5,
    seed,
    dotClockErrorPpm: 200 * (random.uniform() - 0.5),
    ...options,
  })
  const { pulses } = capturePulses(signal, { sampleRateHz, phase: random.uniform() })
  return pulses.jitter!
}

describe('the sample that jitter is told in', () => {
  /** Edges every 50.37 samples, as an instrument shows them; half a sample is what a time interval is off at most. */
  function sampleTold(sampleTicks: number, sampling: { ticks: number; isExact: boolean }): number {
    const meter = new JitterMeter()
    for (let n = 0; n < 500; n++) meter.add(n, sampleTicks * Math.ceil(50.37 * n))
    const jitter = measureJitter(meter, meter.residuals(), 50.37 * sampleTicks, sampling)!
    return 2 * jitter.timeIntervalErrorPeak.resolutionTicks
  }

  it('is that of the grid where periods bear it out within a tenth', () => {
    expect(sampleTold(20, { ticks: 20, isExact: true })).toBe(20)
    expect(sampleTold(20, { ticks: 19, isExact: true })).toBe(19)
    expect(sampleTold(20, { ticks: 17.5, isExact: true })).toBeCloseTo(20, 2)
    expect(sampleTold(20, { ticks: 19, isExact: false })).toBeCloseTo(20, 2)
  })

  it('is that of a grid of few ticks where they bear it out within a hundredth', () => {
    expect(sampleTold(10, { ticks: 9.95, isExact: true })).toBe(9.95)
    expect(sampleTold(10, { ticks: 9.8, isExact: true })).toBeCloseTo(10, 2)
    // sixteen are many
    expect(sampleTold(16.5, { ticks: 16, isExact: true })).toBe(16)
    expect(sampleTold(16.5, { ticks: 15.9, isExact: true })).toBeCloseTo(16.5, 2)
  })
})

describe('random jitter', () => {
  const sigmas = [2e-9, 5e-9, 10e-9, 20e-9, 50e-9, 200e-9]
  test.each([24e6, 100e6])('at %d samples a second is found within its uncertainty', (sampleRateHz) => {
    const off: number[] = []
    let resolved = 0
    for (const sigma of sigmas) {
      for (let seed = 1; seed <= 12; seed++) {
        const { randomSeconds, belowResolution } = jitterOf({ cardJitterSeconds: sigma }, sampleRateHz, seed)
        if (belowResolution) {
          // what is not seen is less than what would have been
          expect(randomSeconds.value).toBe(0)
          expect(sigma).toBeLessThan(3 * randomSeconds.uncertainty)
          continue
        }
        resolved++
        off.push((randomSeconds.value - sigma) / randomSeconds.uncertainty)
        expect({ sigma, seed, off: Math.abs(off.at(-1)!) < 3 }).toEqual({ sigma, seed, off: true })
        // a figure that is a third off is not worth much; one that is a hundredth off is not to be had from 1300 edges
        expect(randomSeconds.uncertainty / sigma).toBeLessThan(0.34)
        expect(randomSeconds.uncertainty / sigma).toBeGreaterThan(0.01)
      }
    }
    // every jitter of a quarter of a sample and more
    const clear = sigmas.filter((sigma) => sigma * sampleRateHz > 0.25).length
    expect(resolved).toBeGreaterThanOrEqual(12 * clear)
    // the uncertainty is honest: about two thirds lie inside it, and it is not that of something much larger
    const inside = off.filter((value) => Math.abs(value) < 1).length / off.length
    expect(inside).toBeGreaterThan(0.55)
    expect(standardDeviation(off)).toBeGreaterThan(0.4)
    expect(Math.abs(mean(off))).toBeLessThan(0.5)
  })

  it('of hsync alone is the same to an adapter', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { randomSeconds } = jitterOf({ hsyncJitterSeconds: 30e-9 }, 24e6, seed)
      expect(Math.abs(randomSeconds.value - 30e-9)).toBeLessThan(3 * randomSeconds.uncertainty)
    }
  })

  it('is none where there is none', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const jitter = jitterOf({}, seed % 2 ? 24e6 : 100e6, seed)
      expect(jitter).toMatchObject({ belowResolution: true, randomSeconds: { value: 0 }, periodic: null })
      const { periodRms, cycleToCycleRms } = jitter.details
      // all that was seen is explained
      expect(periodRms.observedSeconds / periodRms.resolutionSeconds).toBeCloseTo(1, 1)
      expect(cycleToCycleRms.observedSeconds / cycleToCycleRms.resolutionSeconds).toBeCloseTo(1, 1)
    }
  })
})

describe('slow wander', () => {
  it('is told apart from random jitter', () => {
    for (let seed = 1; seed <= 5; seed++) {
      const { wanderRmsSeconds, randomSeconds, timeIntervalErrorRmsSeconds, periodic } = jitterOf(
        { frames: 12, wander: { sigmaSeconds: 300e-9, scanlines: 150 } },
        24e6,
        seed,
      )
      // some twenty memories long: the spread of what is seen of it is a third at worst
      expect(wanderRmsSeconds).toBeGreaterThan(150e-9)
      expect(wanderRmsSeconds).toBeLessThan(450e-9)
      expect(timeIntervalErrorRmsSeconds).toBeGreaterThanOrEqual(wanderRmsSeconds)
      // from scanline to scanline it moves by 300 ns * sqrt(2 / 150)
      expect(randomSeconds.value).toBeLessThan(40e-9)
      expect(periodic).toBeNull()
    }
  })

  it('does not hide random jitter', () => {
    for (let seed = 1; seed <= 5; seed++) {
      const { randomSeconds, wanderRmsSeconds } = jitterOf(
        { frames: 12, wander: { sigmaSeconds: 400e-9, scanlines: 1500 }, cardJitterSeconds: 60e-9 },
        24e6,
        seed,
      )
      expect(Math.abs(randomSeconds.value - 60e-9)).toBeLessThan(3 * randomSeconds.uncertainty)
      expect(wanderRmsSeconds).toBeGreaterThan(60e-9)
    }
  })
})

describe('a regular component', () => {
  // 0.2 s: a line of 50 Hz is ten cycles
  const long = { frames: 12 }
  test.each([
    { hertz: 50, amplitudeSeconds: 150e-9, cardJitterSeconds: 0 },
    { hertz: 50, amplitudeSeconds: 80e-9, cardJitterSeconds: 20e-9 },
    { hertz: 60, amplitudeSeconds: 400e-9, cardJitterSeconds: 100e-9 },
    { hertz: 100, amplitudeSeconds: 100e-9, cardJitterSeconds: 10e-9 },
    { hertz: 120, amplitudeSeconds: 60e-9, cardJitterSeconds: 30e-9 },
    { hertz: 3140, amplitudeSeconds: 50e-9, cardJitterSeconds: 30e-9 },
  ])(
    'of $hertz Hz is named with its frequency and amplitude',
    ({ hertz, amplitudeSeconds, cardJitterSeconds }) => {
      for (let seed = 1; seed <= 4; seed++) {
        for (const sampleRateHz of [24e6, 100e6]) {
          const hum = { hertz, amplitudeSeconds }
          const { periodic } = jitterOf({ ...long, hum, cardJitterSeconds }, sampleRateHz, seed)
          expect({ seed, sampleRateHz, found: periodic !== null }).toEqual({
            seed,
            sampleRateHz,
            found: true,
          })
          const { value, uncertainty } = periodic!.frequencyHz
          expect(Math.abs(value - hertz)).toBeLessThan(3 * uncertainty)
          expect(uncertainty).toBeLessThan(5)
          expect(periodic!.amplitudeSeconds / amplitudeSeconds).toBeGreaterThan(0.7)
          expect(periodic!.amplitudeSeconds / amplitudeSeconds).toBeLessThan(1.3)
        }
      }
    },
  )

  it('from a switching supply appears folded below half the scanline rate', () => {
    const hum = { hertz: 40_000, amplitudeSeconds: 80e-9 }
    const { periodic } = jitterOf({ ...long, hum, cardJitterSeconds: 20e-9, dotClockErrorPpm: 0 }, 24e6, 3)
    const scanlineHz = 157.5e6 / 11 / 912
    const folded = Math.abs(hum.hertz - Math.round(hum.hertz / scanlineHz) * scanlineHz)
    expect(Math.abs(periodic!.frequencyHz.value - folded)).toBeLessThan(3 * periodic!.frequencyHz.uncertainty)
  })

  it('is not found in random jitter', () => {
    for (let seed = 1; seed <= 40; seed++) {
      const sigma = [4e-9, 15e-9, 40e-9, 150e-9][seed % 4]!
      const { periodic } = jitterOf({ ...long, cardJitterSeconds: sigma }, seed % 3 ? 24e6 : 100e6, seed)
      expect({ seed, sigma, periodic }).toEqual({ seed, sigma, periodic: null })
    }
  })
})

describe('statistics', () => {
  /** Leading edges as the samples have them; in seconds. */
  const edgesOf = (samples: SampledSignal): number[] => {
    const bit = samples.channels.indexOf('H')
    return [...samples.sampleIndex].flatMap((at, i) => {
      const rises = i > 0 && (samples.levelWord[i]! >>> bit) & 1 && !((samples.levelWord[i - 1]! >>> bit) & 1)
      return rises ? [at / samples.sampleRateHz] : []
    })
  }

  it('are those that a general library computes from the same edges', () => {
    const signal = drawSync('cga80', { startFrames: 0.3, frames: 3, cardJitterSeconds: 45e-9 })
    const { samples, pulses } = capturePulses(signal, { sampleRateHz: 24e6, phase: 0.2 })
    const edges = edgesOf(samples)
    const differences = (values: readonly number[]): number[] =>
      values.slice(1).map((value, i) => value - values[i]!)
    const periods = differences(edges)
    const jitter = pulses.jitter!
    const ratio = (found: number, expected: number): void => expect(found / expected).toBeCloseTo(1, 4)
    ratio(jitter.periodRmsSeconds, sampleStandardDeviation(periods))
    ratio(jitter.periodPeakToPeakSeconds, Math.max(...periods) - Math.min(...periods))
    ratio(jitter.cycleToCycleRmsSeconds, sampleStandardDeviation(differences(periods)))
    const { m, b } = linearRegression(edges.map((edge, n) => [n, edge]))
    const errors = edges.map((edge, n) => edge - (m * n + b))
    ratio(jitter.timeIntervalErrorRmsSeconds, Math.sqrt(mean(errors.map((error) => error * error))))
    ratio(jitter.timeIntervalErrorPeakSeconds, Math.max(...errors.map(Math.abs)))
    ratio(1 / pulses.scanlineSeconds, 1 / m)
  })

  it('of a stream are those of the whole', () => {
    const random = newRandom(5)
    // a large mean: sums of squares would cancel
    const values = Array.from({ length: 5000 }, () => 1e9 + 3 * random.gaussian())
    const running = new RunningMean()
    for (const value of values) running.add(value)
    expect(running.mean).toBeCloseTo(mean(values), 5)
    expect(running.variance / (variance(values) * (5000 / 4999))).toBeCloseTo(1, 6)
    expect([running.min, running.max]).toEqual([Math.min(...values), Math.max(...values)])
    expect(new RunningMean().variance).toBe(0)
  })

  it('leave out what is not from one scanline to the next', () => {
    const meter = new JitterMeter()
    for (const n of [0, 1, 2, 4, 5, 6]) meter.add(n, 1000 * n)
    expect([meter.period.count, meter.cycleToCycle.count]).toEqual([4, 2])
    meter.breakPhase()
    meter.add(7, 7003)
    expect(meter.period.count).toBe(4)
  })
})
