import { describe, expect, it } from 'vitest'

import { isUsualRate, usualInterval } from '../../src/transitions/usual-rates.ts'

describe('isUsualRate', () => {
  it.each([
    [1 / 24e6, 1, true],
    [41.6666667, 1e-9, true],
    [20, 1e-9, true],
    [80, 1e-9, true],
    [61.512, 1e-9, false], // 16.257 MHz
    [69.8413, 1e-9, false], // 14.318 MHz
    [41, 1e-9, false],
    [41.6666667, null, false],
  ] as const)('%d ticks of %s s: %s', (ticks, secondsPerTick, usual) => {
    expect(isUsualRate(ticks, secondsPerTick)).toBe(usual)
  })

  it('gives the interval of the rate itself', () => {
    expect(usualInterval(41.66667, 1e-9)).toBeCloseTo(1e3 / 24, 12)
    expect(usualInterval(41.66667, 1e-9, 1e-9)).toBeNull()
    expect(usualInterval(62.5, 1e-9)).toBeCloseTo(62.5, 12)
  })
})
