// What is kept of edges, scanlines, frames and faults until it is told: each by itself.

import { describe, expect, it, test } from 'vitest'
import { EdgeCounter } from '../../src/sync/edge-counter.ts'
import { EdgeQueue } from '../../src/sync/edge-queue.ts'
import { FaultList } from '../../src/sync/fault-list.ts'
import { FrameList, MAX_FRAMES_LISTED, wholeScanline } from '../../src/sync/frame-list.ts'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { JitterMeter } from '../../src/sync/jitter-meter.ts'
import { newNoise } from '../../src/sync/new-noise.ts'
import { BREAK_RUN, OpenScanlines, TimingDoubt, type OpenScanline } from '../../src/sync/open-scanlines.ts'
import type { FaultKind, SyncFault } from '../../src/sync/sync-fault.ts'
import { newRandom } from '../support/random.ts'
import { faultOf, frameOf } from './hand-made-sync.ts'

function fault(kind: FaultKind, tick: number, more: Partial<SyncFault> = {}): SyncFault {
  return faultOf(kind, tick, {
    widthTicks: 100,
    rejectWidthTicks: 100,
    sinceTrueTicks: kind === 'extra' ? 300 : NaN,
    lineCountError: kind === 'extra' ? 1 : kind === 'missing' ? -1 : 0,
    ...more,
  })
}

describe('FaultList', () => {
  const ticks = (list: readonly SyncFault[]): number[] => list.map(({ tick }) => tick)

  it('counts by kind, and what a counter gains and loses', () => {
    const list = new FaultList()
    for (const one of [
      fault('extra', 3000),
      fault('missing', 2000),
      fault('late', 1000),
      fault('extra', 4000),
    ])
      list.add(one, undefined)
    expect(list.counts).toEqual({ extra: 2, missing: 1, short: 0, early: 0, late: 1, width: 0 })
    expect(list.total).toBe(4)
    expect(list.miscounted).toEqual({ gained: 2, lost: 1 })
    list.placeMissing(Infinity, undefined)
    list.finish()
    expect(ticks(list.listed)).toEqual([1000, 2000, 3000, 4000])
  })

  it('keeps pulses missing in vsync apart until it is known whether that is a habit', () => {
    const vsync = { fromTick: 2000, toTick: 5000 }
    const list = new FaultList()
    for (const tick of [1999, 2000, 4999, 5000, 9000]) list.add(fault('missing', tick), undefined)
    expect(list.lacksPulsesIn(vsync)).toBe(true)
    expect(list.lacksPulsesIn({ fromTick: 6000, toTick: 8000 })).toBe(false)
    list.placeMissing(6000, vsync)
    expect(list.missingInVsync.count).toBe(2)
    expect(ticks(list.missingInVsync.listed)).toEqual([2000, 4999])
    expect(ticks(list.listed)).toEqual([1999, 5000])
    expect(list.counts.missing).toBe(5)
    list.placeMissing(Infinity, vsync)
    list.finish()
    expect(ticks(list.listed)).toEqual([1999, 2000, 4999, 5000, 9000])
    list.forgiveMissingInVsync()
    expect(list.counts.missing).toBe(3)
    expect(list.miscounted.lost).toBe(3)
    expect(list.missingInVsync.count).toBe(0)
    expect(ticks(list.listed)).toEqual([1999, 5000, 9000])
  })

  it('reduces false edges to what a filter must do, by wire', () => {
    const list = new FaultList()
    list.add(fault('extra', 1000), undefined)
    list.add(fault('extra', 2000, { channel: 'csync', sinceTrueTicks: 400, widthTicks: 150 }), undefined)
    list.add(fault('extra', 3000, { channel: 'vsync', sinceTrueTicks: 700, widthTicks: 101 }), undefined)
    // pieces after which a filter lets the rest of a pulse pass
    expect(list.falseEdges.latestPieceTicks).toBe(400)
    expect(list.falseVsyncs.latestPieceTicks).toBe(700)
    list.add(fault('extra', 2000, { sinceTrueTicks: 900, widthTicks: 100 }), undefined)
    expect(list.falseEdges.latestPieceTicks).toBe(400)
  })

  it('vsync faults mislead no counter of scanlines', () => {
    const list = new FaultList()
    list.addVsync(fault('extra', 1000, { channel: 'vsync' }))
    list.addVsync(fault('missing', 2000, { channel: 'vsync' }))
    expect(list.miscounted).toEqual({ gained: 0, lost: 0 })
    expect(list.counts).toMatchObject({ extra: 1, missing: 1 })
    expect(ticks(list.listed)).toEqual([1000, 2000])
  })

  it('hands over what came from a tick on', () => {
    const list = new FaultList()
    const vsync = { fromTick: 2000, toTick: 3000 }
    const later = { fromTick: 6000, toTick: 7000 }
    for (const one of [fault('extra', 1000), fault('late', 5000), fault('extra', 5500, { widthTicks: 120 })])
      list.add(one, undefined)
    for (const tick of [2100, 2200, 6100, 8000]) list.add(fault('missing', tick), undefined)
    list.placeMissing(5000, vsync)
    list.placeMissing(7500, later)
    const next = new FaultList()
    list.handOver(next, 5000)
    expect(list.counts).toEqual({ extra: 1, missing: 2, short: 0, early: 0, late: 0, width: 0 })
    expect(next.counts).toEqual({ extra: 1, missing: 2, short: 0, early: 0, late: 1, width: 0 })
    expect([list.miscounted, next.miscounted]).toEqual([
      { gained: 1, lost: 2 },
      { gained: 1, lost: 2 },
    ])
    expect([list.missingInVsync.count, next.missingInVsync.count]).toEqual([2, 1])
    expect([ticks(list.listed), ticks(next.listed)]).toEqual([[1000], [5000, 5500]])
    expect(next.falseEdges.latestPieceTicks).toBe(300)
    // one waits still, and goes along
    next.placeMissing(Infinity, undefined)
    expect(ticks(next.listed)).toEqual([5000, 5500, 8000])
    expect(ticks(next.missingInVsync.listed)).toEqual([6100])
  })
})

