import { describe, expect, it, test } from 'vitest'
import {
  decadeOf,
  nearestValue,
  SERIES_NAMES,
  valueAtOrAbove,
  valuesBetween,
} from '../../src/adapter/e-series.ts'

// typed from IEC 60063:2015, as printed there: two digits for E12 and E24, three for E48 and E96
const published = {
  E12: '10 12 15 18 22 27 33 39 47 56 68 82',
  E24: '10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91',
  E48: `100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274 287 301
        316 332 348 365 383 402 422 442 464 487 511 536 562 590 619 649 681 715 750 787 825 866 909 953`,
  E96: `100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174
        178 182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309
        316 324 332 340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549
        562 576 590 604 619 634 649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976`,
} as const

test.each(SERIES_NAMES)('%s is the series of IEC 60063', (name) => {
  const digits = published[name].split(/\s+/).map(Number)
  expect(decadeOf(name)).toEqual(digits.map((value) => (value < 100 ? value * 10 : value)))
})

describe('values', () => {
  it('are the doubles that their decimal forms mean, over all decades', () => {
    expect(valuesBetween('E12', 1, 10)).toEqual([
      1, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2, 10,
    ])
    expect(valuesBetween('E96', 9.75, 10.3)).toEqual([9.76, 10, 10.2])
    expect(valuesBetween('E24', 900e3, 1.2e6)).toEqual([910e3, 1e6, 1.1e6, 1.2e6])
  })

  it('include both ends and are none where nothing lies between', () => {
    expect(valuesBetween('E12', 390, 390)).toEqual([390])
    expect(valuesBetween('E12', 391, 469)).toEqual([])
    expect(valuesBetween('E12', 470, 390)).toEqual([])
  })

  it.each(SERIES_NAMES)('%s: the nearest is nearer by ratio than every other', (name) => {
    const all = valuesBetween(name, 1, 10e6)
    for (let ohms = 1.03; ohms < 9.9e6; ohms *= 1.0173) {
      const off = (value: number): number => Math.abs(Math.log(value / ohms))
      expect(off(nearestValue(name, ohms))).toBe(Math.min(...all.map(off)))
      expect(valueAtOrAbove(name, ohms)).toBe(all.find((value) => value >= ohms * (1 - 1e-12)))
    }
  })

  it('stop at the largest', () => {
    expect(nearestValue('E12', 1e9)).toBe(10e6)
    expect(valueAtOrAbove('E12', 1e9)).toBeUndefined()
  })
})
