// Video edges → dots, on recordings made by hand: scanlines of 100 ticks and ten dots, two planes.

import { describe, expect, it, test } from 'vitest'
import type { DotPhase } from '../../src/dots/dot-phase.ts'
import { FrameSamples } from '../../src/dots/frame-samples.ts'
import { framesToMerge, readRow } from '../../src/dots/merged-frames.ts'
import { sampleDots, type DotRaster } from '../../src/dots/sample-dots.ts'
import { sampleInstants } from '../../src/dots/sample-instants.ts'
import { scanlineGrid, type ScanlineGrid } from '../../src/dots/scanline-grid.ts'
import type { Recording } from '../../src/dots/recording.ts'
import type { FrameSync } from '../../src/sync/frame-sync.ts'
import { frameOf } from '../sync/hand-made-sync.ts'
import { recordingOf } from './hand-made-recording.ts'

const DOTS = 10
const LINES = 6

const grid: ScanlineGrid = {
  firstNumber: 20,
  start: Float64Array.from({ length: LINES + 1 }, (_, line) => 1000 + 100 * line),
  periodTicks: 100,
  jitterTicks: 0,
}

/** Boundaries of plane 0 falling, rising, of plane 1 falling, rising. */
const phaseOf = (
  commonDots: number,
  byEdge = [commonDots, commonDots, commonDots, commonDots],
): DotPhase => ({
  commonDots,
  byEdge: Float64Array.from(byEdge),
})

function dotsOf(
  rows: readonly (readonly [number, number])[],
  { phase = phaseOf(0), first = 20, scanlines = LINES, initialLevels = 0 } = {},
): DotRaster {
  return sampleDots(recordingOf(rows, { initialLevels }), grid, DOTS, phase, 2, first, scanlines, 0)
}

const row = ({ codes }: DotRaster, at: number): string =>
  [...codes.subarray(at * DOTS, at * DOTS + DOTS)].join('')

describe('sampleDots', () => {
  it('gives each edge to the nearest boundary', () => {
    const raster = dotsOf([
      [1024, 1],
      [1036, 3],
      [1064, 2],
      [1081, 0],
    ])
    expect(row(raster, 0)).toBe('0011332200')
    expect(row(raster, 1)).toBe('0000000000')
    expect(raster).toMatchObject({ dotsPerScanline: DOTS, scanlines: LINES, dotsWithoutSample: 0 })
  })

  it('carries levels from one scanline into the next', () => {
    const raster = dotsOf([
      [1150, 2],
      [1320, 0],
    ])
    expect([0, 1, 2, 3, 4].map((at) => row(raster, at))).toEqual([
      '0000000000',
      '0000022222',
      '2222222222',
      '2200000000',
      '0000000000',
    ])
    expect(row(dotsOf([[1020, 0]], { initialLevels: 3 }), 0)).toBe('3300000000')
  })

  it('takes each plane and direction by its own boundary', () => {
    // plane 0 rises 0.4 dots late, plane 1 falls 0.3 dots early
    const phase = phaseOf(0, [0, 0.4, -0.3, 0])
    const rows = [
      [1038, 1],
      [1053, 3],
      [1063, 2],
      [1068, 0],
    ] as const
    expect(row(dotsOf(rows, { phase }), 0)).toBe('0001132000')
    expect(row(dotsOf(rows), 0)).toBe('0000132000')
  })

  it('begins rows with their own edge, wherever in a dot the scanline begins', () => {
    // dots begin 0.4 after the scanline, or 0.6 after it, which is 0.4 before
    expect(
      row(
        dotsOf(
          [
            [1004, 1],
            [1014, 0],
          ],
          { phase: phaseOf(0.4) },
        ),
        0,
      ),
    ).toBe('1000000000')
    expect(
      row(
        dotsOf(
          [
            [1006, 1],
            [1016, 0],
          ],
          { phase: phaseOf(0.6) },
        ),
        0,
      ),
    ).toBe('0100000000')
    expect(
      row(
        dotsOf(
          [
            [1000, 1],
            [1010, 0],
          ],
          { phase: phaseOf(0.5) },
        ),
        0,
      ),
    ).toBe('1000000000')
  })

  it('keeps within the row', () => {
    // an edge half a dot before the first boundary, and one just before the next scanline
    const early = dotsOf(
      [
        [1001, 1],
        [1012, 0],
      ],
      { phase: phaseOf(0.45) },
    )
    expect(row(early, 0)).toBe('1000000000')
    const late = dotsOf(
      [
        [1099, 1],
        [1112, 0],
      ],
      { phase: phaseOf(0) },
    )
    expect([row(late, 0), row(late, 1)]).toEqual(['0000000000', '1000000000'])
  })

  it('gives the rows that are asked for, and says which the recording has', () => {
    const rows = [
      [1020, 1],
      [1050, 0],
      [1330, 1],
      [1350, 0],
    ] as const
    const raster = dotsOf(rows, { first: 22, scanlines: 6 })
    expect(row(raster, 1)).toBe('0001100000')
    expect([...raster.seen]).toEqual([1, 1, 1, 1, 0, 0])
    const before = dotsOf(rows, { first: 18, scanlines: 4 })
    expect([...before.seen]).toEqual([0, 0, 1, 1])
    expect(row(before, 2)).toBe('0011100000')
    expect([...dotsOf(rows, { first: 23, scanlines: 1 }).codes]).toEqual([0, 0, 0, 1, 1, 0, 0, 0, 0, 0])
  })

  it('counts dots that lie between two samples', () => {
    const missed = (interval: number, first = 20, scanlines = 1, at = 1000): number =>
      sampleDots(recordingOf([[at, 1]]), grid, DOTS, phaseOf(0), 2, first, scanlines, interval)
        .dotsWithoutSample
    // of ten dots of 10 ticks, samples every 20, 12.5 and 10 ticks
    expect(missed(20)).toBe(5)
    expect(missed(12.5)).toBe(2)
    expect(missed(10)).toBe(0)
    expect(missed(0)).toBe(0)
    expect(missed(20, 20, 3)).toBe(15)
    // rows that the recording does not have lack none
    expect(missed(20, 24, 9)).toBe(10)
    expect(missed(20, 18, 3)).toBe(5)
    // samples at 1005, 1055, 1105: of the dots from 1000 to 1100 only two have one
    expect(missed(50, 20, 1, 1005)).toBe(8)
    // at 1003, 1027, 1051, 1075, 1099
    expect(missed(24, 20, 1, 1003)).toBe(5)
    expect(sampleDots(recordingOf([]), grid, DOTS, phaseOf(0), 2, 20, 1, 50).dotsWithoutSample).toBe(0)
  })
})

