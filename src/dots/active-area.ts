// A frame of dots → where the picture lies in it. There is no data-enable wire: lit dots prove a lower bound, a border
// proves too much, and where the picture proves less than the standard says, the standard's window is placed.
//
//   hsync leading edge                                              next hsync
//   |<- sync ->|<- back porch ->|<------- active ------->|<- front porch ->|
//   |‾‾‾‾‾‾‾‾‾‾|________________|dots dots dots dots dots|_________________|
//
// Borders count as porch. Vertically the same, from the scanline in which vsync's leading edge falls.

import type { DotRaster } from './sample-dots.ts'

/** Columns and rows of the raster, ends excluded. */
export interface Area {
  left: number
  right: number
  top: number
  bottom: number
}

/** What a frame shows of its own extent. */
export interface LitArea {
  /** Smallest area around all dots that differ from blanking; null for a dark frame. */
  lit: Area | null
  /** The same without a border of one colour around it; equals `lit` without one. */
  content: Area | null
  /** Code of the border, null without one. */
  borderCode: number | null
}

/** Size and place that a standard gives, in dots and scanlines from the leading edges. */
export interface NominalArea {
  left: number
  top: number
  dots: number
  scanlines: number
}

/** Share of a border's edge column that must have its colour. */
const BORDER_SHARE = 0.98
/** A frame drawn around the picture may be a few dots thick; a border is thicker than this. */
const MIN_BORDER = { dots: 8, scanlines: 4 }
/** How far the picture may lie from where registers put it: card pipelines delay it by about a character. */
const MAX_SHIFT = { dots: 20, scanlines: 6 }

/**
 * @param syncDots width of hsync: dots that are blank by definition
 */
export function litArea(raster: DotRaster, syncDots: number): LitArea {
  const { codes, dotsPerScanline: width, scanlines: height } = raster
  const blank = blankCode(raster, syncDots)
  const all = { left: 0, right: width, top: 0, bottom: height }
  const lit = boundsOf(codes, width, all, (code) => code !== blank)
  if (!lit) return { lit: null, content: null, borderCode: null }
  const border = borderOf(raster, lit, blank)
  if (border === null) return { lit, content: lit, borderCode: null }
  // rows and columns through the middle cross the border but not the corners that vsync and hsync cut into it
  const middleRows = inner(lit.top, lit.bottom)
  const middleColumns = inner(lit.left, lit.right)
  const notBorder = (code: number): boolean => code !== border
  const across = boundsOf(codes, width, { ...lit, top: middleRows[0], bottom: middleRows[1] }, notBorder)
  const down = boundsOf(codes, width, { ...lit, left: middleColumns[0], right: middleColumns[1] }, notBorder)
  if (!across || !down) return { lit, content: null, borderCode: border }
  const content = { left: across.left, right: across.right, top: down.top, bottom: down.bottom }
  const thick =
    content.left - lit.left >= MIN_BORDER.dots &&
    lit.right - content.right >= MIN_BORDER.dots &&
    content.top - lit.top >= MIN_BORDER.scanlines &&
    lit.bottom - content.bottom >= MIN_BORDER.scanlines
  return thick ? { lit, content, borderCode: border } : { lit, content: lit, borderCode: null }
}

function inner(from: number, to: number): [number, number] {
  const fifth = Math.floor((to - from) / 5)
  return [from + fifth, to - fifth]
}

/** The commonest code during hsync. */
function blankCode(raster: DotRaster, syncDots: number): number {
  const counts = new Map<number, number>()
  const width = Math.max(1, Math.floor(syncDots / 2))
  for (let row = 0; row < raster.scanlines; row++) {
    if (!raster.seen[row]) continue
    for (let dot = 1; dot <= width; dot++) {
      const code = raster.codes[row * raster.dotsPerScanline + dot]!
      counts.set(code, (counts.get(code) ?? 0) + 1)
    }
  }
  let best = 0
  let most = 0
  for (const [code, count] of counts) {
    if (count > most) {
      most = count
      best = code
    }
  }
  return best
}

function boundsOf(
  codes: Uint16Array,
  width: number,
  search: Area,
  counts: (code: number) => boolean,
): Area | null {
  let { right: left, left: right, bottom: top, top: bottom } = search
  for (let row = search.top; row < search.bottom; row++) {
    const base = row * width
    let first = search.left
    while (first < search.right && !counts(codes[base + first]!)) first++
    if (first === search.right) continue
    let last = search.right - 1
    while (!counts(codes[base + last]!)) last--
    left = Math.min(left, first)
    right = Math.max(right, last + 1)
    top = Math.min(top, row)
    bottom = Math.max(bottom, row + 1)
  }
  if (left >= right) return null
  return { left, right, top, bottom }
}

/** The colour that fills the outermost lit columns on both sides, if one does. */
function borderOf(raster: DotRaster, lit: Area, blank: number): number | null {
  const [top, bottom] = inner(lit.top, lit.bottom)
  const code = raster.codes[((top + bottom) >> 1) * raster.dotsPerScanline + lit.left]!
  if (code === blank) return null
  for (const column of [lit.left, lit.right - 1]) {
    let same = 0
    for (let row = top; row < bottom; row++) {
      if (raster.codes[row * raster.dotsPerScanline + column] === code) same++
    }
    if (same < BORDER_SHARE * (bottom - top)) return null
  }
  return code
}

/** The active area, and whether the picture itself proved its size. */
export interface PlacedArea extends Area {
  from: 'measured' | 'standard'
}

/**
 * @param nominal the standard's window, null where no standard is known
 * @returns null where neither picture nor standard tells
 */
export function placeActiveArea(proved: LitArea, nominal: NominalArea | null): PlacedArea | null {
  if (!nominal) return proved.content ? { ...proved.content, from: 'measured' } : null
  // what exceeds the window is border, unless the picture inside it has its own clear edge
  const shown = proved.content
  if (!shown) return placed(nominal.left, nominal.top, nominal, 'standard')
  const exactDots = shown.right - shown.left === nominal.dots
  const exactScanlines = shown.bottom - shown.top === nominal.scanlines
  if (exactDots && exactScanlines) return { ...shown, from: 'measured' }
  const left = shift(nominal.left, nominal.dots, shown.left, shown.right, MAX_SHIFT.dots)
  const top = shift(nominal.top, nominal.scanlines, shown.top, shown.bottom, MAX_SHIFT.scanlines)
  return placed(left, top, nominal, 'standard')
}

function placed(left: number, top: number, nominal: NominalArea, from: 'measured' | 'standard'): PlacedArea {
  return { left, right: left + nominal.dots, top, bottom: top + nominal.scanlines, from }
}

/** Moves a window of the standard's size as little as it takes to hold what is lit; stays if it cannot. */
function shift(start: number, size: number, from: number, to: number, most: number): number {
  if (to - from > size) return Math.abs(from - start) <= most ? from : start
  const lowest = to - size
  const moved = Math.min(Math.max(start, lowest), from)
  return Math.abs(moved - start) <= most ? moved : start
}
