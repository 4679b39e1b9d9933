// vsync edges → pulses. Scanlines last 1000 ticks.

import { describe, expect, it } from 'vitest'
import type { SyncFault } from '../../src/sync/sync-fault.ts'
import { VsyncTracker, type VsyncPulse } from '../../src/sync/vsync-tracker.ts'

const PERIOD = 1000

interface Told {
  pulses: VsyncPulse[]
  faults: Omit<SyncFault, 'scanline'>[]
}

/** Edges from the level given on, alternating; times in scanlines. */
function track(
  edges: readonly number[],
  { channel = 'vsync' as 'vsync' | 'csync', first = 1, start = 0, end = NaN, progress = [] as number[] } = {},
): Told {
  const told: Told = { pulses: [], faults: [] }
  const tracker = new VsyncTracker(channel, start * PERIOD, {
    vsync: (pulse) => void told.pulses.push(pulse),
    fault: (fault) => void told.faults.push(fault),
  })
  edges.forEach((at, i) => {
    for (const tick of progress)
      if (tick < at && tick >= (edges[i - 1] ?? -1)) tracker.progress(tick * PERIOD, PERIOD)
    tracker.push(at * PERIOD, i % 2 === 0 ? first : 1 - first, PERIOD)
  })
  const last = edges.length % 2 === 0 ? 1 - first : first
  if (!Number.isNaN(end)) tracker.end(end * PERIOD, last, PERIOD)
  return told
}

const leads = ({ pulses }: Told): number[] => pulses.map(({ leadTick }) => leadTick / PERIOD)
const widths = ({ pulses }: Told): number[] =>
  pulses.map(({ leadTick, trailTick }) => (trailTick - leadTick) / PERIOD)

