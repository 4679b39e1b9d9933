// Times with fewer digits than the instrument's samples need: what is still measured, how surely, and what is said.

import { describe, expect, it, test } from 'vitest'

import type { Measurement } from '../src/measurement.ts'
import { measureCard, noticeCodes } from './support/measured-card.ts'
import type { CsvOptions } from './support/write-csv.ts'

type Digits = Pick<CsvOptions, 'timeDecimals' | 'timeDigits'>

const measured = (rate: number, digits: Digits) => {
  const form = { kind: 'csv', rows: 'per-change', time: 'seconds', ...digits } as const
  return measureCard('ega350with366', 'text', rate, { form })
}

/** Uncertainties are standard ones: four of them hold all but one error in 16 000. */
function expectWithin(found: Measurement, truth: number): void {
  expect(Math.abs(found.value - truth)).toBeLessThan(4 * found.uncertainty)
}

describe.each([24e6, 16e6])('seconds from an instrument at %d S/s', (rate) => {
  // two decimals of a sample, or seven digits of which two frames leave as many
  test.each([{ timeDecimals: 8 }, { timeDigits: 7 }] as Digits[])(
    '%o: samples show behind the last digit',
    (digits) => {
      const { measurement, main, signal, timing } = measured(rate, digits)
      // all digits that the times tell are those of a usual rate
      expect(measurement.sampleIntervalUncertaintySeconds).toBe(0)
      expect(Math.abs(measurement.sampleIntervalSeconds! * rate - 1)).toBeLessThan(1e-12)
      expect(noticeCodes(measurement)).not.toContain('TIME_ROUNDED_COARSELY')
      expectWithin(main.hsync.frequencyHz, signal.truth.scanlineHz)
      expectWithin(main.hsync.widthSeconds, timing.h.sync / signal.truth.dotClockHz)
      expect(main.faults.width).toBe(0)
    },
  )

  test.each([
    [{ timeDecimals: 7 }, 1e-7],
    [{ timeDecimals: 6 }, 1e-6],
    [{ timeDigits: 6 }, 1e-7],
  ] as [Digits, number][])('%o: too coarse, and said to be', (digits, step) => {
    const { measurement, main, signal, timing } = measured(rate, digits)
    expect(noticeCodes(measurement)).toContain('TIME_ROUNDED_COARSELY')
    expect(measurement.sampleIntervalSeconds).toBeNull()
    const { resolutionTicks, secondsPerTick } = measurement.timebase
    expect(resolutionTicks * secondsPerTick).toBeCloseTo(step, 12)
    expectWithin(main.hsync.frequencyHz, signal.truth.scanlineHz)
    expectWithin(main.hsync.widthSeconds, timing.h.sync / signal.truth.dotClockHz)
    expectWithin(main.vsync!.widthSeconds, timing.v.sync / signal.truth.scanlineHz)
    expect(main.classification.standard?.id).toBe('ega-350')
    expect(Object.values(main.faults)).toEqual([0, 0, 0, 0, 0, 0])
  })
})

it('where a file counts samples, the dots of a card in no catalogue are not taken for them', () => {
  const form = { kind: 'csv', rows: 'per-change', time: 'sample' } as const
  for (const [kind, rate] of [
    ['text', 200e6],
    ['checkerboard', 125e6],
  ] as const) {
    const { measurement, main, timing } = measureCard('uncatalogued', kind, rate, { form })
    expect(measurement.sampleIntervalSeconds! * rate).toBeCloseTo(1, 12)
    expect(measurement.sampleIntervalUncertaintySeconds).toBe(0)
    expect(main.raster.dotsPerScanline).toBe(timing.h.total)
  }
})
