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

/** Share of middle rows that must begin and end in the border's colour. */
const BORDER_SHARE = 0.98
/** A frame drawn around the picture may be a few dots thick; a border is at least as thick as this. */
const MIN_BORDER_DOTS = 8
/** How far the picture may lie from where registers put it: card pipelines delay it by about a character. */
const MAX_SHIFT = { dots: 20, scanlines: 6 }

/**
 * @param syncDots width of hsync: dots that are blank by definition
 */
export function litArea(raster: DotRaster, syncDots: number): LitArea {
  const { codes, dotsPerScanline: width, scanlines: height } = raster
  const blank = blankCode(raster, syncDots)
  // the beam is blanked during sync; what shows in its first dots is the scanline before, a sample late
  const left = Math.floor(syncDots / 2)
  const lit = boundsOf(codes, width, { left, right: width, top: 0, bottom: height }, blank)
  if (!lit) return { lit: null, content: null, borderCode: null }
  const border = borderOf(raster, lit, blank)
  if (border === null) return { lit, content: lit, borderCode: null }
  return { lit, content: insideBorder(raster, lit, border, blank), borderCode: border }
}

/**
 * What lies inside a border. Only columns that cross the middle rows and rows that cross the middle columns are
 * judged: they meet the border, but not the corners that the syncs cut into it. A column or row that is wholly blank
 * there is sync, not picture.
 */
function insideBorder(raster: DotRaster, lit: Area, border: number, blank: number): Area | null {
  const { codes, dotsPerScanline: width } = raster
  const [top, bottom] = inner(lit.top, lit.bottom)
  const [left, right] = inner(lit.left, lit.right)
  const isContent = (codeAt: (i: number) => number, from: number, to: number): boolean => {
    let other = 0
    let dark = 0
    for (let i = from; i < to; i++) {
      const code = codeAt(i)
      if (code !== border) other++
      if (code === blank) dark++
    }
    return other > 0 && dark < to - from
  }
  const column = (x: number): boolean => isContent((row) => codes[row * width + x]!, top, bottom)
  const row = (y: number): boolean => isContent((x) => codes[y * width + x]!, left, right)
  // where border meets sync, a dot is lit in some rows only: the border is thick enough to step over it
  const columns = extent(lit.left + 2, lit.right - 2, column)
  const rows = extent(lit.top + 2, lit.bottom - 2, row)
  return columns && rows ? { left: columns[0], right: columns[1], top: rows[0], bottom: rows[1] } : null
}

/** From the first to past the last of some numbers that are wanted; undefined where none is. */
function extent(from: number, to: number, isWanted: (i: number) => boolean): [number, number] | undefined {
  for (let first = from; first < to; first++) {
    if (!isWanted(first)) continue
    let end = to
    while (!isWanted(end - 1)) end--
    return [first, end]
  }
  return undefined
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
    const first = row * raster.dotsPerScanline + 1
    for (let from = first, dot = first; from < first + width; from = dot) {
      const code = raster.codes[from]!
      while (dot < first + width && raster.codes[dot] === code) dot++
      counts.set(code, (counts.get(code) ?? 0) + dot - from)
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

/** Smallest area around the dots of another code. */
function boundsOf(codes: Uint16Array, width: number, search: Area, blank: number): Area | null {
  let { right: left, left: right, bottom: top, top: bottom } = search
  for (let row = search.top; row < search.bottom; row++) {
    const base = row * width
    let first = search.left
    while (first < search.right && codes[base + first] === blank) first++
    if (first === search.right) continue
    let last = search.right - 1
    while (codes[base + last] === blank) last--
    left = Math.min(left, first)
    right = Math.max(right, last + 1)
    top = Math.min(top, row)
    bottom = Math.max(bottom, row + 1)
  }
  if (left >= right) return null
  return { left, right, top, bottom }
}

/** The colour in which nearly every middle row begins and ends, for more than a few dots; null without one. */
function borderOf(raster: DotRaster, lit: Area, blank: number): number | null {
  const { codes, dotsPerScanline: width } = raster
  const [top, bottom] = inner(lit.top, lit.bottom)
  const seen = new Map<number, number>()
  for (let row = top; row < bottom; row++) {
    const base = row * width
    let first = lit.left
    while (first < lit.right && codes[base + first] === blank) first++
    if (first === lit.right) continue
    let last = lit.right - 1
    while (codes[base + last] === blank) last--
    const code = codes[base + first]!
    if (codes[base + last] !== code) continue
    // the outermost are of this colour
    let thick = 1
    while (
      thick < MIN_BORDER_DOTS &&
      codes[base + first + thick] === code &&
      codes[base + last - thick] === code
    )
      thick++
    if (thick === MIN_BORDER_DOTS) seen.set(code, (seen.get(code) ?? 0) + 1)
  }
  for (const [code, rows] of seen) if (rows >= BORDER_SHARE * (bottom - top)) return code
  return null
}

/** The active area, and whether the picture itself proved its size. */
export interface PlacedArea extends Area {
  from: 'measured' | 'standard'
}

/**
 * @param nominal the standard's window, null where no standard is known
 * @param slackDots dots by which what is lit may be misplaced; then it proves no size
 * @returns null where neither picture nor standard tells
 */
export function placeActiveArea(
  proved: LitArea,
  nominal: NominalArea | null,
  slackDots: number,
): PlacedArea | null {
  if (!nominal) {
    const area = proved.content ?? proved.lit
    return area ? { ...area, from: 'measured' } : null
  }
  const { lit } = proved
  if (slackDots === 0 && lit && isAsLarge(lit, nominal)) return { ...lit, from: 'measured' }
  // what exceeds the window is border, unless the picture inside it has its own clear edge
  const shown = proved.content
  if (!shown) return placed(nominal.left, nominal.top, nominal, 'standard')
  if (slackDots === 0 && isAsLarge(shown, nominal)) return { ...shown, from: 'measured' }
  const { left: from, right: to } = shown
  // a picture that fills the window to within what edges are misplaced by shows its place, wherever that is
  const fills = Math.abs(to - from - nominal.dots) <= 2 * slackDots
  const left = fills
    ? Math.round((from + to - nominal.dots) / 2)
    : shift(nominal.left, nominal.dots, from + slackDots, to - slackDots, MAX_SHIFT.dots)
  const top = shift(nominal.top, nominal.scanlines, shown.top, shown.bottom, MAX_SHIFT.scanlines)
  return placed(left, top, nominal, 'standard')
}

function isAsLarge(area: Area, nominal: NominalArea): boolean {
  return area.right - area.left === nominal.dots && area.bottom - area.top === nominal.scanlines
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
