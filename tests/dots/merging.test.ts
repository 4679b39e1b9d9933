// Several frames sampled at less than two samples a dot, put between each other: a random picture of two planes, sampled by
// hand, so that every boundary, delay and shift is known. Dots are 10 ticks, scanlines 40 dots.

import { describe, expect, it, test } from 'vitest'
import { boundaryEye } from '../../src/dots/boundary-eye.ts'
import {
  addNearEvidence,
  DOT_DISPUTED,
  DOT_UNKNOWN,
  dotEvidence,
  dotStates,
  EVERY_FRAME,
  evidenceOfFrames,
  framesThatShow,
  WORDS,
  type MergeSource,
} from '../../src/dots/dot-evidence.ts'
import { edgePhases, PHASE_BINS } from '../../src/dots/edge-phases.ts'
import { learnBoundaries } from '../../src/dots/learnt-boundaries.ts'
import { mergedEdges } from '../../src/dots/merged-edges.ts'
import {
  mergedSamplesPerScanline,
  mergeFrames,
  mergeSetup,
  type MergedFrames,
} from '../../src/dots/merge-frames.ts'
import { newRandom } from '../support/random.ts'
import { recordingOf } from './hand-made-recording.ts'

const DOT = 10
const DOTS = 40
const ROWS = 60
const LINE = DOT * DOTS
const FRAMES = 20
const FIRST = 5
/** Of plane 1, in dots: falling and rising. */
const DELAYS = [0.1, 0.25]

const random = newRandom(21)
/** Blank at both ends, as a scanline is. */
const PICTURE = Uint8Array.from({ length: ROWS * DOTS }, (_, i) =>
  i % DOTS < 3 || i % DOTS > 36 ? 0 : random.below(4),
)
/** A few strokes. */
const SPARSE = Uint8Array.from({ length: ROWS * DOTS }, (_, i) => (i % DOTS === 20 && i < 8 * DOTS ? 3 : 0))

interface Setup {
  interval?: number
  frames?: number
  /** In dots: how much later than the grid has it a frame comes. */
  late?: (frame: number) => number
  picture?: (frame: number) => Uint8Array
  jitterDots?: number
  /** Scanlines that are captured after the last frame's begin. */
  lastRows?: number
}

/** What an instrument takes down of frames that follow each other. */
function merge({
  interval = 7.37,
  frames = FRAMES,
  late = () => 0,
  picture = () => PICTURE,
  jitterDots = 0,
  lastRows = ROWS,
}: Setup = {}): MergeSource {
  const jitter = newRandom(5)
  const changes: { tick: number; plane: number; level: number }[] = []
  for (let frame = 0; frame < frames; frame++) {
    const rows = frame === frames - 1 ? lastRows : ROWS
    for (let row = 0; row < rows; row++) {
      for (let plane = 0; plane < 2; plane++) {
        for (let dot = 1; dot < DOTS; dot++) {
          const before = (picture(frame)[row * DOTS + dot - 1]! >> plane) & 1
          const level = (picture(frame)[row * DOTS + dot]! >> plane) & 1
          if (level === before) continue
          const delay = (plane === 1 ? DELAYS[level]! : 0) + late(frame) + jitterDots * jitter.gaussian()
          changes.push({ tick: LINE * (FIRST + frame * ROWS + row) + DOT * (dot + delay), plane, level })
        }
      }
    }
  }
  const seen = changes
    .map((change) => ({ ...change, tick: Math.ceil(change.tick / interval) * interval }))
    .sort((a, b) => a.tick - b.tick)
  const tick: number[] = []
  const levels: number[] = []
  for (const { tick: at, plane, level } of seen) {
    const now = ((levels.at(-1) ?? 0) & ~(1 << plane)) | (level << plane)
    if (tick.at(-1) === at) levels[levels.length - 1] = now
    else {
      tick.push(at)
      levels.push(now)
    }
  }
  const lines = FIRST + (frames - 1) * ROWS + lastRows
  return {
    recording: recordingOf(tick.map((at, row) => [at, levels[row]!])),
    grid: {
      firstNumber: 0,
      start: Float64Array.from({ length: lines + 1 }, (_, line) => LINE * line),
      periodTicks: LINE,
      jitterTicks: 0,
    },
    instants: { originTicks: 0, intervalTicks: interval, uncertaintyTicks: 0 },
    planeCount: 2,
    rows: ROWS,
    dotsPerScanline: DOTS,
    frames: Array.from({ length: frames }, (_, index) => ({
      index,
      firstLine: FIRST + index * ROWS,
      whole: index < frames - 1 || lastRows === ROWS,
      shiftTicks: 0,
    })),
    boundaryDots: Float64Array.of(0, 0, 0, 0),
  }
}

