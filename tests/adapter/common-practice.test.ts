// What the trade goes by, beside what the published timings give. Where they disagree the disagreement is stated, and
// the tool goes by the published timings.

import { describe, expect, it, test } from 'vitest'
import { VGA_LOWEST_SCANLINE_HZ } from '../../src/adapter/monitor-kinds.ts'
import { designResistors } from '../../src/adapter/resistor-pick.ts'
import { scanlineRateHz } from '../../src/classify/standard.ts'
import { STANDARDS } from '../../src/classify/standards.ts'

const scanlineMicroseconds = (id: string): number =>
  1e6 / scanlineRateHz(STANDARDS.find((row) => row.id === id)!)

describe('scanlines from MDA to EGA last 47 to 66 us (common practice)', () => {
  const cards = STANDARDS.filter(({ colour }) => colour !== 'analog').map(({ id }) => id)
  const all = cards.map(scanlineMicroseconds)

  test('the catalogue gives 45.8 to 64.0 us for the TTL cards and computers that such adapters serve', () => {
    // 744 dots of 16.257 MHz (IBM Enhanced Graphics Adapter manual) are the shortest by 1.2 us against 47: taken for a
    // filter's limit, 47 us would throw away every scanline of a 350-line EGA
    expect(scanlineMicroseconds('ega-350')).toBeCloseTo(744 / 16.257, 9)
    expect(scanlineMicroseconds('ega-350')).toBeCloseTo(45.765, 3)
    expect(scanlineMicroseconds('ega-350')).toBeLessThan(47)
    // 912 periods of 4 times the colour subcarrier (IBM PC Technical Reference) are the longest of the cards; 66 us is
    // 3 % more, as much as the hold range of their monitors
    expect(scanlineMicroseconds('cga-200')).toBeCloseTo(63.7, 1)
    expect(scanlineMicroseconds('mda-350')).toBeCloseTo(54.25, 2)
    // home computers with digital colour reach 64.0 us
    expect(Math.max(...all)).toBeCloseTo(64, 1)
  })

  it('holds for all but the 350-line EGA and faster ones, within its own upper end', () => {
    const outside = cards.filter((_, n) => all[n]! < 47 || all[n]! > 66)
    expect(outside).toContain('ega-350')
    for (const id of ['mda-350', 'mono-348', 'cga-200', 'ega-200', 'ega-mono-350'])
      expect(outside).not.toContain(id)
  })
})

describe('monitors and cables', () => {
  test('most VGA monitors refuse less than 31 kHz: no TTL card reaches it', () => {
    expect(VGA_LOWEST_SCANLINE_HZ).toBe(31_000)
    for (const row of STANDARDS.filter(({ colour }) => colour !== 'analog'))
      expect(scanlineRateHz(row)).toBeLessThan(VGA_LOWEST_SCANLINE_HZ)
  })

  test('half an ohm of cable on 75 moves full scale by half a per cent of the rest, not more', () => {
    const topVolts = (loadOhms: number): number =>
      (3.3 * loadOhms) /
      (loadOhms + designResistors({ network: { kind: 'weighted', bits: 2 } }).ideal.parallelOhms)
    const change = topVolts(75.5) / topVolts(75) - 1
    // dV/V = dR/R * Rs / (R + Rs), with Rs = 278.6 ohm
    expect(change).toBeCloseTo((0.5 / 75) * (278.57 / 353.57), 4)
    expect(change).toBeLessThan(0.006)
  })
})
