// Where the picture lies in a frame of dots: on small frames made by hand.

import { describe, expect, it, test } from 'vitest'
import { litArea, placeActiveArea, type Area, type LitArea } from '../../src/dots/active-area.ts'
import type { DotRaster } from '../../src/dots/sample-dots.ts'

const WIDTH = 60
const HEIGHT = 40
const SYNC = 10

type Patch = Area & { code: number }

const area = (left: number, top: number, right: number, bottom: number): Area => ({
  left,
  top,
  right,
  bottom,
})
const patch = (code: number, left: number, top: number, right: number, bottom: number): Patch => ({
  code,
  ...area(left, top, right, bottom),
})

/** Patches over each other, the last one on top. */
function frame(patches: readonly Patch[], blank = 0): DotRaster {
  const codes = new Uint16Array(WIDTH * HEIGHT).fill(blank)
  for (const { code, left, top, right, bottom } of patches)
    for (let row = top; row < bottom; row++) codes.fill(code, row * WIDTH + left, row * WIDTH + right)
  return {
    dotsPerScanline: WIDTH,
    scanlines: HEIGHT,
    codes,
    seen: new Uint8Array(HEIGHT).fill(1),
    dotsWithoutSample: 0,
  }
}

const lit = (patches: readonly Patch[], blank = 0): LitArea => litArea(frame(patches, blank), SYNC)

describe('litArea', () => {
  it('is null for a dark frame, whatever code blanking has', () => {
    const nothing = { lit: null, content: null, borderCode: null }
    expect(lit([])).toEqual(nothing)
    expect(lit([], 5)).toEqual(nothing)
  })

  it('reaches from the first dot that differs from blanking to the last', () => {
    const dots = [patch(1, 12, 9, 13, 10), patch(2, 30, 3, 31, 4), patch(4, 51, 36, 52, 37)]
    const all = area(12, 3, 52, 37)
    expect(lit(dots)).toEqual({ lit: all, content: all, borderCode: null })
    expect(lit(dots, 7).lit).toEqual(all)
    expect(lit([patch(1, 30, 20, 31, 21)]).lit).toEqual(area(30, 20, 31, 21))
    expect(lit([patch(1, WIDTH - 1, HEIGHT - 1, WIDTH, HEIGHT)]).lit).toEqual(
      area(WIDTH - 1, HEIGHT - 1, WIDTH, HEIGHT),
    )
    expect(lit([patch(1, 30, 0, 31, 1)]).lit).toEqual(area(30, 0, 31, 1))
  })

  it('looks past the first half of hsync, into which the scanline before reaches', () => {
    expect(lit([patch(1, 4, 10, 5, 11)]).lit).toBeNull()
    expect(lit([patch(1, 5, 10, 6, 11)]).lit).toEqual(area(5, 10, 6, 11))
  })

  it('takes for blanking what most of hsync shows in the rows that were seen', () => {
    // what comes after its first half is none of it, lit in all rows as it may be
    expect(lit([patch(1, 10, 0, WIDTH, HEIGHT)]).lit).toEqual(area(10, 0, WIDTH, HEIGHT))
    // lit in hsync of a few rows, as noise is
    expect(lit([patch(1, 0, 0, WIDTH, 12)]).lit).toEqual(area(5, 0, WIDTH, 12))
    // 24 rows of 40 are most of them, though the others come last
    expect(lit([patch(1, 0, 0, WIDTH, 24)]).lit).toEqual(area(5, 24, WIDTH, HEIGHT))
    const raster = frame([patch(1, 0, 0, WIDTH, 30)])
    raster.seen.fill(0, 0, 30)
    expect(litArea(raster, SYNC).lit).toEqual(area(5, 0, WIDTH, 30))
    raster.seen.fill(1)
    expect(litArea(raster, SYNC).lit).toEqual(area(5, 30, WIDTH, HEIGHT))
  })

  const outer = area(14, 4, 56, 36)
  const border = (thick: number): Patch[] => [
    { code: 6, ...outer },
    patch(0, outer.left + thick, 12, outer.right - thick, 28),
  ]

  it('finds a border from eight dots on', () => {
    const letters = [patch(1, 23, 14, 25, 16), patch(1, 40, 24, 43, 25)]
    expect(lit([...border(8), ...letters])).toEqual({
      lit: outer,
      // blank rows within it are no picture
      content: area(22, 14, 48, 25),
      borderCode: 6,
    })
    expect(lit([...border(7), ...letters])).toEqual({ lit: outer, content: outer, borderCode: null })
  })

  it('takes for content what differs from the border, even where that is blank in part', () => {
    // a field of another colour within the border
    const field = [{ code: 6, ...outer }, patch(3, 24, 14, 46, 30)]
    expect(lit(field)).toEqual({ lit: outer, content: area(24, 14, 46, 30), borderCode: 6 })
    // nothing but border
    expect(lit([{ code: 6, ...outer }])).toEqual({ lit: outer, content: null, borderCode: 6 })
  })

  it('steps over what syncs cut out of a border', () => {
    // a row that is wholly blank is no content
    const cut = [{ code: 6, ...outer }, patch(3, 28, 14, 46, 30), patch(0, 14, 8, 56, 9)]
    expect(lit(cut).content).toEqual(area(28, 14, 46, 30))
  })

  it('wants the border in nearly every middle row', () => {
    // middle rows are those from a fifth on to four fifths: 32 rows, 6 and 6 off
    const other = (top: number, rows: number): Patch[] => [
      ...border(8),
      patch(2, outer.left, top, outer.left + 3, top + rows),
    ]
    expect(lit(other(outer.top, 6)).borderCode).toBe(6)
    expect(lit(other(outer.top, 7)).borderCode).toBeNull()
    expect(lit(other(outer.bottom - 6, 6)).borderCode).toBe(6)
    expect(lit(other(outer.bottom - 7, 1)).borderCode).toBeNull()
    // both sides count
    const right = [...border(8), patch(2, outer.right - 3, 20, outer.right, 22)]
    expect(lit(right).borderCode).toBeNull()
  })
})