const truth = (plane: number, i: number): number => (PICTURE[i]! >> plane) & 1
const size = ROWS * DOTS

/** How many dots are known, and how many of these are wrong. */
function compared(states: Uint8Array): { known: number; wrong: number } {
  let known = 0
  let wrong = 0
  for (let plane = 0; plane < 2; plane++)
    for (let i = 0; i < size; i++) {
      const state = states[plane * size + i]!
      if (state >= DOT_UNKNOWN) continue
      known++
      if (state !== truth(plane, i)) wrong++
    }
  return { known, wrong }
}

const guards = (dots: number): Float64Array => new Float64Array(2).fill(dots)

describe('dotEvidence', () => {
  it('proves nearly every dot, and none wrongly', () => {
    const source = merge()
    source.boundaryDots.set([0, 0, ...DELAYS])
    const states = dotStates(dotEvidence(source, guards(0.05)), EVERY_FRAME)
    const { known, wrong } = compared(states)
    expect(wrong).toBe(0)
    expect(known).toBe(2 * size)
  })

  it('tells frames apart', () => {
    const source = merge({ frames: 3 })
    const { high, low } = dotEvidence(source, guards(0.3))
    let any = 0
    for (let dot = 0; dot < 2 * size; dot++) {
      const shown = framesThatShow(high, dot) + framesThatShow(low, dot)
      any += shown
      expect(high[dot * WORDS]! & low[dot * WORDS]!).toBe(0)
      expect((high[dot * WORDS]! | low[dot * WORDS]!) >> 3).toBe(0)
    }
    // samples 7.37 ticks apart fall into four tenths of a dot of 10 in 54 % of all dots of a frame
    expect(any / (3 * 2 * size)).toBeGreaterThan(0.52)
    expect(any / (3 * 2 * size)).toBeLessThan(0.56)
  })

  it('lets the sample nearest the middle speak, where a dot has several', () => {
    // samples every 2 ticks, dots that change in their middle: late in the first frame, early in the second
    const source = merge({ interval: 2.01, frames: 2, late: (frame) => (frame === 0 ? 0.1 : -0.1) })
    const { wrong, known } = compared(dotStates(dotEvidence(source, guards(0)), EVERY_FRAME))
    expect([wrong, known]).toEqual([0, 2 * size])
    const half = merge({ interval: 2.01, frames: 1, late: () => 0.7 })
    expect(compared(dotStates(dotEvidence(half, guards(0)), EVERY_FRAME)).wrong).toBeGreaterThan(size / 4)
  })

  it('finds frames that disagree', () => {
    const other = PICTURE.map((code, i) => (i % DOTS === 20 ? code ^ 1 : code))
    const source = merge({ picture: (frame) => (frame % 2 === 0 ? PICTURE : other) })
    source.boundaryDots.set([0, 0, ...DELAYS])
    const states = dotStates(dotEvidence(source, guards(0.1)), EVERY_FRAME)
    const disputed = [...states.keys()].filter((i) => states[i] === DOT_DISPUTED)
    expect(disputed).toHaveLength(ROWS)
    expect(disputed.every((i) => i < size && i % DOTS === 20)).toBe(true)
  })

  it('proves nothing of rows that were not captured', () => {
    const source = merge({ frames: 1, interval: 3.1, lastRows: 20 })
    const states = dotStates(dotEvidence(source, guards(0.1)), EVERY_FRAME)
    expect(states.subarray(20 * DOTS, size).every((state) => state === DOT_UNKNOWN)).toBe(true)
    expect(states.subarray(0, 19 * DOTS).every((state) => state < DOT_UNKNOWN)).toBe(true)
  })
})

