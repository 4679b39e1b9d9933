// Edges around a lock by hand: scanlines of 1000 ticks, pulses of 100, samples of 10. The lock knows one edge alone, so that
// an edge may be off by 1.62 samples.

import { describe, expect, it } from 'vitest'
import type { SyncLock } from '../../src/sync/acquire.ts'
import { EdgeQueue } from '../../src/sync/edge-queue.ts'
import {
  AS_BEFORE_SHARE,
  edgesBefore,
  firstAsBefore,
  MOST_AS_BEFORE_SHARE,
  scanlinesBefore,
} from '../../src/sync/relock.ts'
import { ScanlinePrediction } from '../../src/sync/scanline-prediction.ts'

const PERIOD = 1000
const WIDTH = 100
const TOLERANCE = 16.2

const spread = (mean: number): SyncLock['leads'] => ({
  lowest: mean,
  highest: mean,
  mean,
  scatter: 0,
  count: 1,
  steps: { mean: PERIOD, variance: 0, last: PERIOD },
  isJittery: false,
})
const LOCK: SyncLock = {
  polarity: 'positive',
  periodTicks: PERIOD,
  widthTicks: WIDTH,
  widthScatterTicks: 0,
  startTick: 10_000,
  startEdge: 0,
  leads: spread(0),
  trails: spread(WIDTH),
}

type Pulse = readonly [number, number]
const at = (lead: number, width = WIDTH): Pulse => [lead, lead + width]
const pulses = (count: number, from = 10_000, period = PERIOD): Pulse[] =>
  Array.from({ length: count }, (_, n) => at(from + n * period))

function queueOf(list: readonly Pulse[], level = 1): EdgeQueue {
  const queue = new EdgeQueue()
  for (const [lead, trail] of list) {
    queue.push(lead, level)
    queue.push(trail, 1 - level)
  }
  return queue
}

/** Whose next pulse is expected at 10 000. */
function prediction(): ScanlinePrediction {
  const now = new ScanlinePrediction(10)
  now.start(LOCK, 5, 10_000)
  return now
}

describe('firstAsBefore', () => {
  const first = (
    list: readonly Pulse[],
    level = 1,
    end?: number,
    share = AS_BEFORE_SHARE,
  ): number | undefined => {
    const queue = queueOf(list, level)
    return firstAsBefore(queue, end ?? queue.count, level, prediction(), share)
  }

  it('is the first pulse that is in its place, where at least half of the scanlines are as before', () => {
    // from the first to the tenth are nine scanlines
    const stray = (count: number): Pulse[] =>
      pulses(10).map(([lead, trail], n): Pulse => (n < count ? [lead + 300, trail + 300] : [lead, trail]))
    expect(first(stray(0))).toBe(10_000)
    expect(first(stray(5))).toBe(15_000)
    expect(first(stray(6))).toBeUndefined()
    // four of eight
    expect(first(stray(5).slice(0, 9))).toBe(15_000)
    expect(first([])).toBeUndefined()
  })

  it('wants the share that is asked for, of pulses in their places and as wide as they', () => {
    expect(first([at(11_200), at(12_300), at(13_000), at(14_000), at(15_000)])).toBe(13_000)
    expect(first([at(11_200), at(12_300), at(13_250), at(14_200), at(15_000)])).toBeUndefined()
    expect(
      first([at(11_000, 200), at(12_000, 200), at(13_000, 200), at(14_000, 200), at(15_000)]),
    ).toBeUndefined()
    expect(first([at(11_000, 200), at(12_000), at(13_000)])).toBe(12_000)
    const most = (...list: Pulse[]): number | undefined => first(list, 1, undefined, MOST_AS_BEFORE_SHARE)
    expect(most(at(11_200), at(12_000), at(13_000), at(14_000))).toBe(12_000)
    expect(most(at(11_200), at(12_200), at(13_000), at(14_000), at(15_000))).toBeUndefined()
  })

  it('counts scanlines without a pulse as well', () => {
    expect(first([...pulses(5), ...pulses(5, 24_000)])).toBe(10_000)
    expect(first([...pulses(5), ...pulses(4, 29_000)])).toBeUndefined()
  })

  it('wants twice what an edge may be off at most, and a width of a quarter of a sample more than two', () => {
    expect(prediction().line.tolerance).toBeCloseTo(TOLERANCE, 9)
    for (const sign of [1, -1]) {
      expect(first([at(10_000 + sign * 32)])).toBe(10_000 + sign * 32)
      expect(first([at(10_000 + sign * 33)])).toBeUndefined()
      expect(first([at(10_000, WIDTH + sign * 22)])).toBe(10_000)
      expect(first([at(10_000, WIDTH + sign * 23)])).toBeUndefined()
    }
  })

  it('goes along with a period that is a little off', () => {
    for (const off of [-1, 1]) expect(first(pulses(200, 10_000, PERIOD + off))).toBe(10_000)
  })

  it('looks at pulses of the level it is told, up to the edge it is told', () => {
    expect(first(pulses(4), 0)).toBe(10_000)
    // gaps between low pulses are no pulses
    const queue = queueOf(pulses(4))
    expect(firstAsBefore(queue, queue.count, 0, prediction(), AS_BEFORE_SHARE)).toBeUndefined()
    // a pulse whose end lies beyond is not known
    expect(first(pulses(4), 1, 2)).toBe(10_000)
    expect(first(pulses(4), 1, 1)).toBeUndefined()
    // what is not kept any more is not looked at
    queue.keepFromTick(11_500, 1)
    expect(firstAsBefore(queue, queue.count, 1, prediction(), AS_BEFORE_SHARE)).toBe(12_000)
  })
})