describe('FrameList', () => {
  const frame = (firstScanline: number, phase = 0): FrameSync =>
    frameOf(1000 * (firstScanline + phase), { firstScanline, phase })
  const edges = (from: number, to: number): number => to - from

  it('measures a frame when the next one begins', () => {
    const list = new FrameList()
    list.add(frame(100), NaN, edges)
    list.add(frame(362), 262.1, edges)
    list.add(frame(624), 261.9, edges)
    list.add(frame(900), NaN, edges)
    expect(list.listed.map(({ scanlines }) => scanlines)).toEqual([262.1, 261.9, NaN, NaN])
    expect(list.listed.map(({ countedEdges }) => countedEdges)).toEqual([262, 262, 0, 0])
    expect(list.whole).toBe(2)
    expect([...list.lengths]).toEqual([[262, 2]])
    expect(list.usualLength).toBe(262)
  })

  it('takes the commonest length, to the half; of equally common ones the first', () => {
    const list = new FrameList()
    expect(list.usualLength).toBeNull()
    let at = 0
    for (const length of [NaN, 250.3, 262.4, 262.6, 300]) list.add(frame((at += 300)), length, edges)
    expect([...list.lengths]).toEqual([
      [250.5, 1],
      [262.5, 2],
      [300, 1],
    ])
    expect(list.usualLength).toBe(262.5)
    const tied = new FrameList()
    for (const length of [NaN, 262, 300, 300, 262]) tied.add(frame((at += 300)), length, edges)
    expect(tied.usualLength).toBe(262)
  })

  it('corrects counts in the frame that a scanline lies in', () => {
    const list = new FrameList()
    list.add(frame(100), NaN, edges)
    list.correctCount({ scanline: 361, edges: -1 })
    list.correctCount({ scanline: 362, edges: 1 })
    list.correctCount({ scanline: 50, edges: 1 })
    list.add(frame(362), 262, edges)
    expect(list.listed.map(({ countedEdges }) => countedEdges)).toEqual([261, 0])
    list.add(frame(624), 262, edges)
    expect(list.listed.map(({ countedEdges }) => countedEdges)).toEqual([261, 263, 0])
    list.correctCount({ scanline: 700, edges: 1 })
    list.finish(1000)
    expect(list.listed.at(-1)!.countedEdges).toBe(1)
  })

  it('measures and gives up the last frames however many there are', () => {
    const list = new FrameList()
    const count = MAX_FRAMES_LISTED + 8
    for (let n = 0; n < count; n++) list.add(frame(10 * n), n === 0 ? NaN : 10, edges)
    expect(list.areAllListed).toBe(false)
    expect(list.listed).toHaveLength(MAX_FRAMES_LISTED)
    expect(list.whole).toBe(count - 1)
    const lastListed = list.listed.at(-1)!
    expect(lastListed).toMatchObject({ scanlines: 10, countedEdges: 10 })
    // in a frame that is not listed, one that is not even at hand, and the last that is listed
    list.correctCount({ scanline: 10 * count - 5, edges: 1 })
    list.correctCount({ scanline: 10 * MAX_FRAMES_LISTED, edges: 1 })
    list.correctCount({ scanline: 10 * MAX_FRAMES_LISTED - 5, edges: 1 })
    list.finish(1000)
    expect(lastListed.countedEdges).toBe(11)
    const taken = list.takeLast(2)
    expect(taken.map(({ firstScanline }) => firstScanline / 10)).toEqual([count - 2, count - 1])
    expect(taken[1]!.countedEdges).toBe(1)
    expect(list.listed).toHaveLength(MAX_FRAMES_LISTED)
    expect(list.whole).toBe(count - 2)
  })

  it('gives frames up to another segment, with their lengths', () => {
    const list = new FrameList()
    for (const [at, length] of [
      [100, NaN],
      [362, 262],
      [624, 262],
      [924, 300],
    ] as const)
      list.add(frame(at), length, edges)
    const taken = list.takeLast(2)
    expect(taken.map(({ firstScanline }) => firstScanline)).toEqual([624, 924])
    expect([list.whole, list.listed.length, list.lengths.get(300)]).toEqual([2, 2, 0])
    const next = new FrameList()
    for (const one of taken) next.adopt(one)
    expect([next.whole, next.listed.length]).toEqual([1, 2])
    expect(next.usualLength).toBe(300)
  })

  it('shifts vsyncs that begin later than they seem to', () => {
    const list = new FrameList()
    for (const at of [100, 362, 624]) list.add(frame(at, 0.5), at === 100 ? NaN : 262, edges)
    list.shiftVsync(list.listed[1]!, 0.75)
    list.finish(1000)
    const [before, shifted] = list.listed
    expect(before!.scanlines).toBe(262.75)
    expect(shifted).toMatchObject({ startTick: 363_250, firstScanline: 363, phase: 0.25, scanlines: 261.25 })
    const first = new FrameList()
    first.add(frame(100), NaN, edges)
    first.shiftVsync(first.listed[0]!, -1)
    first.finish(1000)
    expect(first.listed[0]).toMatchObject({ startTick: 99_000, firstScanline: 99 })
  })

  test('a vsync that falls with hsync is not pushed to the scanline before', () => {
    expect([99.979, 99.981, 100, 100.019, 100.5, 100.979].map(wholeScanline)).toEqual([
      99, 100, 100, 100, 100, 100,
    ])
  })
})

