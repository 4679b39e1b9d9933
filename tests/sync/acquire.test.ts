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