describe('addNearEvidence', () => {
  it('looks nearer for dots that are unknown, and drops what disagrees there', () => {
    const other = PICTURE.map((code) => code ^ 3)
    // two frames of few samples that contradict each other everywhere
    const source = merge({ frames: 2, interval: 23.7, picture: (frame) => (frame === 0 ? PICTURE : other) })
    const evidence = dotEvidence(source, guards(0.45))
    const states = dotStates(evidence, EVERY_FRAME)
    const before = states.slice()
    addNearEvidence(source, guards(0), evidence, states)
    let dropped = 0
    const nearer = dotStates(dotEvidence(source, guards(0)), EVERY_FRAME)
    for (const [dot, state] of states.entries()) {
      // what was known stays
      if (before[dot] !== DOT_UNKNOWN) expect(state).toBe(before[dot])
      else if (nearer[dot] === DOT_DISPUTED) {
        dropped++
        expect(state).toBe(DOT_UNKNOWN)
        expect(framesThatShow(evidence.high, dot) + framesThatShow(evidence.low, dot)).toBe(0)
      } else {
        expect(state).toBe(nearer[dot])
        expect(framesThatShow(evidence.high, dot) > 0).toBe(state === 1)
      }
    }
    expect(dropped).toBeGreaterThan(100)
  })
})

test('evidenceOfFrames: every frame by itself, as single frames are read', () => {
  const source = merge({ interval: 2.3, frames: 3, lastRows: 30 })
  const phase = { commonDots: 0, byEdge: Float64Array.of(0.1, 0.1, 0.1 + DELAYS[0]!, 0.1 + DELAYS[1]!) }
  const evidence = evidenceOfFrames(source, phase)
  const states = dotStates(evidence, EVERY_FRAME)
  expect(compared(states)).toEqual({ known: 2 * size, wrong: 0 })
  // of the last frame rows below 29 were captured whole
  const shown = (row: number): number => {
    const dot = row * DOTS + 10
    return framesThatShow(evidence.high, dot) + framesThatShow(evidence.low, dot)
  }
  expect([0, 28, 29, 30, 59].map(shown)).toEqual([3, 3, 2, 2, 2])
})

test('more frames than a word of bits holds', () => {
  const source = merge({ interval: 4.3, frames: 36 })
  const phase = { commonDots: 0, byEdge: Float64Array.of(0.2, 0.2, 0.2 + DELAYS[0]!, 0.2 + DELAYS[1]!) }
  const known = [...PICTURE.keys()].findIndex((i) => i % DOTS === 20)
  for (const { high, low } of [evidenceOfFrames(source, phase), dotEvidence(source, guards(0.2))]) {
    const seen = [0, 1].map((word) => high[known * WORDS + word]! | low[known * WORDS + word]!)
    expect(seen[1]).not.toBe(0)
    // frames 32 to 35 alone
    expect(seen[1]! >>> 4).toBe(0)
    expect(framesThatShow(high, known) + framesThatShow(low, known)).toBeGreaterThan(32)
  }
  expect(compared(dotStates(evidenceOfFrames(source, phase), EVERY_FRAME)).wrong).toBe(0)
})

describe('mergedEdges', () => {
  it('finds edges to a gap between neighbouring samples, by plane and direction', () => {
    const { phases, gapTicks, places } = mergedEdges(merge())
    expect(phases.map(({ plane, rising }) => `${plane} ${rising}`)).toEqual([
      '0 false',
      '0 true',
      '1 false',
      '1 true',
    ])
    // twenty frames: samples a third of a tick apart on average
    expect(gapTicks).toBeGreaterThan(0.2)
    expect(gapTicks).toBeLessThan(1.5)
    for (const { plane, rising, edges, histogram } of phases) {
      let drawn = 0
      for (let i = 1; i < size; i++)
        if (i % DOTS > 0 && truth(plane, i) === Number(rising) && truth(plane, i - 1) !== Number(rising))
          drawn++
      expect(edges).toBe(drawn)
      expect(histogram.reduce((sum, count) => sum + count, 0)).toBe(drawn)
      const delay = plane === 1 ? DELAYS[Number(rising)]! : 0
      for (const [bin, count] of histogram.entries()) {
        if (count === 0) continue
        const place = ((bin + 0.5) / PHASE_BINS) * DOTS
        const off = place - delay - Math.round(place - delay)
        expect(Math.abs(off) * DOT).toBeLessThan(gapTicks / 2 + (DOT * DOTS) / PHASE_BINS)
      }
    }
    // edges could have been found nearly everywhere, once in each row
    const covered = places.reduce((sum, ticks) => sum + ticks, 0)
    expect(covered / (LINE * ROWS)).toBeGreaterThan(0.94)
    expect(covered / (LINE * ROWS)).toBeLessThanOrEqual(1)
  })

  it('finds none in one frame, and takes no gap that is hardly shorter than a sample', () => {
    expect(mergedEdges(merge({ frames: 1 }))).toMatchObject({ phases: [], gapTicks: 0 })
    // samples of both frames fall nearly together: one gap of nine tenths
    const frameTicks = ROWS * LINE
    const interval = frameTicks / (Math.floor(frameTicks / 7.37) + 0.1)
    const two = mergedEdges(merge({ frames: 2, interval }))
    expect(two.gapTicks).toBeLessThan(0.6 * interval)
    expect(two.gapTicks).toBeGreaterThan(0.05 * interval)
    expect(two.places.reduce((sum, ticks) => sum + ticks, 0) / (LINE * ROWS)).toBeLessThan(0.2)
  })

  it('wants two equal samples on each side from five frames on', () => {
    const spotted = PICTURE.map((code, i) => (i % DOTS === 1 ? 1 : code))
    const edges = (frames: number): number =>
      mergedEdges(merge({ frames, picture: (frame) => (frame === 1 ? spotted : PICTURE) })).phases.reduce(
        (sum, phase) => sum + phase.edges,
        0,
      )
    const still = (frames: number): number =>
      mergedEdges(merge({ frames })).phases.reduce((sum, phase) => sum + phase.edges, 0)
    expect(edges(4)).toBeGreaterThan(still(4) + ROWS / 2)
    expect(edges(5)).toBe(still(5))
  })
})