describe('EdgeCounter', () => {
  it('counts from one scanline to another', () => {
    const counter = new EdgeCounter()
    for (const scanline of [10, 11, 11, 13, 14]) counter.count(scanline)
    expect(counter.between(10, 14)).toBe(4)
    expect(counter.between(11, 12)).toBe(2)
    expect(counter.between(12, 13)).toBe(0)
    expect(counter.between(13, 15)).toBe(2)
    expect(counter.between(15, Infinity)).toBe(0)
    expect(counter.between(14, Infinity)).toBe(1)
  })

  it('goes on after a long pause', () => {
    const counter = new EdgeCounter()
    counter.count(10)
    counter.count(100_000)
    counter.count(100_001)
    expect(counter.between(100_000, 100_002)).toBe(2)
  })
})

describe('EdgeQueue', () => {
  it('makes room by giving up what is not needed, and says how far indices moved', () => {
    const queue = new EdgeQueue()
    for (let i = 0; i < 1024; i++) expect(queue.push(10 * i, i & 1)).toBe(0)
    queue.keepFromTick(9000, 1)
    // 9010 is the first high one
    expect(queue.keepFrom).toBe(901)
    expect(queue.settledTick).toBe(9010)
    expect(queue.kept).toBe(123)
    expect(queue.push(10_240, 0)).toBe(901)
    expect([queue.count, queue.keepFrom, queue.tick[0], queue.level[0]]).toEqual([124, 0, 9010, 1])
    expect(queue.tick[123]).toBe(10_240)
  })

  it('grows where all are needed', () => {
    const queue = new EdgeQueue()
    for (let i = 0; i < 5000; i++) expect(queue.push(i, i & 1)).toBe(0)
    expect([queue.count, queue.tick[4999], queue.level[4999], queue.tick[1023], queue.tick[0]]).toEqual([
      5000, 4999, 1, 1023, 0,
    ])
  })

  it('grows as well where half of them are still needed', () => {
    const queue = new EdgeQueue()
    for (let i = 0; i < 1024; i++) queue.push(i, i & 1)
    queue.keepFromTick(500, 0)
    expect(queue.push(1024, 0)).toBe(500)
    expect([queue.count, queue.tick[0], queue.tick[524]]).toEqual([525, 500, 1024])
    expect(queue.tick.length).toBe(2048)
  })

  it('has settled all before its first edge, or the last one where none is kept', () => {
    const queue = new EdgeQueue()
    expect(queue.settledTick).toBe(-Infinity)
    queue.push(70, 1)
    expect(queue.settledTick).toBe(70)
    queue.keepFromTick(100, 1)
    expect([queue.kept, queue.settledTick]).toEqual([0, 70])
  })
})

