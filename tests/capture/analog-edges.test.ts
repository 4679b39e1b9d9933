// Voltages → edges between samples. The truth is the exact time of each edge in the drawn signal.

import { describe, expect, it, test } from 'vitest'

import { newRandom } from '../support/random.ts'
import type { Signal } from '../support/signal.ts'
import { writeScopeCsv, type Scope } from '../support/write-scope-csv.ts'
import { readCsv } from './csv-collect.ts'

const TTL = { lowVolts: 0.2, highVolts: 3.4 }

/** A channel with edges at any place between two samples, 150 to 400 ns apart. */
function randomEdges(seed: number, count = 400): Signal {
  const random = newRandom(seed)
  const toggles: number[] = []
  let at = 300e-9
  for (let n = 0; n < count; n++) toggles.push((at += 150e-9 + 250e-9 * random.uniform()))
  return {
    channels: ['CH1'],
    startLevels: [0],
    toggles: [Float64Array.from(toggles)],
    durationSeconds: at + 300e-9,
  }
}

/** Errors of the edges that are read, in samples; throws where there are more or fewer than were drawn. */
function edgeErrors(signal: Signal, scope: Scope): number[] {
  const read = readCsv(new TextDecoder().decode(writeScopeCsv(signal, scope)))
  const secondsPerTick = read.header!.secondsPerTick!
  const edges = read.rows.slice(1)
  expect(edges).toHaveLength(signal.toggles[0]!.length)
  return edges.map(([tick], n) => (tick * secondsPerTick - signal.toggles[0]![n]!) * scope.sampleRateHz)
}

const rms = (list: readonly number[]): number =>
  Math.sqrt(list.reduce((sum, value) => sum + value * value, 0) / list.length)

describe('edges of voltages', () => {
  test.each([
    [50e6, 41],
    [100e6, 42],
    [250e6, 43],
  ])(
    'at %d S/s: within 0.01 sample of the truth, without noise and ramps of 2 samples or more',
    (rate, seed) => {
      for (const samples of [2, 2.7, 4]) {
        const errors = edgeErrors(randomEdges(seed), {
          sampleRateHz: rate,
          ...TTL,
          rampSeconds: Math.min(samples / rate, 100e-9),
          noiseVolts: 0,
          steps: 1 << 16,
        })
        expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.01)
      }
    },
  )

  it('within a tenth of a sample where a ramp lasts one sample: its corners bend the straight line', () => {
    // of a ramp of length 1, at worst (s - 1/2) / (1 - s) is lost to the corner beside sample s
    const errors = edgeErrors(randomEdges(44), {
      sampleRateHz: 100e6,
      ...TTL,
      rampSeconds: 10e-9,
      noiseVolts: 0,
    })
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.1)
  })

  it('within half a sample where edges are faster than samples', () => {
    const errors = edgeErrors(randomEdges(45), {
      sampleRateHz: 50e6,
      ...TTL,
      rampSeconds: 1e-9,
      noiseVolts: 0.02,
    })
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.55)
  })

  test.each([
    [50e6, 0.02, 46],
    [100e6, 0.05, 47],
    [250e6, 0.03, 48],
  ])('at %d S/s with noise of %d of the swing: as exact as the slope allows', (rate, noise, seed) => {
    const swing = TTL.highVolts - TTL.lowVolts
    const errors = edgeErrors(randomEdges(seed), {
      sampleRateHz: rate,
      ...TTL,
      rampSeconds: 3 / rate,
      noiseVolts: noise * swing,
    })
    // a slope of a third of the swing per sample turns noise into time; the straight line between two samples
    // averages them by w and 1 - w, whose mean square is 2/3; the converter's step of 1.5/256 adds its 1/sqrt(12)
    const voltageNoise = Math.hypot(noise, 1.5 / 256 / Math.sqrt(12))
    const expected = 3 * voltageNoise * Math.sqrt(2 / 3)
    expect(rms(errors)).toBeLessThan(1.35 * expected)
    expect(rms(errors)).toBeLessThan(0.2)
  })

  it('of noise that crosses the middle many times on a slow edge are one edge each', () => {
    const signal = randomEdges(49, 100)
    const slow = { ...signal, toggles: [signal.toggles[0]!.map((seconds) => 10 * seconds)] }
    const errors = edgeErrors(
      { ...slow, durationSeconds: 10 * signal.durationSeconds },
      { sampleRateHz: 100e6, ...TTL, rampSeconds: 0.5e-6, noiseVolts: 0.1 },
    )
    // 50 samples long, noise of 3 % of the swing: the last of some crossings is taken
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(8)
  })
})

