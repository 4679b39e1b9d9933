// What a file says of its own time, and when not to believe it. Each case is a habit of real exports.

import { describe, expect, it } from 'vitest'

import { captureBytes, drawCard, measureBytes, measureSignal, noticeCodes } from './support/measured-card.ts'
import type { CsvOptions } from './support/write-csv.ts'

const CARDS = ['cga80', 'mda', 'ega350with366'] as const

const csv = (options: Omit<CsvOptions, 'rows'>, rows: CsvOptions['rows'] = 'per-change') =>
  ({ form: { kind: 'csv', rows, ...options } }) as const

describe.each(CARDS)('%s', (key) => {
  const { signal } = drawCard(key, 'text')
  const truth = signal.truth.scanlineHz
  const expectTruth = (hsync: { frequencyHz: { value: number } }): void => {
    expect(Math.abs(hsync.frequencyHz.value / truth - 1)).toBeLessThan(1e-6)
  }

  it('a column that steps 41 ns at a stated 24 MHz is corrected by the rate', () => {
    for (const rows of ['per-change', 'per-sample'] as const) {
      const { main, ...measurement } = measureSignal(signal, 24e6, csv({ time: 'truncated' }, rows))
      expectTruth(main.hsync)
      expect(measurement.notices.map((notice) => notice.code)).toContain('TIME_STEP_TRUNCATED')
      expect(measurement.sampleIntervalSeconds).toBeCloseTo(1 / 24e6, 13)
    }
  })

  it('without the rate, the same column is measured as it stands, and doubted', () => {
    const measurement = measureSignal(signal, 24e6, csv({ time: 'truncated', rateComment: false }))
    expect(measurement.main.hsync.frequencyHz.value / truth).toBeCloseTo(41.6667 / 41, 4)
    expect(noticeCodes(measurement)).toContain('RATE_OFF_STANDARD')
  })

  it('"Time [s]" over integers that are nanoseconds', () => {
    const measurement = measureSignal(signal, 24e6, csv({ time: 'false-seconds' }))
    expectTruth(measurement.main.hsync)
    expect(noticeCodes(measurement)).toContain('TIME_UNIT_WRONG')
  })

  it('no unit at all', () => {
    const nanoseconds = measureSignal(signal, 24e6, csv({ time: 'nanoseconds', timeHeader: 'Time' }))
    expectTruth(nanoseconds.main.hsync)
    expect(noticeCodes(nanoseconds)).toContain('TIMEBASE_ASSUMED')
    const seconds = measureSignal(signal, 24e6, csv({ time: 'seconds', timeHeader: 't' }))
    expectTruth(seconds.main.hsync)
    expect(noticeCodes(seconds)).toContain('CSV_TIME_UNIT_ASSUMED')
  })

  it('a time scale a thousand times too long in a VCD', () => {
    const text = new TextDecoder().decode(captureBytes(signal, 24e6)).replace('1 ns', '1 us')
    const bytes = new TextEncoder().encode(text)
    const measurement = measureBytes(bytes)
    expectTruth(measurement.main.hsync)
    expect(noticeCodes(measurement)).toContain('TIME_UNIT_WRONG')
    const told = measureBytes(bytes, { timeUnit: 'ns' })
    expectTruth(told.main.hsync)
    expect(noticeCodes(told)).not.toContain('TIME_UNIT_WRONG')
  })

  it('rows per sample without time, and a rate in a comment', () => {
    const measurement = measureSignal(signal, 24e6, csv({}, 'per-sample'))
    expectTruth(measurement.main.hsync)
    expect(measurement.sampleIntervalSeconds).toBeCloseTo(1 / 24e6, 16)
    expect(noticeCodes(measurement)).toEqual([])
  })

  it('rows per sample without time or rate: unknown, unless told', () => {
    for (const form of [
      csv({ rateComment: false }, 'per-sample'),
      csv({ time: 'sample', rateComment: false }),
    ]) {
      const bytes = captureBytes(signal, 24e6, form)
      expect(() => measureBytes(bytes)).toThrow(
        expect.objectContaining({ code: 'TIMEBASE_UNKNOWN', hint: expect.stringContaining('--rate') }),
      )
      expectTruth(measureBytes(bytes, { sampleRateHz: 24e6 }).main.hsync)
    }
  })

  it('a rate label 0.2 % off: the times win where there are any, else it is doubted', () => {
    for (const rate of [24e6, 50e6]) {
      const label = [`sample rate: ${rate * 0.998} Hz`]
      const timed = measureSignal(signal, rate, csv({ time: 'seconds', comments: label }))
      expectTruth(timed.main.hsync)
      expect(noticeCodes(timed)).toContain('TIME_RATE_DIFFERS')
      const counted = measureSignal(signal, rate, csv({ rateComment: false, comments: label }, 'per-sample'))
      expect(counted.main.hsync.frequencyHz.value / truth).toBeCloseTo(0.998, 5)
      expect(noticeCodes(counted)).toContain('RATE_OFF_STANDARD')
    }
  })

  it('the user’s word on unit and rate overrules the file', () => {
    const bytes = captureBytes(signal, 24e6, csv({ time: 'false-seconds' }))
    const measurement = measureBytes(bytes, { timeUnit: 'ns' })
    expectTruth(measurement.main.hsync)
    expect(noticeCodes(measurement)).toEqual([])
    const wrong = captureBytes(
      signal,
      24e6,
      csv({ rateComment: false, comments: ['sample rate: 25 MHz'] }, 'per-sample'),
    )
    expectTruth(measureBytes(wrong, { sampleRateHz: 24e6 }).main.hsync)
  })
})