describe('OpenScanlines', () => {
  const scanline = (number: number): OpenScanline => ({
    scanline: number,
    tick: 1000 * number,
    widthTicks: 100,
    regular: true,
    longestPieceTicks: 100,
    offsetTicks: 0,
  })

  it('keeps events in order until they are taken', () => {
    const open = new OpenScanlines()
    expect(open.isEmpty).toBe(true)
    for (const event of [scanline(1), fault('extra', 1500), scanline(2), scanline(3)]) open.push(event)
    expect(open.isEmpty).toBe(false)
    open.keepBefore(3)
    open.dropFaults()
    expect(open.take()).toEqual([scanline(1), scanline(2)])
    expect(open.isEmpty).toBe(true)
  })

  it('doubts from six scanlines in a row on that disagree in the same way', () => {
    const doubt = new TimingDoubt()
    for (let n = 0; n < BREAK_RUN; n++) {
      expect(doubt.isChange).toBe(false)
      doubt.addPhase(7 + n, 7000 + n)
    }
    expect(doubt).toMatchObject({ isChange: true, number: 7, tick: 7000, count: 6 })
    // in another way it begins anew
    doubt.addWidth(20, 20_000, 200, 5)
    expect(doubt).toMatchObject({ isChange: false, number: 20, tick: 20_000, count: 1 })
    doubt.addWidth(21, 21_000, 205, 5)
    doubt.addWidth(22, 22_000, 200, 5)
    expect(doubt).toMatchObject({ number: 20, count: 3 })
    doubt.addWidth(23, 23_000, 206, 5)
    expect(doubt).toMatchObject({ number: 23, count: 1 })
    doubt.addPhase(30, 30_000)
    doubt.addPhase(31, 31_000)
    expect(doubt).toMatchObject({ number: 30, count: 2, hasLonely: false })
  })

  it('doubts pulses in their place too, where several of them are alone there', () => {
    const doubt = new TimingDoubt()
    for (let n = 0; n < BREAK_RUN - 1; n++) doubt.addPhase(n, 1000 * n)
    // this may be the first of many
    doubt.addLonely(5, 5000)
    expect(doubt).toMatchObject({ count: 6, isChange: false, hasLonely: true })
    doubt.addPhase(6, 6500)
    expect(doubt.isChange).toBe(false)
    doubt.addLonely(8, 8000)
    expect(doubt).toMatchObject({ count: 8, isChange: true, number: 0, tick: 0 })
    // none of them is of the next
    doubt.count = 0
    doubt.addPhase(20, 20_000)
    expect(doubt).toMatchObject({ count: 1, hasLonely: false })
    doubt.count = 0
    for (let n = 0; n < BREAK_RUN; n++) {
      expect(doubt.isChange).toBe(false)
      doubt.addLonely(30 + 2 * n, 30_000 + 2000 * n)
    }
    expect(doubt).toMatchObject({ isChange: true, number: 30 })
  })

  it('does not doubt what is held', () => {
    const doubt = new TimingDoubt()
    doubt.holdUntil = 5000
    doubt.addPhase(5, 5000)
    doubt.addLonely(5, 5000)
    doubt.addWidth(5, 5000, 100, 5)
    expect(doubt).toMatchObject({ count: 0, hasLonely: false })
    doubt.addPhase(5, 5001)
    expect(doubt.count).toBe(1)
  })
})