describe('sampleInstants', () => {
  const instants = (scanlineTick: number[], interval = 10): ReturnType<typeof sampleInstants> =>
    sampleInstants(recordingOf([], { scanlineTick }), interval)

  it('fits one even grid through all edges', () => {
    const fitted = instants([1003, 2003, 3003, 4003])
    expect(fitted!.intervalTicks).toBeCloseTo(10, 12)
    expect((fitted!.originTicks - 1003) % 10).toBeCloseTo(0, 9)
    expect(fitted!.uncertaintyTicks).toBeCloseTo(0, 12)
    // an interval that was a thousandth too short
    expect(instants([0, 1001, 2002, 3003, 4004])!.intervalTicks).toBeCloseTo(10.01, 12)
  })

  it('finds none in fewer than three edges, or without an interval', () => {
    expect(instants([1000, 2000])).toBeUndefined()
    expect(instants([])).toBeUndefined()
    expect(instants([1000, 2000, 3000])).toBeDefined()
    expect(instants([1000, 2000, 3000], 0)).toBeUndefined()
    expect(instants([1000, 2000, 3000], NaN)).toBeUndefined()
    expect(instants([1000, 1000, 1000])).toBeUndefined()
  })

  it('allows for rounding to ticks, and for nothing else', () => {
    const off = (ticks: number, interval = 10): boolean =>
      instants(
        [0, 1, 2, 3, 4, 5, 6, 7].map((n) => 1000 * n + (n % 2 === 0 ? ticks : -ticks)),
        interval,
      ) !== undefined
    expect(off(0.4)).toBe(true)
    expect(off(0.5)).toBe(false)
    // and within a tenth of the interval
    expect(off(0.4, 5)).toBe(true)
    expect(off(0.4, 2)).toBe(false)
  })
})

describe('FrameSamples', () => {
  test('levels at the points of the grid, each change from its own sample on', () => {
    const recording = recordingOf(
      [
        [1011, 1],
        [1034, 3],
        [1059, 2],
      ],
      { initialLevels: 4 },
    )
    // rounded to whole ticks, changes may lie half an interval from their sample
    const samples = new FrameSamples(recording, {
      originTicks: 0.5,
      intervalTicks: 11.6,
      uncertaintyTicks: 0,
    })
    samples.read(1000, 1060, 0, false)
    // samples 87 to 91: 1009.7, 1021.3, 1032.9, 1044.5, 1056.1
    expect(samples.count).toBe(5)
    expect(samples.firstTicks).toBeCloseTo(9.7, 9)
    expect([...samples.levels.subarray(0, 5)]).toEqual([1, 1, 3, 3, 2])
    samples.read(1000, 1060, 12, false)
    expect(samples.count).toBe(7)
    expect(samples.firstTicks).toBeCloseTo(-1.9, 9)
    expect([...samples.levels.subarray(0, 7)]).toEqual([4, 1, 1, 3, 3, 2, 2])
    // the capture may have ended after the last change
    samples.read(1000, 1100, 0, true)
    expect(samples.count).toBe(5)
    samples.read(1040, 1100, 0, false)
    expect([...samples.levels.subarray(0, samples.count)]).toEqual([3, 2, 2, 2, 2])
  })

  test('none in an empty recording but its levels', () => {
    const samples = new FrameSamples(recordingOf([], { initialLevels: 5 }), {
      originTicks: 0,
      intervalTicks: 10,
      uncertaintyTicks: 0,
    })
    samples.read(0, 30, 0, true)
    expect([...samples.levels.subarray(0, samples.count)]).toEqual([5, 5, 5, 5])
    samples.read(0, 60_000, 0, false)
    expect(samples.count).toBe(6001)
    expect(new Set(samples.levels.subarray(0, 6001))).toEqual(new Set([5]))
  })
})