describe('scanlinesBefore', () => {
  const before = (list: readonly Pulse[], keptFrom = 0): number => {
    const queue = queueOf([...list, ...pulses(3)])
    queue.keepFromTick(keptFrom, 1)
    return scanlinesBefore(queue, 2 * list.length, 1, LOCK)
  }

  it('counts pulses that lie whole scanlines before the lock, by a quarter', () => {
    expect(before([])).toBe(0)
    expect(before(pulses(2, 8000))).toBe(2)
    for (const off of [-249, 249]) expect(before([at(9000 + off)])).toBe(1)
    for (const off of [-250, 250]) expect(before([at(9000 + off)])).toBe(0)
    // one after the other
    expect(before([at(7000), at(9000)])).toBe(1)
    expect(before([at(8000), at(8400), at(9000)])).toBe(2)
  })

  it('counts those as wide as the others by a quarter', () => {
    for (const off of [-25, 25]) expect(before([at(9000, WIDTH + off)])).toBe(1)
    for (const off of [-26, 26]) expect(before([at(9000, WIDTH + off)])).toBe(0)
  })

  it('counts several that are off each in its own way, up to one that is too far off or of another width', () => {
    expect(before([at(7200), at(7800), at(9240)])).toBe(3)
    expect(before([at(8000), at(9260)])).toBe(0)
    expect(before([at(8000), at(9000, 130)])).toBe(0)
    expect(before([at(8000), at(9000, 120)])).toBe(2)
  })

  it('counts six at most, and none that were let go', () => {
    expect(before(pulses(8, 2000))).toBe(6)
    expect(before(pulses(8, 2000), 7000)).toBe(3)
  })
})

it('edgesBefore: from the first edge on that is less than a scanline before the first pulse', () => {
  const first = (...ticks: number[]): number => {
    const queue = new EdgeQueue()
    ticks.forEach((tick, i) => queue.push(tick, i & 1))
    return edgesBefore(queue, 0, prediction())
  }
  // the pulse of the scanline before may be late by as much as any is
  expect(first(9000, 9016, 9017, 10_000)).toBe(2)
  expect(first(9500, 10_000)).toBe(0)
  const queue = queueOf(pulses(3, 8000))
  expect(edgesBefore(queue, 3, prediction())).toBe(3)
  // edges of pulses of any width
  expect(first(8950, 8970, 9250, 9270, 10_000, 10_100)).toBe(2)
  expect(first(9000 + TOLERANCE - 1, 9030, 10_000, 10_100)).toBe(1)
})
