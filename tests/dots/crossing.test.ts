// Samples about a boundary, put down bin by bin: 128 of them to a dot, the boundary taken to be at the 64th.

import { expect, it } from 'vitest'
import { BINS, crossing, type Sides } from '../../src/dots/crossing.ts'

/** As many samples in each bin, of which those from `at` on show the dot after the boundary. */
function sidesOf(at: number, each = 20): Sides {
  return {
    all: new Float64Array(BINS).fill(each),
    after: Float64Array.from({ length: BINS }, (_, bin) => (bin >= at ? each : 0)),
  }
}

it('lies where samples go from one side to the other', () => {
  for (const at of [5, 64, 70, 123])
    expect(crossing(sidesOf(at))).toEqual({
      place: at / BINS - 0.5,
      jitter: 0,
      samples: 20 * BINS,
      sharp: true,
    })
})

it('lies where the fewest are on its wrong side', () => {
  const sides = sidesOf(70)
  // of three bins before it most show what comes after, of one none
  for (const [bin, after] of [
    [66, 1],
    [67, 11],
    [68, 12],
    [69, 9],
  ] as const)
    sides.after[bin] = after
  // from 67 on: 1 before, and 9, 8 and 11 after it; from 69 on: 1, 11, 12 and 11; from 70 on: 33
  expect(crossing(sides).place).toBe(67 / BINS - 0.5)
})

it('lies in the middle of where nothing tells, and sharply only if that is short and samples are many', () => {
  const gap = (from: number, to: number): Sides => {
    const sides = sidesOf(from)
    sides.all.fill(0, from, to)
    sides.after.fill(0, from, to)
    return sides
  }
  expect(crossing(gap(60, 63))).toMatchObject({ place: 61.5 / BINS - 0.5, sharp: false })
  expect(crossing(gap(60, 90))).toMatchObject({ place: 75 / BINS - 0.5, sharp: false })
  // half of a bin's samples on either side: both of its ends are as good
  const even = (bins: number): Sides => {
    const sides = sidesOf(70)
    sides.after.fill(10, 70, 70 + bins)
    return sides
  }
  expect(crossing(even(1))).toMatchObject({ place: 70.5 / BINS - 0.5, sharp: true })
  expect(crossing(even(3))).toMatchObject({ place: 71.5 / BINS - 0.5, sharp: true })
  expect(crossing(even(4))).toMatchObject({ place: 72 / BINS - 0.5, sharp: false })
})

it('is sharp where each of four bins on either side holds ten samples', () => {
  const sharp = (bin: number, samples: number): boolean => {
    const sides = sidesOf(64)
    sides.all[bin] = samples
    if (bin >= 64) sides.after[bin] = samples
    return crossing(sides).sharp
  }
  for (const bin of [60, 63, 64, 67]) expect([bin, sharp(bin, 10), sharp(bin, 9)]).toEqual([bin, true, false])
  for (const bin of [59, 68]) expect([bin, sharp(bin, 0)]).toEqual([bin, true])
})

it('jitters by the shares on the wrong side, within three tenths of a dot', () => {
  // they add up to sigma / sqrt(2 pi) on either side
  const share = Math.sqrt(Math.PI / 2) / BINS
  const jitter = (wrong: Readonly<Record<number, number>>): number => {
    const sides = sidesOf(64)
    for (const [bin, count] of Object.entries(wrong))
      sides.after[Number(bin)] = Number(bin) < 64 ? count : 20 - count
    return crossing(sides).jitter / share
  }
  expect(jitter({ 63: 5 })).toBeCloseTo(0.25, 9)
  expect(jitter({ 62: 2, 63: 5, 64: 4, 66: 1 })).toBeCloseTo(0.6, 9)
  // 38 bins of the 38.4 that are three tenths
  expect(jitter({ 26: 5, 101: 5 })).toBeCloseTo(0.5, 9)
  expect(jitter({ 25: 5, 102: 5 })).toBeCloseTo(0, 9)
  // of normal jitter of four bins, whose wrong shares are the tails of its distribution
  const tail = (deviations: number): number => {
    let sum = 0
    for (let x = deviations; x < 8; x += 0.001)
      sum += (Math.exp(-(x ** 2) / 2) * 0.001) / Math.sqrt(2 * Math.PI)
    return sum
  }
  const sides = sidesOf(64, 1e6)
  for (let bin = 0; bin < BINS; bin++) {
    const wrong = Math.round(1e6 * tail(Math.abs(bin + 0.5 - 64) / 4))
    sides.after[bin] = bin < 64 ? wrong : 1e6 - wrong
  }
  expect(crossing(sides).jitter * BINS).toBeCloseTo(4, 1)
})

it('tells nothing of no samples', () => {
  expect(crossing({ all: new Float64Array(BINS), after: new Float64Array(BINS) })).toEqual({
    place: 0,
    jitter: 0,
    samples: 0,
    sharp: false,
  })
})
