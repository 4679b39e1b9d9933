import { describe, expect, it, test } from 'vitest'

import { acquireSync, polarityOf, type SyncLock } from '../../src/sync/acquire.ts'
import { newRandom } from '../support/random.ts'

const PERIOD = 1528.67
const WIDTH = 134

/** Alternating edges from [leading, trailing] pairs, rounded up to whole samples as an instrument does. */
function acquire(
  pulses: readonly (readonly [number, number])[],
  pulseLevel: 0 | 1 = 1,
): SyncLock | undefined {
  const edges = pulses
    .flat()
    .map(Math.ceil)
    .sort((a, b) => a - b)
  const tick = Float64Array.from(edges)
  const level = Uint8Array.from(edges, (_, i) => (i % 2 === 0 ? pulseLevel : 1 - pulseLevel))
  return acquireSync(tick, level, edges.length, 1)
}

const pulse = (n: number): [number, number] => [100 + n * PERIOD, 100 + n * PERIOD + WIDTH]

function expectLock(lock: SyncLock | undefined, polarity = 'positive', periodOff = 0.1): void {
  expect(lock).toBeDefined()
  expect(lock!.polarity).toBe(polarity)
  expect(Math.abs(lock!.periodTicks - PERIOD)).toBeLessThan(periodOff)
  expect(Math.abs(lock!.widthTicks - WIDTH)).toBeLessThan(2)
  expect(lock!.leads.scatter).toBeLessThan(1)
}

describe('acquireSync', () => {
  test('clean pulses of either polarity', () => {
    for (const count of [4, 20, 100]) {
      const pulses = Array.from({ length: count }, (_, n) => pulse(n))
      // both ends are rounded to a sample
      expectLock(acquire(pulses), 'positive', 1 / (count - 1))
      expectLock(acquire(pulses, 0), 'negative', 1 / (count - 1))
    }
  })

  test('ringing at the leading edge of every pulse, or of some', () => {
    for (const share of [1, 0.4]) {
      const random = newRandom(3)
      const pulses = Array.from({ length: 60 }, (_, n) => pulse(n)).flatMap(
        ([lead, trail]): [number, number][] =>
          random.uniform() < share
            ? [
                [lead, lead + 4],
                [lead + 7, trail],
              ]
            : [[lead, trail]],
      )
      const lock = acquire(pulses)
      expectLock(lock)
      // from the first piece on, not from where ringing ends
      expect(pulses.flat().map(Math.ceil)[lock!.startEdge]! % 1).toBe(0)
      expect(pulses.some(([lead]) => Math.ceil(lead) === Math.ceil(pulses.flat()[lock!.startEdge]!))).toBe(
        true,
      )
    }
  })

  test('ringing after every trailing edge', () => {
    expectLock(
      acquire(
        Array.from({ length: 60 }, (_, n) => pulse(n)).flatMap(([lead, trail]): [number, number][] => [
          [lead, trail],
          [trail + 5, trail + 9],
        ]),
      ),
    )
  })

  test('a spike in the middle of every scanline', () => {
    expectLock(
      acquire(
        Array.from({ length: 60 }, (_, n) => pulse(n)).flatMap(([lead, trail]): [number, number][] => [
          [lead, trail],
          [lead + 700, lead + 706],
        ]),
      ),
    )
  })

  test('spikes at random, and pulses that are missing', () => {
    const random = newRandom(6)
    const pulses: [number, number][] = []
    for (let n = 0; n < 100; n++) {
      const [lead, trail] = pulse(n)
      if (random.uniform() > 0.15) pulses.push([lead, trail])
      if (random.uniform() < 0.3) {
        const at = trail + 20 + random.uniform() * (PERIOD - WIDTH - 60)
        pulses.push([at, at + 3])
      }
    }
    expectLock(acquire(pulses))
  })

  test('a false pulse just before most pulses, too far from them to be a piece', () => {
    // narrow ones: 5 ticks wide and 9 apart, and a period's 128th is 11.9
    const pulses = Array.from({ length: 60 }, (_, n) => 100 + n * 1500).flatMap(
      (lead, n): [number, number][] =>
        n % 3 === 0
          ? [[lead, lead + 5]]
          : [
              [lead - 9, lead - 4],
              [lead, lead + 5],
            ],
    )
    const lock = acquire(pulses)!
    expect(lock).toMatchObject({ periodTicks: 1500, startTick: 100, startEdge: 0, widthTicks: 5 })
    expect([lock.leads.lowest, lock.leads.highest]).toEqual([0, 0])
  })

  it('finds nothing in noise, or in too little', () => {
    const random = newRandom(7)
    let at = 0
    const noise = Array.from({ length: 100 }, (): [number, number] => {
      const lead = (at += 20 + random.below(3000))
      return [lead, (at += 5 + random.below(40))]
    })
    expect(acquire(noise)).toBeUndefined()
    expect(acquire([pulse(0), pulse(1)])).toBeUndefined()
    expect(acquire([])).toBeUndefined()
  })
})