describe('placeActiveArea', () => {
  const nominal = { left: 20, top: 8, dots: 30, scanlines: 20 }
  const window = area(20, 8, 50, 28)
  const shown = (content: Area | null, all: Area | null = content): LitArea => ({
    lit: all,
    content,
    borderCode: content === all ? null : 6,
  })
  const place = (proved: LitArea, slack = 0): unknown => placeActiveArea(proved, nominal, slack)

  test('without a standard, what is lit, or lies within the border', () => {
    const inside = area(22, 10, 40, 20)
    const all = area(15, 4, 55, 34)
    expect(placeActiveArea(shown(inside), null, 0)).toEqual({ ...inside, from: 'measured' })
    expect(placeActiveArea(shown(inside, all), null, 0)).toEqual({ ...inside, from: 'measured' })
    expect(placeActiveArea({ lit: all, content: null, borderCode: 6 }, null, 0)).toEqual({
      ...all,
      from: 'measured',
    })
    expect(placeActiveArea(shown(null), null, 0)).toBeNull()
  })

  test('what is as large as the standard says is measured, wherever it lies', () => {
    const moved = area(3, 17, 33, 37)
    expect(place(shown(moved))).toEqual({ ...moved, from: 'measured' })
    expect(place(shown(moved, area(0, 0, 60, 40)))).toEqual({ ...moved, from: 'measured' })
    // of another size it is not
    expect(place(shown(area(20, 8, 50, 27)))).toEqual({ ...window, from: 'standard' })
    expect(place(shown(area(20, 8, 49, 28)))).toEqual({ ...window, from: 'standard' })
    // edges that may be misplaced prove no size, and no place but the middle of what they fill
    expect(place(shown(area(22, 8, 52, 28)), 1)).toEqual({ ...area(22, 8, 52, 28), from: 'standard' })
  })

  test('the standard where nothing is lit, or border alone', () => {
    expect(place(shown(null))).toEqual({ ...window, from: 'standard' })
    expect(place({ lit: area(0, 0, 60, 40), content: null, borderCode: 6 })).toEqual({
      ...window,
      from: 'standard',
    })
  })

  test('the window moves as little as holds what is lit, up to 20 dots and 6 scanlines', () => {
    const moved = (content: Area): Area => {
      const { left, top, right, bottom } = place(shown(content)) as Area
      return { left, top, right, bottom }
    }
    expect(moved(area(25, 10, 45, 20))).toEqual(window)
    expect(moved(area(17, 10, 40, 20))).toEqual(area(17, 8, 47, 28))
    expect(moved(area(30, 10, 57, 20))).toEqual(area(27, 8, 57, 28))
    expect(moved(area(30, 6, 40, 20))).toEqual(area(20, 6, 50, 26))
    expect(moved(area(30, 12, 40, 31))).toEqual(area(20, 11, 50, 31))
    // as far as it goes
    expect(moved(area(0, 2, 10, 12))).toEqual(area(0, 2, 30, 22))
    expect(moved(area(30, 20, 40, 34))).toEqual(area(20, 14, 50, 34))
    // further it stays
    expect(moved(area(30, 1, 40, 12))).toEqual(window)
    expect(moved(area(30, 20, 40, 35))).toEqual(window)
    expect(moved(area(40, 10, 70, 20)).left).toBe(40)
    expect(moved(area(42, 10, 71, 20)).left).toBe(20)
  })

  test('a picture that is larger begins where it begins, if that is near', () => {
    const left = (from: number, to: number): number => (place(shown(area(from, 10, to, 20))) as Area).left
    expect(left(10, 45)).toBe(10)
    expect(left(0, 45)).toBe(0)
    expect(left(41, 75)).toBe(20)
  })

  test('slack: it fills the window if it does within twice that, else it may lie so much further out', () => {
    const left = (from: number, to: number, slack: number): number =>
      (place(shown(area(from, 10, to, 20)), slack) as Area).left
    // 34 dots fill 30 to within two of slack at either end: the middle is its place
    expect(left(10, 44, 2)).toBe(12)
    expect(left(10, 36, 2)).toBe(8)
    // 25 do not: from dot 19 on, or 21 when two late, the window may stay
    expect(left(18, 43, 2)).toBe(20)
    expect(left(16, 41, 2)).toBe(18)
    expect(left(29, 54, 2)).toBe(22)
  })
})