describe('VsyncTracker', () => {
  it('tells pulses of either polarity', () => {
    const positive = track([100, 103, 300, 303, 500, 503], { end: 600 })
    expect(leads(positive)).toEqual([100, 300, 500])
    expect(widths(positive)).toEqual([3, 3, 3])
    expect(positive.pulses[0]).toMatchObject({ polarity: 'positive', longestPieceTicks: 3000 })
    expect(positive.faults).toEqual([])
    const negative = track([100, 103, 300, 303], { first: 0, end: 600 })
    expect(leads(negative)).toEqual([100, 300])
    expect(negative.pulses[0]!.polarity).toBe('negative')
  })

  it('knows the idle level once it has lasted longer than any vsync', () => {
    // begins within a pulse: high until 5
    const begun = track([5, 65.1, 68.1, 265, 268], { first: 0, end: 400 })
    expect(leads(begun)).toEqual([65.1, 265])
    // 60 scanlines are not enough to tell, and which level takes more of the time is not plain
    expect(leads(track([60, 120], { end: 170 }))).toEqual([])
    expect(leads(track([60.5, 63.5], { end: 70 }))).toEqual([60.5])
  })

  it('takes the level that plainly lasts longer for idle in a short capture', () => {
    expect(leads(track([20, 23], { end: 30 }))).toEqual([20])
    expect(leads(track([20, 23, 40, 43], { first: 0, end: 50 }))).toEqual([20, 40])
    // twice as long, or not
    expect(leads(track([10, 20], { end: 30 }))).toEqual([10])
    expect(leads(track([10, 20.5], { end: 30 }))).toEqual([])
    expect(leads(track([], { end: 30 }))).toEqual([])
    // the time before the first edge counts from the begin of the capture
    expect(leads(track([20, 30], { start: 15, end: 31 }))).toEqual([])
    expect(track([20, 30], { start: 0, first: 0, end: 31 }).pulses[0]!.polarity).toBe('negative')
  })

  it('or the one that the capture ends with, if it lasts longer than any vsync until then', () => {
    // high up to 5 and from 55 on: all in all not twice as long as low
    const end = (until: number): Told => track([5, 55], { first: 0, end: until })
    expect(end(116)).toMatchObject({ pulses: [{ leadTick: 5000, trailTick: 55_000, polarity: 'negative' }] })
    expect(end(115).pulses).toEqual([])
    expect(track([5, 55], { end: 116 }).pulses).toMatchObject([{ leadTick: 5000, polarity: 'positive' }])
  })

  it('takes one that the end cuts off for a pulse from half a scanline on', () => {
    const last = (end: number): number => leads(track([100, 103, 300], { end })).length
    expect([last(300.49), last(300.5)]).toEqual([1, 2])
  })

  it('takes a pulse below half a scanline for a false one, told from the true one before it', () => {
    const { pulses, faults } = track([100, 103, 150, 150.4, 300, 303], { end: 400 })
    expect(pulses).toHaveLength(2)
    expect(faults).toHaveLength(1)
    expect(faults[0]).toMatchObject({
      kind: 'extra',
      channel: 'vsync',
      tick: 150_000,
      offsetTicks: 50_000,
      sinceTrueTicks: 50_000,
      lineCountError: 0,
    })
    expect(faults[0]!.widthTicks).toBeCloseTo(400, 6)
    expect(faults[0]!.rejectWidthTicks).toBeCloseTo(400, 6)
    expect(leads(track([100, 103, 150, 150.5, 300, 303], { end: 400 }))).toEqual([100, 150, 300])
    // none came before
    const first = track([80, 80.2, 100, 103], { end: 200 }).faults[0]!
    expect([first.offsetTicks, first.sinceTrueTicks]).toEqual([0, NaN])
  })

  it('puts together what a short gap has cut, and tells each further piece', () => {
    const cut = track([100, 101, 101.3, 103, 300, 303], { end: 400 })
    expect(leads(cut)).toEqual([100, 300])
    expect(widths(cut)).toEqual([3, 3])
    expect(cut.pulses[0]!.longestPieceTicks).toBeCloseTo(1700, 6)
    // the longest piece is not the first: a filter rejects that one
    expect(cut.faults).toMatchObject([{ kind: 'extra', tick: 101_300 }])
    expect(cut.faults[0]!.offsetTicks).toBeCloseTo(1300, 6)
    expect(cut.faults[0]!.widthTicks).toBeCloseTo(1700, 6)
    expect(cut.faults[0]!.rejectWidthTicks).toBeCloseTo(1000, 6)
    const late = track([100, 102, 102.3, 103, 300, 303], { end: 400 })
    expect(late.faults[0]!.rejectWidthTicks).toBeCloseTo(700, 6)
    // a gap of half a scanline ends it
    expect(leads(track([100, 101, 101.6, 103], { end: 200 }))).toEqual([100, 101.6])
    expect(leads(track([100, 101, 101.5, 103], { end: 200 }))).toEqual([100])
  })

  it('joins a piece too short to be vsync only across what ringing makes', () => {
    const rung = track([100, 100.1, 100.13, 103], { end: 200 })
    expect(leads(rung)).toEqual([100])
    expect(rung.pulses[0]!.longestPieceTicks).toBeCloseTo(2870, 6)
    const spike = track([100, 100.1, 100.14, 103], { end: 200 })
    expect(leads(spike)).toEqual([100.14])
    expect(spike.faults).toMatchObject([{ kind: 'extra', tick: 100_000 }])
  })

  it('tells a pulse as soon as no gap can be that short', () => {
    const tracker = { told: 0 }
    const watcher = new VsyncTracker('vsync', 0, {
      vsync: () => void tracker.told++,
      fault: () => {},
    })
    watcher.push(100_000, 1, PERIOD)
    watcher.progress(100_900, PERIOD)
    watcher.push(103_000, 0, PERIOD)
    watcher.progress(103_500, PERIOD)
    expect(tracker.told).toBe(0)
    watcher.progress(103_501, PERIOD)
    expect(tracker.told).toBe(1)
  })

  it('begins anew where the polarity turns round', () => {
    // high pulses, then high for long, then low pulses
    const turned = track([100, 103, 300, 303, 500, 700, 703, 900, 903], { end: 1000 })
    expect(turned.pulses.map(({ polarity }) => polarity)).toEqual([
      'positive',
      'positive',
      'negative',
      'negative',
    ])
    expect(leads(turned)).toEqual([100, 300, 700, 900])
    expect(turned.faults).toEqual([])
  })

  it('takes a pulse that the end cuts off to last as long as the one before', () => {
    const cut = track([100, 103, 300], { end: 301 })
    expect(leads(cut)).toEqual([100, 300])
    expect(widths(cut)).toEqual([3, 3])
    expect(widths(track([100, 103, 300], { end: 304 }))).toEqual([3, 4])
    // not when it has hardly begun, or when no other tells its width
    expect(leads(track([100, 103, 300], { end: 300.4 }))).toEqual([100])
    expect(leads(track([100], { end: 101 }))).toEqual([])
  })

  it('composite: broad pulses with serrations, whose gaps are no faults', () => {
    const composite = track(
      [100, 100.43, 100.5, 100.93, 101, 101.43, 101.5, 101.93, 300, 300.43, 300.5, 300.93],
      { channel: 'csync', end: 400 },
    )
    expect(leads(composite)).toEqual([100, 300])
    expect(widths(composite)[0]).toBeCloseTo(1.93, 9)
    expect(composite.faults).toEqual([])
    // one broad pulse missing: the gap of 1.3 scanlines belongs to it
    expect(leads(track([100, 100.93, 102.2, 102.93], { channel: 'csync', end: 400 }))).toEqual([100])
    expect(leads(track([100, 100.93, 102.3, 102.93], { channel: 'csync', end: 400 }))).toEqual([100, 102.3])
    // less than a quarter of a scanline is none
    expect(leads(track([100, 100.24], { channel: 'csync', end: 400 }))).toEqual([])
    expect(leads(track([100, 100.26], { channel: 'csync', end: 400 }))).toEqual([100])
  })
})