test('polarity is that of the level that takes less of the time', () => {
  const tick = [0, 10, 100, 110, 200]
  expect(polarityOf(tick, [1, 0, 1, 0, 1], 5)).toBe('positive')
  expect(polarityOf(tick, [0, 1, 0, 1, 0], 5)).toBe('negative')
})

describe('what a lock says, in samples of 10 ticks', () => {
  /** Exact pulses from [lead, trail] on. */
  function lockOf(pulses: readonly (readonly [number, number])[]): SyncLock | undefined {
    const edges = pulses.flat()
    return acquireSync(
      Float64Array.from(edges),
      Uint8Array.from(edges, (_, i) => (i + 1) & 1),
      edges.length,
      10,
    )
  }
  const line = (n: number, late = 0, width = 100): [number, number] => [
    1000 * n + 50 + late,
    1000 * n + 50 + late + width,
  ]
  const lines = (count: number, from = 0): [number, number][] =>
    Array.from({ length: count }, (_, i) => line(from + i))

  it('is what even pulses are', () => {
    expect(lockOf(lines(20))).toMatchObject({
      polarity: 'positive',
      periodTicks: 1000,
      widthTicks: 100,
      widthScatterTicks: 0,
      startTick: 50,
      startEdge: 0,
      leads: {
        lowest: 0,
        highest: 0,
        count: 20,
        isJittery: false,
        steps: { mean: 1000, variance: 0, last: 1000 },
      },
      trails: { lowest: 100, highest: 100, count: 20, isJittery: false },
    })
  })

  it('begins with the first pulse of the longest regular train', () => {
    // strangers first, and one pulse that is out of step
    const lock = lockOf([[100, 140], [420, 470], line(1, 0), line(2, 350), ...lines(20, 3)])!
    expect(lock.periodTicks).toBeCloseTo(1000, 6)
    expect(lock.startTick % 1000).toBeCloseTo(50, 6)
    expect([4, 8]).toContain(lock.startEdge)
  })

  it('takes no part of a train in which half of the scanlines lack their pulse', () => {
    const sparse = (every: number): SyncLock | undefined =>
      lockOf(lines(60).filter((_, n) => n < 6 || n % every === 0))
    expect(sparse(2)).toBeDefined()
    expect(sparse(2)!.periodTicks % 1000).toBeCloseTo(0, 6)
    const pairs = lockOf([line(0), line(1)])
    expect(pairs).toBeUndefined()
    expect(lockOf([line(0), line(1), line(2)])!.periodTicks).toBe(1000)
  })

  it('wants a period of more than four samples', () => {
    const fast = (period: number): SyncLock | undefined =>
      lockOf(Array.from({ length: 40 }, (_, n): [number, number] => [n * period, n * period + 10]))
    expect(fast(40)).toBeUndefined()
    expect(fast(50)).toMatchObject({ periodTicks: 50, widthTicks: 10 })
  })

  it('puts pieces together up to 1.3 widths from the first edge, and begins with the first', () => {
    const cut = lines(30).flatMap(([lead, trail], n): [number, number][] =>
      n % 3 === 0
        ? [
            [lead, lead + 30],
            [lead + 40, trail],
          ]
        : [[lead, trail]],
    )
    expect(lockOf(cut)).toMatchObject({ widthTicks: 100, startEdge: 0, periodTicks: 1000 })
    // a piece too far off makes no wider pulse
    const beside = lines(30).flatMap(([lead, trail]): [number, number][] => [
      [lead, trail],
      [lead + 95 + 40, lead + 145],
    ])
    expect(lockOf(beside)!.widthTicks).toBe(100)
  })

  it('is not misled by broad pulses of a vsync, nor by spikes', () => {
    const composite = lines(60).map(([lead, trail], n): [number, number] => [
      lead,
      n === 30 || n === 31 ? lead + 900 : trail,
    ])
    expect(lockOf(composite)).toMatchObject({ widthTicks: 100, periodTicks: 1000 })
    const spiky = lines(60).flatMap((pulse, n): [number, number][] => [
      pulse,
      [1000 * n + 400 + 7 * n, 1000 * n + 410 + 7 * n],
    ])
    expect(lockOf(spiky)!.periodTicks).toBeCloseTo(1000, 1)
    expect(lockOf(spiky)!.widthTicks).toBe(100)
  })

  it('of several pulses a scanline takes the sum that repeats', () => {
    const thrice = lines(40).flatMap(([lead, trail]): [number, number][] => [
      [lead, trail],
      [lead + 350, lead + 380],
      [lead + 800, lead + 830],
    ])
    const lock = lockOf(thrice)!
    expect(lock.periodTicks).toBe(1000)
    expect(lock.widthTicks).toBe(100)
    expect(lock.startEdge).toBe(0)
  })

  it.each([762, 1098, 1525])(
    'takes no two scanlines for one, however much edges jitter: %i samples',
    (period) => {
      let locks = 0
      for (const sigma of [2, 4, 6, 9, 14, 20]) {
        for (let seed = 1; seed <= 60; seed++) {
          const random = newRandom(seed)
          const lock = acquire(
            Array.from({ length: 128 }, (_, n): [number, number] => {
              const lead = 1000 + n * period + sigma * random.gaussian()
              return [lead, lead + 110]
            }),
          )
          if (!lock) continue
          locks++
          expect(Math.abs(lock.periodTicks / period - 1)).toBeLessThan(0.005)
        }
      }
      // up to half a percent of the scanline and more all lock
      expect(locks).toBeGreaterThan(180)
    },
  )

  it('knows edges that jitter, and widths that scatter with them', () => {
    const random = newRandom(12)
    const jittery = Array.from({ length: 120 }, (_, n): [number, number] => {
      const lead = 10 * Math.round((1000 * n + 50 + 12 * random.gaussian()) / 10)
      return [lead, 10 * Math.round((1000 * n + 150 + 12 * random.gaussian()) / 10)]
    })
    const lock = lockOf(jittery)!
    expect([lock.leads.isJittery, lock.trails.isJittery]).toEqual([true, true])
    // with what samples add, 10 / sqrt(12)
    expect(lock.leads.scatter).toBeGreaterThan(10)
    expect(lock.leads.scatter).toBeLessThan(15)
    // two edges, each by itself
    expect(lock.widthScatterTicks / (12.3 * Math.SQRT2)).toBeGreaterThan(0.8)
    expect(lock.widthScatterTicks / (12.3 * Math.SQRT2)).toBeLessThan(1.2)
    expect(Math.abs(lock.widthTicks - 100)).toBeLessThan(12)
    expect(Math.abs(lock.periodTicks - 1000)).toBeLessThan(0.5)
  })

  it('leaves misplaced and misshapen pulses out', () => {
    const list = lines(40)
    list[10] = line(10, 7)
    list[20] = line(20, 0, 190)
    const lock = lockOf(list)!
    expect([lock.widthTicks, lock.widthScatterTicks]).toEqual([100, 0])
    const moved = lockOf(lines(40).map((pulse, n) => (n === 10 ? line(10, 40) : pulse)))!
    expect(moved.leads).toMatchObject({ count: 39 })
    expect(moved.periodTicks).toBeCloseTo(1000, 6)
  })
})
