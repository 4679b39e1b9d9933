// A minute of scanlines: memory stays flat, the list of faults is bounded, and nothing is forgotten in the totals.

import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { expect, it } from 'vitest'
import { forgiveAbsentHsync } from '../src/sync/hsync-in-vsync.ts'
import { SyncFollower, type SyncListener } from '../src/sync/sync-follower.ts'
import { MAX_FAULTS_LISTED } from '../src/sync/fault-list.ts'
import type { SegmentSync } from '../src/sync/segment-sync.ts'

/** Samples of 24 MS/s. */
const PERIOD = 1526.4
const WIDTH = 112
const PER_FRAME = 262
/** A minute of 15.7 kHz, and a bit. */
const SCANLINES = 1_300_000

class Segments implements SyncListener {
  readonly ended: SegmentSync[] = []
  segmentStarted(): void {}
  segmentEnded(segment: SegmentSync): void {
    this.ended.push(segment)
  }
  scanline(): void {}
  frameStarted(): void {}
  fault(): void {}
  faultSettled(): void {}
}

interface Drawn {
  segments: SegmentSync[]
  /** Bytes in use after a tenth of the scanlines, and after all. */
  early: number
  late: number
}

/** @param scanline pushes the pulses of one scanline, whose leading edge is at the tick */
function follow(
  scanline: (push: (tick: number, level: number) => void, n: number, tick: number) => void,
): Drawn {
  const listener = new Segments()
  const follower = new SyncFollower(false, 0, 1, listener)
  const push = (tick: number, level: number): void => follower.pushHsync(tick, level)
  let early = 0
  for (let n = 0; n < SCANLINES; n++) {
    const tick = Math.ceil(1000 + n * PERIOD)
    if (n % PER_FRAME === 0) follower.pushVsync(tick + 300, 1)
    if (n % PER_FRAME === 16) follower.pushVsync(tick + 300, 0)
    scanline(push, n, tick)
    if (n === SCANLINES / 10) early = bytesInUse()
  }
  const late = bytesInUse()
  follower.end(Math.ceil(1000 + SCANLINES * PERIOD))
  return { segments: listener.ended, early, late }
}

function bytesInUse(): number {
  setFlagsFromString('--expose-gc')
  ;(runInNewContext('gc') as () => void)()
  const { heapUsed, external } = process.memoryUsage()
  return heapUsed + external
}

const MEGABYTES = 1024 * 1024

it('stays flat where every fiftieth scanline has a false pulse and every hundredth none', () => {
  const { segments, early, late } = follow((push, n, tick) => {
    if (n % 100 !== 77) {
      push(tick, 1)
      push(tick + WIDTH, 0)
    }
    if (n % 50 === 20) {
      // the last one is the latest
      push(tick + 500 + (n % 400) + (n > SCANLINES - 50 ? 100 : 0), 1)
      push(tick + 500 + (n % 400) + (n > SCANLINES - 50 ? 105 : 7), 0)
    }
  })
  // frames are kept one by one, up to a limit: 5000 of them
  expect(late - early).toBeLessThan(4 * MEGABYTES)
  expect(segments.length).toBe(1)
  const [segment] = segments
  expect(segment!.faultCounts).toEqual({
    extra: SCANLINES / 50,
    missing: SCANLINES / 100,
    short: 0,
    early: 0,
    late: 0,
    width: 0,
  })
  expect(segment!.faults.length).toBe(MAX_FAULTS_LISTED)
  expect(segment!.faultCount).toBe((3 * SCANLINES) / 100)
  expect(segment!.miscounted).toEqual({ gained: SCANLINES / 50, lost: SCANLINES / 100 })
  // what the filters rest on is not what is listed, but all that there was
  const { edges } = segment!.falseEdges
  expect(edges.count).toBe(SCANLINES / 50)
  expect(Math.max(...edges.edges.map(({ rejectWidthTicks }) => rejectWidthTicks))).toBe(7)
  expect(Math.max(...edges.edges.map(({ sinceTrueTicks }) => sinceTrueTicks))).toBeGreaterThan(500 + 370)
  const fit = segment!.fit(1)!
  expect(Math.abs(fit.period.value - PERIOD)).toBeLessThan(3 * fit.period.uncertainty)
}, 60_000)

it('knows a source without hsync in vsync, however many pulses that are missing', () => {
  const { segments, early, late } = follow((push, n, tick) => {
    if (n % PER_FRAME < 16) return
    // and one that is missing indeed
    if (n === 700_000) return
    push(tick, 1)
    push(tick + WIDTH, 0)
  })
  expect(late - early).toBeLessThan(4 * MEGABYTES)
  const [segment] = segments
  expect(segment!.faultCounts.missing).toBeGreaterThan(70_000)
  expect(forgiveAbsentHsync(segment!)).toBeCloseTo(16, 1)
  expect(segment!.faultCounts.missing).toBe(1)
  expect(segment!.miscounted).toEqual({ gained: 0, lost: 1 })
  expect(segment!.faults.map(({ kind, scanline }) => `${kind} ${scanline}`)).toEqual([
    `missing ${700_000 - 16}`,
  ])
}, 60_000)