describe('boundaryEye', () => {
  const eyeOf = (setup: Setup): ReturnType<typeof boundaryEye> => {
    const source = merge(setup)
    return boundaryEye(source, dotStates(dotEvidence(source, guards(0.3)), EVERY_FRAME))
  }

  it('says how far boundaries are from where they were taken to be', () => {
    const { moveDots, sharp, jitterDots } = eyeOf({})
    expect([...sharp]).toEqual([1, 1, 1, 1])
    for (const [edge, delay] of [0, 0, ...DELAYS].entries())
      expect(Math.abs(moveDots[edge]! - delay), String(edge)).toBeLessThan(1.5 / 128)
    expect(jitterDots).toBeLessThan(0.01)
  })

  it('says how much the edges jitter', () => {
    const { jitterDots, moveDots } = eyeOf({ jitterDots: 0.05 })
    expect(Math.abs(jitterDots! / 0.05 - 1)).toBeLessThan(0.15)
    expect(Math.abs(moveDots[3]! - DELAYS[1]!)).toBeLessThan(0.03)
  })

  it('tells nothing of too few samples', () => {
    const { sharp, moveDots, jitterDots } = eyeOf({ frames: 2 })
    expect([...sharp]).toEqual([0, 0, 0, 0])
    expect([...moveDots]).toEqual([0, 0, 0, 0])
    expect(jitterDots).toBeNull()
    const { frameSharp, frameDots } = eyeOf({ frames: 2, picture: () => SPARSE })
    expect([...frameSharp, ...frameDots]).toEqual([0, 0, 0, 0])
  })

  it('says how much later than the others a frame comes', () => {
    const source = merge({ late: (frame) => (frame === 7 ? 0.1 : frame === 8 ? -0.05 : 0) })
    source.boundaryDots.set([0, 0, ...DELAYS])
    const { frameSharp, frameDots } = boundaryEye(
      source,
      dotStates(dotEvidence(source, guards(0.3)), EVERY_FRAME),
    )
    expect([...frameSharp]).toEqual(Array.from({ length: FRAMES }, () => 1))
    const usual = frameDots[0]!
    expect(Math.abs(frameDots[7]! - usual - 0.1)).toBeLessThan(0.03)
    expect(Math.abs(frameDots[8]! - usual + 0.05)).toBeLessThan(0.03)
    expect(Math.abs(frameDots.reduce((sum, dots) => sum + dots, 0))).toBeLessThan(0.05)
  })
})

