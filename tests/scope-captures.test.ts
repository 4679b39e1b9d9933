// Whole captures of an oscilloscope: voltages with ramps and noise, a part of a frame, as its memory holds.

import { describe, expect, test } from 'vitest'

import { identifyReport } from '../src/report/identify-report.ts'
import { identifySchema } from '../src/report/identify-schema.ts'
import { drawCard, measureBytes, NO_FAULTS, noticeCodes } from './support/measured-card.ts'
import { writeScopeCsv, type Scope } from './support/write-scope-csv.ts'

const TTL = { lowVolts: 0.2, highVolts: 3.4, noiseVolts: 0.05 }

const cases: [string, 'mda' | 'cga80' | 'vga480', Partial<Scope> & { sampleRateHz: number }][] = [
  ['TTL at 50 MS/s', 'mda', { sampleRateHz: 50e6, ...TTL, rampSeconds: 40e-9 }],
  ['TTL at 100 MS/s', 'cga80', { sampleRateHz: 100e6, ...TTL, rampSeconds: 20e-9 }],
  [
    '3.3 V logic at 62.5 MS/s',
    'cga80',
    { sampleRateHz: 62.5e6, lowVolts: 0, highVolts: 3.3, noiseVolts: 0.1 },
  ],
  [
    '0.7 V, already attenuated',
    'vga480',
    { sampleRateHz: 125e6, lowVolts: 0, highVolts: 0.7, noiseVolts: 0.01 },
  ],
  ['millivolts', 'mda', { sampleRateHz: 50e6, ...TTL, unit: { name: 'mV', volts: 1e-3 } }],
]

describe('oscilloscope captures', () => {
  test.each(cases)('%s: %s is measured as the rate and the levels allow', (_, key, scope) => {
    const [first] = key === 'mda' ? ['video'] : key === 'vga480' ? ['R1'] : ['R']
    const drawn = drawCard(key, 'dither', { frames: 0.12, startFrames: 0.3 })
    const wires = ['H', 'V', first!]
    const kept = drawn.signal.channels.flatMap((name, n) => (wires.includes(name) ? [n] : []))
    const signal = {
      channels: kept.map((n) => drawn.signal.channels[n]!),
      startLevels: kept.map((n) => drawn.signal.startLevels[n]!),
      toggles: kept.map((n) => drawn.signal.toggles[n]!),
      durationSeconds: drawn.signal.durationSeconds,
    }
    const bytes = writeScopeCsv(signal, {
      rampSeconds: 25e-9,
      lowVolts: 0,
      highVolts: 3.3,
      noiseVolts: 0,
      ...scope,
    })
    const measurement = measureBytes(bytes)
    const { main, channels } = measurement
    const { value, uncertainty } = main.hsync.frequencyHz
    const relative = Math.abs(value / drawn.signal.truth.scanlineHz - 1)
    expect(relative).toBeLessThan((3 * uncertainty) / value)
    // least squares over n edges that are each off by sigma: sigma * sqrt(12) / (n^1.5 * period); noise on a ramp makes
    // sigma = noise / swing * ramp. An edge known to a sample only would be off by sample / sqrt(12): many times more
    const { rampSeconds = 25e-9, noiseVolts = 0, lowVolts = 0, highVolts = 3.3 } = scope
    const sigma = (noiseVolts / (highVolts - lowVolts)) * rampSeconds
    const bound = (sigma * Math.sqrt(12) * drawn.signal.truth.scanlineHz) / main.scanlines ** 1.5
    expect(relative).toBeLessThan(5 * bound)
    expect(main.raster).toMatchObject({ dotsPerScanline: drawn.timing.h.total, dotClockFrom: 'measured' })
    expect(main.faults).toEqual(NO_FAULTS)
    expect(measurement.sampleIntervalSeconds).toBeCloseTo(1 / scope.sampleRateHz, 15)
    expect(noticeCodes(measurement)).toContain('CSV_ANALOG_THRESHOLD')
    const report = identifyReport(measurement, 'scope.csv')
    expect(identifySchema.parse(report)).toEqual(report)
    const middle = (lowVolts + highVolts) / 2
    for (const channel of report.capture.channels) {
      expect(channel.threshold?.volts).toBeGreaterThan(middle - 0.05 * (highVolts - lowVolts))
      expect(channel.threshold?.volts).toBeLessThan(middle + 0.05 * (highVolts - lowVolts))
    }
    // no vsync falls into a tenth of a frame
    expect(channels.map(({ threshold }) => threshold?.from)).toEqual(['levels', 'other-channels', 'levels'])
  })
})
