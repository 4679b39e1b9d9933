import { describe, expect, it, test } from 'vitest'
import { median } from '../../src/sync/median.ts'
import { RunningMean } from '../../src/sync/running-mean.ts'
import { UsualWidth } from '../../src/sync/usual-width.ts'
import { degreesShown, legendre, MAX_DEGREE, wanderVariance } from '../../src/sync/wander.ts'

test('RunningMean: mean, unbiased variance, extremes', () => {
  const mean = new RunningMean()
  mean.add(-4)
  expect([mean.variance, mean.rms, mean.min, mean.max]).toEqual([0, 0, -4, -4])
  for (const value of [2, 3, 7]) mean.add(value)
  // squares about 2: 36 + 0 + 1 + 25 = 62, over three degrees of freedom
  expect([mean.count, mean.mean, mean.min, mean.max]).toEqual([4, 2, -4, 7])
  expect(mean.variance).toBeCloseTo(62 / 3, 12)
  expect(mean.rms).toBeCloseTo(Math.sqrt(62 / 3), 12)
})

test('median: the middle one, the upper of two', () => {
  expect(median([])).toBeUndefined()
  expect(median([9, 1, 10])).toBe(9)
  expect(median([4, 3, 1, 2])).toBe(3)
})

describe('UsualWidth', () => {
  it('knows a width by samples: 2.25 off is right, and 0.75 where the edge is off as well', () => {
    const usual = new UsualWidth(10)
    usual.start(200, 0)
    for (const [width, isEdgeOff, isWrong] of [
      [222.5, false, false],
      [222.6, false, true],
      [177.4, false, true],
      [177.5, false, false],
      [207.5, true, false],
      [207.6, true, true],
      [192.4, true, true],
    ] as const)
      expect(usual.isWrong(width, isEdgeOff), `${width} ${isEdgeOff}`).toBe(isWrong)
    expect(usual.tolerance).toBe(22.5)
  })

  it('allows for jitter beyond what sampling explains, and follows the mean slowly', () => {
    const usual = new UsualWidth(10)
    // 13 ticks of scatter, of which sampling explains up to 5: 12 are left
    usual.start(200, 13)
    const perJitter = (usual.tolerance - 10) / 12
    expect(perJitter).toBeGreaterThan(3)
    usual.start(200, Math.sqrt(36 ** 2 + 25))
    expect((usual.tolerance - 10) / 36).toBeCloseTo(perJitter, 9)
    usual.add(264)
    expect(usual.mean).toBe(201)
    // a sixty-fourth of the way from 36² + 25 to 64²
    const variance = 36 ** 2 + 25 + (64 ** 2 - 36 ** 2 - 25) / 64
    expect(usual.tolerance).toBeCloseTo(10 + perJitter * Math.sqrt(variance - 25), 9)
  })
})

describe('wander', () => {
  it('looks at a degree per six points, from the fifth to the last', () => {
    expect([0, 29, 30, 35, 36, 6 * MAX_DEGREE, 1e6].map(degreesShown)).toEqual([
      0,
      0,
      5,
      5,
      6,
      MAX_DEGREE,
      MAX_DEGREE,
    ])
  })

  it('takes Legendre polynomials of unit mean square', () => {
    // by their closed forms (Abramowitz and Stegun, 1972, table 22.9)
    const closed = [
      (x: number) => (3 * x ** 2 - 1) / 2,
      (x: number) => (5 * x ** 3 - 3 * x) / 2,
      (x: number) => (35 * x ** 4 - 30 * x ** 2 + 3) / 8,
    ]
    const number = Float64Array.from({ length: 50 }, (_, i) => 100 + 2 * i)
    const list = legendre(number, 2, 4)
    expect(list).toHaveLength(3)
    for (const [i, polynomial] of list.entries()) {
      for (const at of [0, 17, 25, 49]) {
        // middles of fifty intervals that fill -1 to 1
        const x = (2 * at + 1) / 50 - 1
        expect(polynomial[at]!).toBeCloseTo(Math.sqrt(2 * (i + 2) + 1) * closed[i]!(x), 9)
      }
    }
  })

  it('finds none in even noise, and what is there in a walk', () => {
    const known = new Float64Array(20).fill(2)
    expect(wanderVariance(new Float64Array(0), known)).toBe(0)
    expect(wanderVariance(known.slice(), new Float64Array(20))).toBe(0)
    const even = wanderVariance(known.slice(), known)
    expect(even).toBeGreaterThan(0)
    expect(even).toBeLessThan(0.5)
    // a random walk: of degree d in proportion to 1/((2d - 1)(2d + 3)), that of degree 1 being 1000
    const walk = Float64Array.from({ length: 20 }, (_, i) => 2 + 5000 / ((2 * i + 3) * (2 * i + 7)))
    const found = wanderVariance(walk, known)
    expect(found).toBeGreaterThan(700)
    expect(found).toBeLessThan(1900)
    // the unit of time does not matter
    const scaled = wanderVariance(
      walk.map((power) => 1e6 * power),
      known.map((power) => 1e6 * power),
    )
    expect(scaled / found).toBeCloseTo(1e6, 0)
  })
})