describe('learnBoundaries', () => {
  const known = { syncJitterDots: 0.01, frameDoubtDots: 0.02, changing: new Set([0, 1]) }

  it('moves boundaries to where the picture has them, and guards what is sharp closely', () => {
    const source = merge()
    const { guardDots, jitterDots, framesPlaced } = learnBoundaries(source, known)
    for (const [edge, delay] of [0, 0, ...DELAYS].entries())
      expect(Math.abs(source.boundaryDots[edge]! - delay)).toBeLessThan(1.5 / 128)
    // so many boundaries tell the place of every frame
    expect(framesPlaced).toBe(true)
    // 4.5 of jitter, and a bin and a half
    for (const guard of guardDots) expect(guard).toBeCloseTo(4.5 * jitterDots + 1.5 / 128, 9)
  })

  it('guards two tenths of a dot where the picture tells nothing, more where sync jitters', () => {
    const source = merge({ frames: 2 })
    expect([...learnBoundaries(source, known).guardDots]).toEqual([0.2, 0.2])
    expect([...source.boundaryDots]).toEqual([0, 0, 0, 0])
    const jittery = learnBoundaries(merge({ frames: 2 }), { ...known, syncJitterDots: 0.06 })
    expect(jittery.jitterDots).toBe(0.06)
    for (const guard of jittery.guardDots) expect(guard).toBeCloseTo(0.27, 9)
    // and where frames are not placed, what scanlines leave open of that
    const sparse = learnBoundaries(merge({ frames: 2, picture: () => SPARSE }), {
      ...known,
      syncJitterDots: 0.06,
    })
    expect(sparse.framesPlaced).toBe(false)
    for (const guard of sparse.guardDots) expect(guard).toBeCloseTo(0.29, 9)
  })

  it('keeps close to planes that never change', () => {
    const half = PICTURE.map((code) => code & 1)
    const source = merge({ picture: () => half })
    const { guardDots } = learnBoundaries(source, { ...known, changing: new Set([0]) })
    expect(guardDots[1]).toBe(guardDots[0])
    expect(guardDots[1]).toBeLessThan(0.2)
    const unknown = learnBoundaries(merge({ picture: () => half }), known)
    expect(unknown.guardDots[1]).toBe(0.2)
  })
})

