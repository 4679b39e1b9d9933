// Disputed dots → parts of the picture that change: on evidence made by hand, of eight frames that all show every dot.

import { describe, expect, it } from 'vitest'
import { changingParts, type ChangingPart } from '../../src/dots/changing-parts.ts'
import {
  DOT_DISPUTED,
  dotStates,
  EVERY_FRAME,
  framesThatShow,
  safeSpan,
  stateOf,
  WORDS,
  type DotEvidence,
  type MergeSource,
} from '../../src/dots/dot-evidence.ts'

const WIDTH = 60
const ROWS = 40
const FRAMES = 8

/** What a frame shows of a dot: its level, or nothing. */
type Show = (dot: number, row: number, frame: number) => number | undefined

/** One plane after the other. */
function evidenceOf(...planes: Show[]): DotEvidence {
  const size = planes.length * ROWS * WIDTH * WORDS
  const evidence = { high: new Uint32Array(size), low: new Uint32Array(size) }
  planes.forEach((show, plane) => {
    for (let row = 0; row < ROWS; row++)
      for (let dot = 0; dot < WIDTH; dot++)
        for (let frame = 0; frame < FRAMES; frame++) {
          const level = show(dot, row, frame)
          if (level === undefined) continue
          const list = level === 1 ? evidence.high : evidence.low
          list[((plane * ROWS + row) * WIDTH + dot) * WORDS]! |= 1 << frame
        }
  })
  return evidence
}

interface Found {
  parts: ChangingPart[]
  state: (dot: number, row: number, plane?: number) => number
}

function partsOf(...planes: Show[]): Found {
  const evidence = evidenceOf(...planes)
  const states = dotStates(evidence, EVERY_FRAME)
  const source = {
    rows: ROWS,
    dotsPerScanline: WIDTH,
    planeCount: planes.length,
    frames: Array.from({ length: FRAMES }, (_, index) => ({
      index: 5 + index,
      firstLine: 0,
      whole: true,
      shiftTicks: 0,
    })),
  } as unknown as MergeSource
  const parts = changingParts(source, evidence, states)
  return { parts, state: (dot, row, plane = 0) => states[(plane * ROWS + row) * WIDTH + dot]! }
}

const isIn = (left: number, top: number, right: number, bottom: number) => (dot: number, row: number) =>
  dot >= left && dot < right && row >= top && row < bottom

const dark: Show = () => 0
const blink = (frame: number): number => (frame >> 1) & 1