describe('JitterMeter', () => {
  it('takes periods of neighbours alone, and differences of neighbouring periods', () => {
    const meter = new JitterMeter()
    for (const [number, tick] of [
      [1, 1000],
      [2, 2010],
      [3, 3000],
      [5, 5000],
      [6, 6004],
    ] as const)
      meter.add(number, tick)
    expect(meter.period.count).toBe(3)
    expect(meter.period.mean).toBeCloseTo((1010 + 990 + 1004) / 3, 9)
    expect([meter.cycleToCycle.count, meter.cycleToCycle.mean]).toEqual([1, -20])
    meter.breakPhase()
    meter.add(7, 7003)
    meter.add(8, 8000)
    meter.add(9, 9000)
    expect([meter.period.count, meter.cycleToCycle.count]).toEqual([5, 2])
    expect(meter.cycleToCycle.max).toBe(3)
  })

  it('holds kept scanlines against their own line', () => {
    const meter = new JitterMeter()
    // 600 of them, more than fit at first; scanline 300 is missing
    for (let n = 0; n <= 600; n++) if (n !== 300) meter.add(50 + n, 1e6 + 1000.5 * n + (n % 2 === 0 ? 3 : -3))
    const { count, number, offset, scanlinesPerPoint } = meter.residuals()
    expect([count, number.length, offset.length, scanlinesPerPoint]).toEqual([600, 600, 600, 1])
    expect([number[0], number[300], number[599]]).toEqual([50, 351, 650])
    for (const [i, off] of offset.entries())
      expect(Math.abs(Math.abs(off) - 3)).toBeLessThan(0.02 + (i === 0 ? 0.01 : 0))
    expect(Math.abs(offset.reduce((sum, off) => sum + off, 0))).toBeLessThan(1e-6)
    expect(new JitterMeter().residuals().count).toBe(0)
    const one = new JitterMeter()
    one.add(5, 5000)
    expect([...one.residuals().offset]).toEqual([0])
  })

  it('gives up a short stretch for the next one, and keeps a long one', () => {
    const kept = (first: number, breaks = 1): number => {
      const meter = new JitterMeter()
      for (let n = 0; n < first; n++) meter.add(n, 1000 * n)
      for (let i = 0; i < breaks; i++) meter.breakPhase()
      for (let n = 0; n < 100; n++) meter.add(first + n, 1000 * n + 7)
      return meter.residuals().count
    }
    expect(kept(2047)).toBe(100)
    expect(kept(2048)).toBe(2048)
    expect(kept(20_000)).toBe(16_384)
  })
})

describe('newNoise', () => {
  it('of few points, their variance about a line', () => {
    const offset = Float64Array.of(1, -2, 2, -1)
    const weight = Float64Array.of(1, 2, 1, 1)
    expect(newNoise(offset, weight)).toBe((1 + 8 + 4 + 1) / 2)
    expect(newNoise(offset.slice(0, 2), weight)).toBe(0)
    expect(newNoise(offset.slice(0, 3), weight)).toBe(13)
  })

  it('of many, the white part whatever else is in them', () => {
    const random = newRandom(11)
    const count = 1500
    const noise = Float64Array.from({ length: count }, () => 2 * random.gaussian())
    const even = new Float64Array(count).fill(1)
    // the median of 1023 exponential powers is known to about a twentieth
    expect(Math.abs(newNoise(noise, even) / 4 - 1)).toBeLessThan(0.15)
    const swaying = noise.map((value, i) => value + 50 * Math.sin(i / 40) + 20 * Math.sin(i))
    expect(Math.abs(newNoise(swaying, even) / 4 - 1)).toBeLessThan(0.2)
    // means of four scanlines are half as noisy, and say as much of one
    const fours = noise.map((value) => value / 2)
    expect(
      newNoise(
        fours,
        even.map(() => 4),
      ) / newNoise(noise, even),
    ).toBeCloseTo(1, 9)
    // 24 points show a spectrum
    const few = noise.slice(0, 24)
    const variance = few.reduce((sum, value) => sum + value * value, 0) / 22
    expect(newNoise(few, even)).not.toBeCloseTo(variance, 6)
    expect(newNoise(few.slice(0, 23), even)).toBeCloseTo(
      few.slice(0, 23).reduce((sum, value) => sum + value * value, 0) / 21,
      9,
    )
  })
})
