// Pairs of edges that are put down far from each other, so that nothing but each pair's own distance counts.

import { describe, expect, it } from 'vitest'
import { EdgeRepeats } from '../../src/sync/edge-repeats.ts'

/** So many pairs of each distance; others are 700 bins apart or more. */
function repeatsOf(pairs: Readonly<Record<number, number>>): EdgeRepeats {
  const counts = new Float64Array(1 << 17)
  let at = 0
  for (const [distance, times] of Object.entries(pairs))
    for (let i = 0; i < times; i++) {
      counts[at]!++
      counts[at + Number(distance)]!++
      at += 1000
    }
  expect(at).toBeLessThan(counts.length / 2)
  return new EdgeRepeats(counts)
}

/** A pair at a bin makes so much of two bins, of the 52 that are looked at. */
const ONE = 2 / 52

describe('EdgeRepeats', () => {
  it('counts pairs around a distance, from 30 bins before it to 30 past the next, without those up to 4 bins off', () => {
    const repeats = repeatsOf({ 200: 1 })
    const around = (lag: number): number => repeats.around(lag)
    for (const lag of [200 + 30, 200 + 5, 200 - 6, 200 - 31]) expect(around(lag)).toBeCloseTo(ONE, 9)
    for (const lag of [200 + 31, 200 + 4, 200, 200 - 5, 200 - 32]) expect(around(lag)).toBeCloseTo(0, 9)
  })

  it('has what a distance and the next hold beyond that', () => {
    const repeats = repeatsOf({ 200: 5, 201: 2, 220: 1 })
    expect(repeats.excess(200)).toBeCloseTo(7 - ONE, 9)
    expect(repeats.excess(199)).toBeCloseTo(5 - ONE, 9)
    expect(repeats.excess(201)).toBeCloseTo(2 - ONE, 9)
    expect(repeats.excess(202)).toBeCloseTo(-ONE, 9)
  })

  it('goes no lower than no distance', () => {
    // 20 of 62 bins are missing there; no edge is counted with itself but at none
    const repeats = repeatsOf({ 30: 1 })
    expect(repeats.around(20)).toBeCloseTo((2 * (2 + 1)) / (20 + 32 - 10), 9)
  })

  it('measures a distance by both bins', () => {
    expect(repeatsOf({ 200: 3, 201: 1 }).distance(200)).toBeCloseTo(200.25, 9)
    expect(repeatsOf({ 200: 4 }).distance(200)).toBeCloseTo(200, 9)
    expect(repeatsOf({ 200: 4 }).distance(199)).toBeCloseTo(200, 9)
    // less what chance puts into either: one and two of 13 pairs around
    const dense = repeatsOf({ 200: 3, 201: 2, 220: 13 })
    expect(dense.distance(200)).toBeCloseTo(200 + (2 - 0.25) / (5 - 0.5), 9)
    // never beyond them
    expect(repeatsOf({ 201: 3, 220: 13 }).distance(200)).toBe(201)
    expect(repeatsOf({ 200: 3, 220: 13 }).distance(200)).toBe(200)
  })

  it('finds the highest within reach', () => {
    const repeats = repeatsOf({ 194: 5, 195: 5, 203: 2, 204: 2, 206: 6, 207: 5 })
    // a distance and the next count together
    const peaks = [2, 3, 4, 5, 6].map((reach) => repeats.peakNear(200, reach))
    expect(peaks).toEqual([202, 203, 203, 205, 206])
    expect([4, 5].map((reach) => repeats.peakNear(199, reach))).toEqual([195, 194])
  })

  it('is alone where none from 4 bins off on has more than seven tenths', () => {
    const isAlone = (other: number, times: number, reach: number): boolean =>
      repeatsOf({ 200: 10, [other]: times }).isAlone(200, reach)
    // bins 210 and 190 are those of distances 209 and 190
    expect([isAlone(210, 8, 8), isAlone(210, 8, 9), isAlone(210, 6, 30)]).toEqual([true, false, true])
    expect([isAlone(190, 8, 9), isAlone(190, 8, 10), isAlone(190, 6, 30)]).toEqual([true, false, true])
    // what is nearer is its own
    expect([isAlone(203, 8, 30), isAlone(204, 8, 30)]).toEqual([true, false])
    expect([isAlone(198, 8, 30), isAlone(197, 8, 30)]).toEqual([true, false])
  })
})