describe('thresholds', () => {
  const wave = randomEdges(50)
  const noticeOf = (scope: Partial<Scope>): string => {
    const bytes = writeScopeCsv(wave, {
      sampleRateHz: 100e6,
      ...TTL,
      rampSeconds: 20e-9,
      noiseVolts: 0.01,
      ...scope,
    })
    const read = readCsv(new TextDecoder().decode(bytes))
    expect(read.rows).toHaveLength(wave.toggles[0]!.length + 1)
    return read.notices.find(({ code }) => code === 'CSV_ANALOG_THRESHOLD')!.message
  }

  it('lie in the middle of the levels, and TTL stands beside them', () => {
    expect(noticeOf({})).toMatch(
      /"CH1" at 1\.8\d* V .*levels are 0\.\d+ V and 3\.[34]\d* V, as TTL inputs want them/,
    )
    expect(noticeOf({ lowVolts: 0, highVolts: 3.3 })).toMatch(/"CH1" at 1\.6\d* V/)
  })

  it('of a signal that is already attenuated say that no TTL input would see it', () => {
    expect(noticeOf({ lowVolts: 0, highVolts: 0.7, noiseVolts: 0.005 })).toMatch(
      /"CH1" at 0\.35\d* V .*a TTL input, which wants 0\.8 V and 2 V, would not see both/,
    )
  })

  it('follow the unit of the cells', () => {
    expect(noticeOf({ unit: { name: 'mV', volts: 1e-3 } })).toMatch(/"CH1" at 1\.8\d* V/)
  })

  it('of a channel that stays at one level are those of another', () => {
    const quiet = { ...wave, channels: ['CH1', 'CH2'], startLevels: [0, 0] as (0 | 1)[] }
    const signal = { ...quiet, toggles: [wave.toggles[0]!, new Float64Array(0)] }
    const bytes = writeScopeCsv(signal, {
      sampleRateHz: 100e6,
      lowVolts: 0,
      highVolts: 0.7,
      rampSeconds: 20e-9,
      noiseVolts: 0.005,
    })
    const read = readCsv(new TextDecoder().decode(bytes))
    expect(read.rows.filter(([, channel]) => channel === 1)).toEqual([[0, 1, 0]])
    expect(read.notices.find(({ code }) => code === 'CSV_ANALOG_THRESHOLD')!.message).toMatch(
      /"CH2" at 0\.35\d* V .*as another channel, no two levels were seen/,
    )
  })

  it('keep edges of all columns in order of time', () => {
    const later = { ...wave, channels: ['CH1', 'CH2'], startLevels: [0, 0] as (0 | 1)[] }
    const signal = {
      ...later,
      toggles: [wave.toggles[0]!, wave.toggles[0]!.map((seconds) => seconds + 3e-9)],
    }
    const bytes = writeScopeCsv(signal, { sampleRateHz: 100e6, ...TTL, rampSeconds: 40e-9, noiseVolts: 0.05 })
    const { rows } = readCsv(new TextDecoder().decode(bytes))
    for (let n = 1; n < rows.length; n++) expect(rows[n]![0]).toBeGreaterThanOrEqual(rows[n - 1]![0])
  })
})