describe('scanlineGrid', () => {
  const gridOf = (number: number[], tick: number[], interval = 10): ScanlineGrid | undefined =>
    scanlineGrid(recordingOf([], { scanlineNumber: number, scanlineTick: tick }), interval)
  const numbers = (count: number): number[] => Array.from({ length: count }, (_, i) => 7 + i)

  it('is even where nothing but sampling moves the edges', () => {
    // 2997 ticks, seen with samples of 10: edges are late by 0 to 9
    const tick = numbers(200).map((number) => 10 * Math.ceil((2997 * number) / 10))
    const found = gridOf(numbers(200), tick)!
    expect(found.firstNumber).toBe(7)
    expect(found.start).toHaveLength(201)
    expect(found.periodTicks).toBeCloseTo(2997, 2)
    for (const i of [1, 100, 199, 200])
      expect(Math.abs(found.start[i]! - found.start[0]! - 2997 * i)).toBeLessThan(1)
    expect(Math.abs(found.start[0]! - (7 * 2997 + 4.5))).toBeLessThan(0.5)
    expect(found.jitterTicks).toBeLessThan(0.5)
  })

  it('has starts for scanlines without a pulse, at both ends of a jump of phase', () => {
    const number = [...numbers(50).filter((n) => n !== 20 && n !== 21), 60, 61, 62, 63, 64, 65]
    const tick = number.map((n) => (n < 60 ? 100 * n : 100 * n + 33))
    const found = gridOf(number, tick)!
    expect(found.periodTicks).toBeCloseTo(100, 9)
    expect(found.start).toHaveLength(60)
    for (const n of [20, 21, 56]) expect(found.start[n - 7]).toBeCloseTo(100 * n, 9)
    // before the jump scanlines follow those before
    expect(found.start[59 - 7]).toBeCloseTo(5900, 9)
    expect(found.start[60 - 7]).toBeCloseTo(6033, 9)
    expect(found.start[66 - 7]).toBeCloseTo(6633, 9)
  })

  it('follows a phase that wanders, and tells what else is in it', () => {
    const sway = (n: number): number => 40 * Math.sin((2 * Math.PI * n) / 300)
    const found = gridOf(
      numbers(600),
      numbers(600).map((n) => 1000 * n + sway(n) + (n % 2 === 0 ? 5 : -5)),
    )!
    for (const n of [100, 250, 400])
      expect(Math.abs(found.start[n - 7]! - 1000 * n - sway(n))).toBeLessThan(3)
    // jitter of 5, less what samples of 10 explain: sqrt(25 - 100 / 12) = 4.1
    expect(found.jitterTicks).toBeGreaterThan(3.5)
    expect(found.jitterTicks).toBeLessThan(4.6)
  })

  it('follows a wander by the mean of 32 neighbours on either side', () => {
    // of 100 ticks over 1000 scanlines, a mean over 65 of them leaves 0.993
    const sway = (n: number): number => 100 * Math.sin((2 * Math.PI * (n - 7)) / 1000)
    const found = gridOf(
      numbers(2000),
      numbers(2000).map((n) => 1000 * n + sway(n)),
    )!
    // a line of least squares takes a little of the sway for slope
    const offAt = (n: number): number => found.start[n - 7]! - 1000 * n - sway(n)
    for (const n of [257, 757, 1257, 1757]) expect(Math.abs(offAt(n))).toBeLessThan(1)
    expect(Math.sign(sway(257)) * offAt(257)).toBeLessThan(-0.4)
  })

  it('does not follow what sampling alone makes, be samples as short as ticks', () => {
    // 1000.3 ticks: edges are seen up to one late, in a beat of ten
    const tick = numbers(200).map((n) => Math.ceil(1000.3 * n))
    const found = gridOf(numbers(200), tick, 1)!
    const steps = Array.from({ length: 199 }, (_, i) => found.start[i + 1]! - found.start[i]!)
    for (const step of steps) expect(step).toBeCloseTo(found.periodTicks, 9)
  })

  it('wants three scanlines', () => {
    expect(gridOf([1, 2], [100, 200])).toBeUndefined()
    expect(gridOf([1, 2, 3], [100, 200, 300])!.periodTicks).toBeCloseTo(100, 9)
  })
})

