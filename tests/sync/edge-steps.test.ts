import { expect, test } from 'vitest'
import { stepShare, strayVariance } from '../../src/sync/edge-steps.ts'

test('share of a sample by which steps are longer than whole samples', () => {
  // in samples of 10 ticks, steps of 1003 and 1013: whole samples lie at 3 past the tens
  expect(stepShare({ mean: 1005.5, variance: 0, last: 1003 }, 10)).toBeCloseTo(0.25, 12)
  expect(stepShare({ mean: 1005.5, variance: 0, last: 1013 }, 10)).toBeCloseTo(0.25, 12)
  expect(stepShare({ mean: 1013, variance: 0, last: 1013 }, 10)).toBe(0)
})

test('steps of a steady line have the variance of two neighbouring values, and no stray one', () => {
  // one step of four is a sample of 10 ticks longer: variance 10² · 1/4 · 3/4
  const steady = { mean: 1002.5, variance: 18.75, last: 1010 }
  expect(strayVariance(steady, 10)).toBeCloseTo(0, 12)
  // 7 ticks² more are 0.07 samples²
  expect(strayVariance({ ...steady, variance: 25.75 }, 10)).toBeCloseTo(0.07, 12)
  expect(strayVariance({ ...steady, variance: 10 }, 10)).toBe(0)
})
