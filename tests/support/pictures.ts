// Invented pictures as dot codes: what the card's shift register would send, one code per dot of the active area.

import { newRandom } from './random.ts'
import type { Timing } from './timings.ts'

/** Lit border around the active area, cut where sync begins or ends. */
interface Border {
  code: number
  dots: number
  scanlines: number
}

export interface Picture {
  widthDots: number
  heightScanlines: number
  /** Row by row, widthDots × heightScanlines codes; bit i is the timing's channels[i]. */
  codes: Uint16Array
  border?: Border
}

export type PictureKind =
  | 'dither' // every channel its own gradient, broken up by chance; touches all four edges
  | 'text' // characters on black; leaves the right edge and the outermost cells dark
  | 'text-full' // characters on coloured cells up to every edge
  | 'border' // text within a lit border
  | 'dark' // nothing at all
  | 'nearly-dark' // one small block
  | 'one-colour' // characters of one colour on black
  | 'few-letters' // a handful of characters near the top left corner
  | 'cursor' // one underline of a character's width
  | 'checkerboard' // one-dot alternation
  | 'rectangle' // a one-dot outline along the four edges

/** Codes as (dot, scanline) → code. */
type Painter = (x: number, y: number) => number

/**
 * Draws a picture that fills the timing's active area (both fields of it when interlaced). Where the timing has dots
 * two clocks wide, every even dot is repeated.
 */
export function drawPicture(kind: PictureKind, timing: Timing, seed = 1): Picture {
  const widthDots = timing.h.active
  const heightScanlines = timing.v.active * (timing.interlaced === true ? 2 : 1)
  const step = timing.doubleWidth === true ? 2 : 1
  const paint = painterOf(kind, timing, widthDots / step, heightScanlines, seed)
  const codes = new Uint16Array(widthDots * heightScanlines)
  for (let y = 0; y < heightScanlines; y++) {
    for (let x = 0; x < widthDots; x += step) {
      const code = paint(x / step, y) & timing.codeMask
      for (let repeat = 0; repeat < step; repeat++) codes[y * widthDots + x + repeat] = code
    }
  }
  const picture: Picture = { widthDots, heightScanlines, codes }
  if (kind === 'border') picture.border = { code: lowestBit(timing.codeMask), dots: 24, scanlines: 3 }
  return picture
}

function painterOf(kind: PictureKind, timing: Timing, width: number, height: number, seed: number): Painter {
  const mask = timing.codeMask
  switch (kind) {
    case 'dither':
      return ditherPainter(timing, width, height, seed)
    case 'text':
    case 'border':
      return textPainter(timing, width, height, seed, false)
    case 'text-full':
      return textPainter(timing, width, height, seed, true)
    case 'one-colour': {
      const characters = textPainter(timing, width, height, seed, false)
      const ink = litCode(mask, newRandom(seed + 1).below)
      return (x, y) => (characters(x, y) === 0 ? 0 : ink)
    }
    case 'few-letters': {
      // the second row of characters, columns 1 to 7: text leaves the outermost cells dark
      const characters = textPainter(timing, width, height, seed, false)
      return (x, y) => (x < width / 10 && y < 32 && characters(x, y) !== 0 ? mask : 0)
    }
    case 'cursor': {
      const cell = Math.round(width / 80)
      return (x, y) => (x >= 4 * cell && x < 5 * cell && (y === 22 || y === 23) ? mask : 0)
    }
    case 'dark':
      return () => 0
    case 'nearly-dark':
      return (x, y) =>
        x >= width / 4 && x < width / 4 + 37 && y >= height / 3 && y < height / 3 + 11 ? mask : 0
    case 'checkerboard':
      return (x, y) => ((x + y) % 2 === 0 ? mask : 0)
    case 'rectangle':
      return (x, y) => (x === 0 || y === 0 || x === width - 1 || y === height - 1 ? mask : 0)
  }
}

function ditherPainter(timing: Timing, width: number, height: number, seed: number): Painter {
  const random = newRandom(seed)
  const directions = timing.channels.map((_, bit) => (2 * Math.PI * bit) / timing.channels.length + 0.3)
  return (x, y) => {
    let code = 0
    for (let bit = 0; bit < directions.length; bit++) {
      const along =
        ((x / width - 0.5) * Math.cos(directions[bit]!) + (y / height - 0.5) * Math.sin(directions[bit]!)) /
        0.71
      // from 0.2 to 0.8, so that every edge is touched and left dark many times
      if (random.uniform() < 0.5 + 0.3 * along) code |= 1 << bit
    }
    return code
  }
}

function textPainter(timing: Timing, width: number, height: number, seed: number, full: boolean): Painter {
  const random = newRandom(seed)
  // 720-dot modes have cells of 9 dots, the last of them blank; cell heights are those of the period's fonts
  const cellWidth = timing.h.active === 720 ? 9 : 8
  const cellHeight = height <= 200 ? 8 : height <= 350 ? 14 : 16
  const columns = Math.floor(width / cellWidth)
  const rows = Math.ceil(height / cellHeight)
  const glyphs = Array.from({ length: 40 }, () => inventGlyph(cellHeight, random.below))
  const mask = timing.codeMask
  const cells = Array.from({ length: columns * rows }, (_, cell) => {
    const inside =
      cell % columns > 0 && cell % columns < columns - 1 && cell >= columns && cell < columns * (rows - 1)
    const blank = random.uniform() < 0.2 || (!full && !inside)
    return {
      glyph: blank ? -1 : random.below(glyphs.length),
      ink: litCode(mask, random.below),
      paper: full ? litCode(mask, random.below) : 0,
    }
  })
  return (x, y) => {
    const cell = cells[Math.floor(y / cellHeight) * columns + Math.floor(x / cellWidth)]
    if (cell === undefined) return 0
    const bits = cell.glyph < 0 ? 0 : glyphs[cell.glyph]![y % cellHeight]!
    return (bits >> (7 - (x % cellWidth))) & 1 ? cell.ink : cell.paper
  }
}

/** Strokes of one to two dots in a box of 7 columns; the 8th stays blank, as do the first and last rows. */
function inventGlyph(cellHeight: number, below: (limit: number) => number): number[] {
  const rows = Array.from({ length: cellHeight }, () => 0)
  const uprights = (1 << (7 - below(3))) | (1 << (1 + below(3))) | (below(4) === 0 ? 0b00011000 : 0)
  const bars = [1, 1 + below(cellHeight - 2), cellHeight - 2]
  for (let y = 1; y < cellHeight - 1; y++) rows[y] = bars.includes(y) ? 0b11111110 >> below(2) : uprights
  rows[bars[1]!] = 0b10101010 | below(256)
  return rows.map((row) => row & 0b11111110)
}

function litCode(mask: number, below: (limit: number) => number): number {
  const code = (1 + below(mask)) & mask
  return code === 0 ? mask : code
}

function lowestBit(mask: number): number {
  return mask & -mask
}