describe('framesToMerge', () => {
  const frame = (firstScanline: number, scanlines: number): FrameSync =>
    frameOf(0, { firstScanline, scanlines })
  const lines = (count: number, firstNumber: number): ScanlineGrid => ({
    firstNumber,
    start: Float64Array.from({ length: count + 1 }, (_, i) => 100 * i),
    periodTicks: 100,
    jitterTicks: 0,
  })
  const chosen = (
    frames: FrameSync[],
    own: ScanlineGrid,
    more: { mostFrames?: number; step?: number; from?: number } = {},
    recording: Partial<Recording> = {},
  ): string[] =>
    framesToMerge(recordingOf([[350, 1]], { frames, firstFrame: 3, ...recording }), own, {
      frameScanlines: 10,
      mostFrames: 9,
      step: 1,
      from: 0,
      ...more,
    }).map(({ index, firstLine, whole }) => `${index} at ${firstLine}${whole ? '' : ' in part'}`)

  it('takes frames of the usual length, and what there is of one at either end', () => {
    const frames = [frame(14, 10), frame(24, 10), frame(34, 11), frame(45, 10.2), frame(55, NaN)]
    // of the last one it is not known how long it would have been
    expect(chosen(frames, lines(51, 10))).toEqual([
      '2 at -6 in part',
      '3 at 4',
      '4 at 14',
      '6 at 35',
      '7 at 45 in part',
    ])
    expect(chosen(frames, lines(44, 10))).toEqual(['2 at -6 in part', '3 at 4', '4 at 14', '6 at 35 in part'])
    // whole ones first where there is not room for all
    expect(chosen(frames, lines(51, 10), { mostFrames: 3 })).toEqual(['3 at 4', '4 at 14', '6 at 35'])
    // nothing was captured before the first
    expect(chosen([frame(10, 10), frame(20, 10)], lines(20, 10))).toEqual(['3 at 0', '4 at 10'])
    expect(chosen([frame(10, 10), frame(20, 10)], lines(19, 10))).toEqual(['3 at 0', '4 at 10 in part'])
    expect(chosen([frame(10, 10.26), frame(20, 10.24)], lines(20, 10))).toEqual(['4 at 10'])
  })

  it('takes every other field', () => {
    const frames = [frame(14, 10), frame(24, 10), frame(34, 10), frame(44, 10)]
    expect(chosen(frames, lines(60, 10), { step: 2 })).toEqual(['3 at 4', '5 at 24'])
    expect(chosen(frames, lines(60, 10), { step: 2, from: 1 })).toEqual(['4 at 14', '6 at 34'])
  })

  it('counts on no scanlines beyond the picture that was kept', () => {
    // rows were let go after tick 350
    const frames = [frame(10, 2), frame(12, 2)]
    const two = (overflowed: boolean): string[] =>
      framesToMerge(recordingOf([[350, 1]], { frames, overflowed }), lines(4, 10), {
        frameScanlines: 2,
        mostFrames: 9,
        step: 1,
        from: 0,
      }).map(({ whole }) => String(whole))
    expect(two(false)).toEqual(['true', 'true'])
    expect(two(true)).toEqual(['true', 'false'])
  })

  it('has no part of a frame of which no picture was kept', () => {
    // the first change comes after the first scanline has begun, or before it
    const parts = (tick: number): number =>
      framesToMerge(
        recordingOf([[tick, 1]], { frames: [frame(10, 2), frame(12, 2)], overflowed: true }),
        lines(4, 10),
        { frameScanlines: 2, mostFrames: 9, step: 1, from: 0 },
      ).length
    expect(parts(100)).toBe(1)
    expect(parts(99)).toBe(0)
  })

  it('reads rows that were captured, shifted as the picture says', () => {
    const recording = recordingOf([[350, 1]])
    const samples = new FrameSamples(recording, { originTicks: 0, intervalTicks: 10, uncertaintyTicks: 0 })
    const own = lines(4, 10)
    const part = { index: 0, firstLine: -1, whole: false, shiftTicks: 2 }
    expect(readRow(samples, own, part, 0, 0)).toBe(0)
    expect(readRow(samples, own, part, 1, 0)).toBe(100)
    expect(samples.firstTicks).toBe(8)
    expect(samples.count).toBe(10)
    // the capture may end in the last one, after its last change
    expect(readRow(samples, own, part, 4, 0)).toBe(100)
    expect(samples.count).toBe(5)
    expect(readRow(samples, own, part, 5, 0)).toBe(0)
  })
})
