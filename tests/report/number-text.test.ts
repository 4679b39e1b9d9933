// Numbers as a person reads them. Expected texts are written by hand from the rule that stands beside them.

import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { count, measured, measuredRate, percent, plain, relative } from '../../src/report/number-text.ts'

describe('measured: two digits of the doubt, at most seven of the value', () => {
  test.each([
    [8.304e-6, 0.55e-9, '8.30400 us ± 550 ps'],
    [5.58757e-6, 12e-9, '5.588 us ± 12 ns'],
    [5.58757e-6, 1.2e-6, '5.6 us ± 1.2 us'],
    [11.174545e-6, 57e-15, '11.17455 us ± 57 fs'],
    [110e-9, 42e-9, '110 ns ± 42 ns'],
    [1e-3, 0, '1.000000 ms ± 0 s'],
  ])('%d s to %d s is %j', (value, uncertainty, text) => {
    expect(measured({ value, uncertainty }, 's')).toBe(text)
  })
})

describe('measuredRate: the doubt in ppm', () => {
  test.each([
    [15_699.7613, 0.0005, '15.6997613 kHz', '± 0.03 ppm'],
    [59.9227, 0.00012, '59.92270 Hz', '± 2 ppm'],
    [14_318_181, 1000, '14.3182 MHz', '± 70 ppm'],
    [21_850.8, 0, '21.850800 kHz', '± 0.01 ppm'],
  ])('%d Hz to %d Hz', (value, uncertainty, shown, ppm) => {
    const text = measuredRate({ value, uncertainty })
    expect(text.endsWith(ppm)).toBe(true)
    // at most six decimals
    const [, digits] = /^(\d+\.?\d*) ([kM]?Hz) /.exec(text)!.slice(0, 2)
    expect(shown.startsWith(digits!)).toBe(true)
    expect(Math.abs(Number(digits) * unitOf(text) - value)).toBeLessThanOrEqual(
      Math.max(uncertainty / 5, value * 1e-7),
    )
  })

  const unitOf = (text: string): number => (text.includes('MHz') ? 1e6 : text.includes('kHz') ? 1e3 : 1)

  it('never claims less doubt than there is, by more than rounding', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 40, max: 3e7, noNaN: true }),
        fc.double({ min: 1e-10, max: 1e-3, noNaN: true }),
        (value, share) => {
          const ppm = Number(/± ([\d.]+) ppm$/.exec(measuredRate({ value, uncertainty: value * share }))![1])
          expect(ppm).toBeGreaterThanOrEqual(share * 1e6 * 0.66)
          expect(ppm).toBeLessThanOrEqual(Math.max(0.01, share * 1e6 * 1.5))
        },
      ),
    )
  })
})

describe('plain', () => {
  test.each([
    [18_432, 'Hz', 6, '18.432 kHz'],
    [16_257_000, 'Hz', 6, '16.257 MHz'],
    [0, 's', 6, '0 s'],
    [0.0837, 's', 3, '83.7 ms'],
    [-4.2e-9, 's', 2, '-4.2 ns'],
    [999.9999, 'Hz', 6, '1 kHz'],
    [1e9, 'S/s', 5, '1 GS/s'],
    [3e-14, 's', 2, '30 fs'],
  ])('%d %s with %d digits is %j', (value, unit, digits, text) => {
    expect(plain(value, unit, digits)).toBe(text)
  })

  it('reads back as the same number', () => {
    const factors: Record<string, number> = {
      G: 1e9,
      M: 1e6,
      k: 1e3,
      '': 1,
      m: 1e-3,
      u: 1e-6,
      n: 1e-9,
      p: 1e-12,
    }
    fc.assert(
      fc.property(fc.double({ min: 1e-11, max: 1e11, noNaN: true }), (value) => {
        const match = /^([\d.e+]+) ([GMkmunp]?)Hz$/.exec(plain(value, 'Hz'))!
        expect(Math.abs((Number(match[1]) * factors[match[2]!]!) / value - 1)).toBeLessThan(1e-5)
      }),
    )
  })
})

describe('relative', () => {
  test.each([
    [0, '0 ppm'],
    [4e-8, '0 ppm'],
    [6e-8, '+0.1 ppm'],
    [-18e-6, '-18 ppm'],
    [9.4e-6, '+9.4 ppm'],
    [-0.001905, '-1905 ppm'],
    [0.0162, '+1.62 %'],
    [-0.5, '-50.00 %'],
  ])('%d is %j', (ratio, text) => {
    expect(relative(ratio)).toBe(text)
  })
})

describe('percent', () => {
  test.each([
    [1, '100.0 %'],
    [0.9999999, '> 99.9 %'],
    [0.9991, '> 99.9 %'],
    [0.9954, '99.5 %'],
    [0.94, '94 %'],
    [0.004, '0 %'],
    [0, '0 %'],
  ])('%d is %j', (share, text) => {
    expect(percent(share)).toBe(text)
  })

  it('says 100 only of what is certain', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1, maxExcluded: true, noNaN: true }), (share) => {
        expect(percent(share)).not.toMatch(/^100/)
      }),
    )
  })
})

it('counts one and many', () => {
  expect([0, 1, 2].map((n) => count(n, 'dot'))).toEqual(['0 dots', '1 dot', '2 dots'])
  expect(count(2, 'frame is', 'frames are')).toBe('2 frames are')
})
