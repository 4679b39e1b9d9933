// Times of day, with and without dates, as the time column.

import { describe, expect, it, test } from 'vitest'

import { drawCard, measureBytes } from '../support/measured-card.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import { readCsv } from './csv-collect.ts'

const ticksOf = (text: string): number[] => {
  const read = readCsv(text)
  expect(read.error).toBeUndefined()
  expect(read.header?.timebaseFrom).toBe('unit-in-cells')
  // ticks begin with the second of the first row, so that their digits are left for its decimals
  const picoseconds = read.rows.map(([tick]) => Math.round(tick * read.header!.secondsPerTick! * 1e12))
  expect(picoseconds[0]).toBeLessThan(1e12)
  return picoseconds.map((at) => at - picoseconds[0]!)
}

const rows = (cells: readonly string[]): string =>
  `Time,A\n${cells.map((cell, n) => `${cell},${n % 2}\n`).join('')}`

describe('times of day', () => {
  test.each([
    ['2031-05-06T12:34:56.123456000Z', '2031-05-06T12:34:56.123458500Z', '2031-05-06T12:34:57.000000000Z'],
    ['2031-05-06 12:34:56.123456', '2031-05-06 12:34:56.1234585', '2031-05-06 12:34:57.000000'],
    ['2031-05-06T12:34:56,123456+02:00', '2031-05-06T12:34:56,1234585+02:00', '2031-05-06T12:34:57,0+02:00'],
    ['06.05.2031 12:34:56.123456', '06.05.2031 12:34:56.1234585', '06.05.2031 12:34:57.000000'],
    ['12:34:56.123456000', '12:34:56.123458500', '12:34:57.000000000'],
    ['34:56.123456000', '34:56.123458500', '34:57.000000000'],
  ])('%s counts from the first row on', (...cells) => {
    const quoted = cells[0]!.includes(',') ? cells.map((cell) => `"${cell}"`) : cells
    expect(ticksOf(rows(quoted))).toEqual([0, 2_500_000, 876_544_000_000])
  })

  it('pass midnight, and the hour where none is written', () => {
    const over = [0, 1_000_000, 2_000_000]
    expect(
      ticksOf(
        rows(['2031-12-31 23:59:59.999999', '2032-01-01 00:00:00.000000', '2032-01-01 00:00:00.000001']),
      ),
    ).toEqual(over)
    expect(ticksOf(rows(['23:59:59.999999', '00:00:00.000000', '00:00:00.000001']))).toEqual(over)
    expect(ticksOf(rows(['59:59.999999', '00:00.000000', '00:00.000001']))).toEqual(over)
  })

  it('keep picoseconds', () => {
    expect(
      ticksOf(rows(['10:00:00.000000000041', '10:00:00.000000041708', '10:00:01.000000000000'])),
    ).toEqual([0, 41_667, 999_999_999_959])
  })

  it('running backward are refused like any other time', () => {
    expect(readCsv(rows(['10:00:00.000002', '10:00:00.000001', '10:00:00.000003'])).error).toMatchObject({
      code: 'CSV_TIME_BACKWARD',
    })
  })
})

describe('a capture with times of day', () => {
  const card = drawCard('mda', 'text', { frames: 2.2 })
  const samples = sampleSignal(card.signal, { sampleRateHz: 50e6, phase: 0.5 })

  /** Half past eleven at night, so that the capture passes midnight. */
  const csv = (decimals: number): Uint8Array => {
    const lines = [`Time,${samples.channels.join(',')}`]
    samples.sampleIndex.forEach((sample, n) => {
      const seconds = 86_400 - 0.01 + sample / samples.sampleRateHz
      const day = seconds < 86_400 ? '2031-05-06' : '2031-05-07'
      const ofDay = seconds % 86_400
      const [hours, minutes] = [Math.floor(ofDay / 3600), Math.floor(ofDay / 60) % 60]
      const rest = (ofDay % 60).toFixed(decimals).padStart(decimals + 3, '0')
      const clock = `${String(hours).padStart(2, '0')}:${String(minutes).padStart(2, '0')}:${rest}`
      const levels = samples.channels.map((_, channel) => (samples.levelWord[n]! >>> channel) & 1)
      lines.push(`${day} ${clock},${levels.join(',')}`)
    })
    return new TextEncoder().encode(`${lines.join('\n')}\n`)
  }

  it('is measured as well as one with seconds', () => {
    const { main } = measureBytes(csv(9))
    expect(main.classification.standard?.id).toBe('mda-350')
    expect(main.raster).toMatchObject({
      scanlinesPerFrame: 370,
      dotsPerScanline: 882,
      dotClockFrom: 'measured',
    })
    const { value, uncertainty } = main.hsync.frequencyHz
    expect(Math.abs(value - card.signal.truth.scanlineHz)).toBeLessThan(3 * uncertainty)
  })

  it('in microseconds gives the rates, and says that dots are beyond it', () => {
    const measurement = measureBytes(csv(6))
    expect(measurement.main.classification.standard?.id).toBe('mda-350')
    expect(measurement.main.raster).toMatchObject({ scanlinesPerFrame: 370, dotClockFrom: 'standard' })
    expect(measurement.notices.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['CSV_TIME_REPEATED', 'DOT_CLOCK_NOT_MEASURABLE']),
    )
  })
})