describe('changingParts', () => {
  it('finds none where frames agree', () => {
    expect(partsOf((dot) => dot & 1).parts).toEqual([])
  })

  it('finds a blinking block, with its place, its period and what some of its frames show', () => {
    const inside = isIn(20, 10, 28, 16)
    const { parts, state } = partsOf((dot, row, frame) => (inside(dot, row) ? blink(frame) : 0))
    expect(parts).toHaveLength(1)
    expect(parts[0]).toMatchObject({
      kind: 'blinking',
      area: { left: 20, top: 10, right: 28, bottom: 16 },
      dotsInDispute: 48,
    })
    expect(parts[0]!.periodFrames!.value).toBeCloseTo(4, 9)
    // of two states that are seen as well, the first
    expect(parts[0]!.drawn[0]).toBe(0b0011_0011)
    expect([state(20, 10), state(27, 15), state(19, 10)]).toEqual([0, 0, 0])
  })

  it('takes dots for one part up to 9 dots and 8 scanlines apart', () => {
    const two = (right: number, below: number): number =>
      partsOf((dot, row, frame) =>
        isIn(10, 10, 13, 12)(dot, row) || isIn(12 + right, 11 + below, 15 + right, 13 + below)(dot, row)
          ? blink(frame)
          : 0,
      ).parts.length
    expect(two(9, 0)).toBe(1)
    expect(two(10, 0)).toBe(2)
    expect(two(0, 8)).toBe(1)
    expect(two(0, 9)).toBe(2)
    expect(two(9, 8)).toBe(1)
  })

  it('reaches to the edges of the frame, and not round them', () => {
    const corners = partsOf((dot, row, frame) =>
      isIn(0, 0, 3, 2)(dot, row) ||
      isIn(WIDTH - 3, 1, WIDTH, 3)(dot, row) ||
      isIn(20, ROWS - 2, 23, ROWS)(dot, row)
        ? blink(frame)
        : 0,
    )
    const areas = corners.parts.map(({ area }) => area)
    expect(areas).toHaveLength(3)
    expect(areas).toContainEqual({ left: 0, top: 0, right: 3, bottom: 2 })
    expect(areas).toContainEqual({ left: WIDTH - 3, top: 1, right: WIDTH, bottom: 3 })
    expect(areas).toContainEqual({ left: 20, top: ROWS - 2, right: 23, bottom: ROWS })
  })

  it('makes one of areas that overlap, though their dots lie far apart, and tells the largest first', () => {
    // an L whose box holds a block in its corner
    const isL = (dot: number, row: number): boolean =>
      isIn(5, 2, 7, 34)(dot, row) || isIn(5, 32, 40, 34)(dot, row)
    const isBlock = isIn(30, 6, 34, 8)
    const isFar = isIn(50, 4, 53, 6)
    const { parts } = partsOf((dot, row, frame) =>
      isL(dot, row) || isBlock(dot, row) || isFar(dot, row) ? blink(frame) : 0,
    )
    expect(parts.map(({ area }) => area)).toEqual([
      { left: 5, top: 2, right: 40, bottom: 34 },
      { left: 50, top: 4, right: 53, bottom: 6 },
    ])
    expect(parts.map(({ dotsInDispute }) => dotsInDispute)).toEqual([32 * 2 + 33 * 2 + 8, 6])
  })

  it('keeps areas apart that only touch', () => {
    // boxes of two strokes that meet at an edge: dots 10 apart
    const { parts } = partsOf((dot, row, frame) =>
      isIn(10, 5, 20, 6)(dot, row) || isIn(20, 20, 30, 21)(dot, row) ? blink(frame) : 0,
    )
    expect(parts).toHaveLength(2)
  })

  it('draws with a part what is around it, two dots and one scanline far', () => {
    // beside a block that blinks, dots that only frames of the other state show lit
    const inside = isIn(20, 10, 28, 16)
    const { state } = partsOf((dot, row, frame) => {
      if (inside(dot, row)) return blink(frame)
      return blink(frame) === 1 ? 1 : undefined
    })
    // frames with the block dark are drawn, and these show nothing of the rest
    const known = (dot: number, row: number): boolean => state(dot, row) === 1
    expect([state(20, 10), state(27, 15)]).toEqual([0, 0])
    expect([17, 18, 19, 28, 29, 30].map((dot) => known(dot, 12))).toEqual([
      true,
      false,
      false,
      false,
      false,
      true,
    ])
    expect([8, 9, 16, 17].map((row) => known(24, row))).toEqual([true, false, false, true])
  })

  it('lets three frames outvote one about two dots', () => {
    const odd = (dots: number, shown: number): Found =>
      partsOf((dot, row, frame) => {
        if (row !== 20 || dot < 30 || dot >= 30 + dots) return 0
        if (frame >= shown) return undefined
        return frame === 2 ? 0 : 1
      })
    const clear = odd(2, 4)
    expect(clear.parts).toEqual([])
    expect([clear.state(30, 20), clear.state(31, 20)]).toEqual([1, 1])
    expect(odd(3, 4).parts).toHaveLength(1)
    expect(odd(2, 3).parts).toHaveLength(1)
    // two against many are a change
    const twice = partsOf((dot, row, frame) => (row === 20 && dot === 30 && frame > 5 ? 1 : 0))
    expect(twice.parts).toHaveLength(1)
    const once = partsOf((dot, row, frame) => (row === 20 && dot === 30 && frame > 6 ? 1 : 0))
    expect(once.parts).toEqual([])
    expect(once.state(30, 20)).toBe(0)
  })

  it('counts a dot of two planes once, and draws both', () => {
    const inside = isIn(20, 10, 28, 16)
    const first: Show = (dot, row, frame) => (inside(dot, row) ? blink(frame) : 0)
    const second: Show = (dot, row, frame) => (inside(dot, row) ? 1 - blink(frame) : 0)
    const { parts, state } = partsOf(dark, first, second)
    expect(parts).toHaveLength(1)
    expect(parts[0]!.dotsInDispute).toBe(48)
    expect([state(22, 12, 0), state(22, 12, 1), state(22, 12, 2)]).toEqual([0, 0, 1])
  })
})

describe('evidence', () => {
  it('of a group of frames: known, unknown or disputed', () => {
    const high = new Uint32Array(2 * WORDS)
    const low = new Uint32Array(2 * WORDS)
    high[WORDS] = 0b0110
    low[WORDS + 1] = 0b1000
    const group = (...words: number[]): Uint32Array => Uint32Array.from(words)
    expect(stateOf(high, low, 1, EVERY_FRAME)).toBe(DOT_DISPUTED)
    expect(stateOf(high, low, 1, group(0b0010, 0))).toBe(1)
    expect(stateOf(high, low, 1, group(0, 0b1000))).toBe(0)
    expect(stateOf(high, low, 1, group(0b1001, 0b0111))).toBe(2)
    expect(stateOf(high, low, 0, EVERY_FRAME)).toBe(2)
    expect([...dotStates({ high, low }, EVERY_FRAME)]).toEqual([2, DOT_DISPUTED])
    expect([framesThatShow(high, 0), framesThatShow(high, 1), framesThatShow(low, 1)]).toEqual([0, 2, 1])
  })

  it('is safe between the boundaries of both directions, less the guard', () => {
    const boundary = Float64Array.from([0, 0, 0.1, -0.2])
    expect(safeSpan(boundary, 0, 0.05)).toEqual({ from: 0.05, to: 0.95 })
    const { from, to } = safeSpan(boundary, 1, 0.05)
    expect(from).toBeCloseTo(0.15, 12)
    expect(to).toBeCloseTo(0.75, 12)
  })

  it('leaves no dot in dispute up to the edges of the frame', () => {
    // in all four corners: the earlier of two pictures that are seen alike is drawn
    const isCorner = (dot: number, row: number): boolean =>
      (dot < 3 || dot >= WIDTH - 3) && (row < 3 || row >= ROWS - 3)
    const { parts, state } = partsOf((dot, row, frame) => (isCorner(dot, row) && frame < 4 ? 1 : 0))
    expect(parts).toHaveLength(4)
    for (const dot of [0, 2, 3, WIDTH - 4, WIDTH - 3, WIDTH - 1])
      for (const row of [0, 2, 3, ROWS - 4, ROWS - 3, ROWS - 1])
        expect(state(dot, row), `${dot}, ${row}`).toBe(isCorner(dot, row) ? 1 : 0)
  })
})