describe('mergeFrames', () => {
  /** @param which of the frames take part */
  function merged(
    setup: Setup,
    which = (_index: number): boolean => true,
    periodDoubtTicks = 1e-5,
  ): MergedFrames {
    const set = merge(setup)
    const frames = set.frames.filter(({ index }) => which(index))
    const { recording, grid, planeCount, instants, rows } = set
    return mergeFrames(
      {
        recording,
        grid,
        planeCount,
        phases: edgePhases(recording, grid, 2),
        sampleIntervalTicks: instants.intervalTicks,
      },
      { instants, rows, frames, edges: mergedEdges({ ...set, frames }), periodDoubtTicks },
      DOTS,
    )!
  }
  const wrong = ({ raster }: MergedFrames): number =>
    raster.codes.reduce((sum, code, i) => sum + (code === PICTURE[i] ? 0 : 1), 0)

  it('draws what the frames show together, dot for dot', () => {
    const all = merged({})
    expect(wrong(all)).toBe(0)
    expect(all.raster).toMatchObject({
      dotsPerScanline: DOTS,
      scanlines: ROWS,
      dotsWithoutSample: 0,
      frame: 0,
      whole: true,
      firstScanline: FIRST,
    })
    expect(all.raster.seen.every((seen) => seen === 1)).toBe(true)
    expect(all.parts).toEqual([])
    expect([all.disputed, all.unsampled].map((marks) => marks.reduce((sum, is) => sum + is, 0))).toEqual([
      0, 0,
    ])
    expect(all.jitterTicks).toBeLessThan(0.1)
    expect(all.guardTicks).toBeLessThan(0.5)
    // a frame is 24000 ticks, 3256.45 samples of 7.37
    expect(all.stepSamples.value).toBeCloseTo(24_000 / 7.37 - 3256, 2)
    expect(all.coverage).toMatchObject({ moreFrames: 0, gridMoves: true })
  })

  it('reads fast samples frame by frame', () => {
    const fast = merged({ interval: 2.3, frames: 4 })
    expect(wrong(fast)).toBe(0)
    expect(fast.guardTicks).toBe(0)
    expect(fast.jitterTicks).toBe(0)
    // from three to a dot on
    expect(merged({ interval: 10 / 3, frames: 4 }).guardTicks).toBe(0)
    expect(merged({ interval: 3.4, frames: 4 }).guardTicks).toBeGreaterThan(0)
  })

  it('knows which rows were captured, and draws nothing in the others', () => {
    const part = merged({ frames: 2, lastRows: 25, interval: 3.9 }, (index) => index === 1)
    expect([...part.raster.seen]).toEqual(Array.from({ length: ROWS }, (_, row) => (row < 25 ? 1 : 0)))
    expect(part.raster).toMatchObject({ whole: false, frame: null, firstScanline: FIRST + ROWS })
    expect(part.raster.codes.subarray(25 * DOTS).every((code) => code === 0)).toBe(true)
    expect(part.unsampled.subarray(25 * DOTS).every((is) => is === 1)).toBe(true)
    expect(part.raster.dotsWithoutSample).toBeGreaterThanOrEqual(35 * DOTS)
    const both = merged({ frames: 2, lastRows: 25, interval: 3.9 })
    expect(both.raster.seen.every((seen) => seen === 1)).toBe(true)
    expect(both.raster).toMatchObject({ whole: true, frame: 0 })
  })

  it('lights a dot that no sample met where both beside it are lit', () => {
    // one frame, samples as long as a dot: many fall too near a boundary
    const { raster, unsampled } = merged({ frames: 1, interval: 9.7 })
    expect(raster.dotsWithoutSample).toBe(unsampled.reduce((sum, is) => sum + is, 0))
    expect(raster.dotsWithoutSample).toBeGreaterThan(size / 8)
    // of plane 0, which has no delay
    for (const [i, code] of raster.codes.entries()) {
      if (unsampled[i] === 0) expect(code & 1, String(i)).toBe(truth(0, i))
      else if (unsampled[i - 1] === 0 && unsampled[i + 1] === 0 && truth(0, i - 1) + truth(0, i + 1) < 2)
        expect(code & 1 & ~truth(0, i), String(i)).toBe(0)
    }
    expect(raster.codes.some((code, i) => unsampled[i] === 1 && code !== 0)).toBe(true)
  })

  it('says what changes', () => {
    const other = PICTURE.map((code, i) =>
      i % DOTS >= 10 && i % DOTS < 14 && i < 4 * DOTS ? code ^ 1 : code,
    )
    const { parts, disputed } = merged({ picture: (frame) => (frame % 4 < 2 ? PICTURE : other) })
    expect(parts).toHaveLength(1)
    expect(parts[0]).toMatchObject({ kind: 'blinking', area: { left: 10, top: 0, right: 14, bottom: 4 } })
    expect(disputed.reduce((sum, is) => sum + is, 0)).toBe(16)
  })

  it('begins with the frames that were captured, if there is one, on a grid of samples', () => {
    const set = merge({ frames: 2 })
    // sync on every tenth sample
    const ticks = Array.from({ length: 40 }, (_, line) => 7.37 * Math.ceil((LINE * line) / 7.37))
    const setupOf = (scanlines: number, scanlineTick = ticks): ReturnType<typeof mergeSetup> =>
      mergeSetup(
        {
          ...set,
          recording: {
            ...set.recording,
            scanlineTick,
            scanlineNumber: scanlineTick.map((_, line) => line),
            frames: [{ firstScanline: FIRST, scanlines }] as never,
          },
          phases: [],
          sampleIntervalTicks: 7.37,
        },
        { frameScanlines: ROWS, mostFrames: 9, step: 2, from: 0 },
        0.5,
      )
    const setup = setupOf(ROWS)!
    expect(setup.frames).toEqual([{ index: 0, firstLine: FIRST, whole: true, shiftTicks: 0 }])
    expect(setup).toMatchObject({ rows: ROWS, periodDoubtTicks: 0.5 })
    expect(setup.instants.intervalTicks).toBeCloseTo(7.37, 6)
    // of another length
    expect(setupOf(ROWS + 1)).toBeUndefined()
    expect(setupOf(ROWS, ticks.slice(0, 2))).toBeUndefined()
  })

  it('draws no more than four million dots of all planes', () => {
    const tooMany = (planeCount: number, rows: number): unknown =>
      mergeFrames({ grid: { periodTicks: LINE }, planeCount } as never, { rows } as never, 2000)
    expect(tooMany(1, 2001)).toBeUndefined()
    expect(tooMany(6, 334)).toBeUndefined()
  })

  it('is as fast as the gaps between samples, and what the period leaves open', () => {
    const { grid, instants } = merge()
    const at = (gapTicks: number, periodDoubtTicks: number): number =>
      mergedSamplesPerScanline(
        { grid } as never,
        { edges: { gapTicks }, instants, periodDoubtTicks } as never,
      )
    const scanlines = FIRST + FRAMES * ROWS
    expect(at(0.5, 0)).toBeCloseTo(LINE / 0.5, 6)
    expect(at(0.5, 1e-4)).toBeCloseTo(LINE / (0.5 + 1e-4 * scanlines), 6)
    // no finer than a 32nd of a sample
    expect(at(0.01, 0)).toBeCloseTo((LINE * 32) / 7.37, 6)
  })
})
