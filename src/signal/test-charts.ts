// Built-in pictures, each made to show one thing well. All of our own design; every one works at any size in any palette.

import type { Palette } from '../picture/palette.ts'
import { LETTER_PITCH, LETTER_SCANLINES, letterOn } from './chart-lettering.ts'
import type { ChartName } from './choices.ts'
import { codesByBrightness } from './code-colours.ts'
import { impossible } from './impossible.ts'
import { Canvas, inset, type Place, type SignalPicture } from './signal-picture.ts'

/** The codes a chart draws with. */
interface Inks {
  /** Different colours, darkest first. */
  colours: readonly number[]
  dark: number
  bright: number
}

interface Chart {
  draw: (canvas: Canvas, place: Place, inks: Inks) => void
  hasBorder?: boolean
}

/** Most colours beside each other; more go into rows. */
const COLOURS_ABREAST = 16
/** Size of the border where the porches leave room for it. */
const BORDER = { dots: 32, scanlines: 12 } as const
const ALPHABET = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ 0123456789.-: '

function bars(canvas: Canvas, place: Place, { colours }: Inks): void {
  const abreast = Math.min(colours.length, COLOURS_ABREAST)
  const rows = Math.ceil(colours.length / abreast)
  colours.forEach((_, i) => {
    // brightest first, as bars are wont to be
    const code = colours[colours.length - 1 - i]!
    canvas.fill(cellOf(place, i % abreast, abreast, Math.floor(i / abreast), rows), code)
  })
}

/** Cell of a place divided into columns and rows that differ by one dot at most. */
function cellOf(place: Place, column: number, columns: number, row: number, rows: number): Place {
  const left = place.left + Math.floor((column * place.width) / columns)
  const top = place.top + Math.floor((row * place.height) / rows)
  return {
    left,
    top,
    width: place.left + Math.floor(((column + 1) * place.width) / columns) - left,
    height: place.top + Math.floor(((row + 1) * place.height) / rows) - top,
  }
}

/** Lines one dot thick: where they look thick or vanish, dots are read wrong. */
function grid(canvas: Canvas, place: Place, { bright, dark, colours }: Inks): void {
  const [across, down] = [16, 12]
  canvas.fill(place, dark)
  for (let i = 1; i < across; i++) {
    const { left } = cellOf(place, i, across, 0, 1)
    canvas.fill({ left, top: place.top, width: 1, height: place.height }, bright)
  }
  for (let i = 1; i < down; i++) {
    const { top } = cellOf(place, 0, 1, i, down)
    canvas.fill({ left: place.left, top, width: place.width, height: 1 }, bright)
  }
  // one diagonal, in a middling colour: each scanline's place along it is its own
  const middling = colours[Math.floor(colours.length / 2)]!
  for (let y = 0; y < place.height; y++) {
    canvas.dot(place.left + Math.floor((y * place.width) / place.height), place.top + y, middling)
  }
  canvas.outline(place, bright)
}

function text(canvas: Canvas, place: Place, { bright, dark, colours }: Inks): void {
  canvas.fill(place, dark)
  const tall = canvas.height >= 300 ? 2 : 1
  const inside = inset(place, 4)
  const pitch = (LETTER_SCANLINES + 2) * tall
  const letters = Math.floor(inside.width / LETTER_PITCH)
  for (let row = 0; (row + 1) * pitch <= inside.height; row++) {
    const line = Array.from({ length: letters }, (_, i) => ALPHABET[(i + 7 * row) % ALPHABET.length]!).join(
      '',
    )
    // every colour but the darkest in turn, brightest first
    const code = colours[colours.length - 1 - (row % (colours.length - 1))]!
    letterOn(canvas, line, inside.left, inside.top + row * pitch, code, tall)
  }
  canvas.outline(place, bright)
}

/** Steps from dark to bright whose edges lean by one dot a scanline: every dot of the scanline has an edge somewhere. */
function steps(canvas: Canvas, place: Place, { colours, bright }: Inks): void {
  const wide = Math.max(1, Math.floor(place.width / colours.length))
  for (let y = 0; y < place.height; y++) {
    for (let x = 0; x < place.width; x++) {
      const step = Math.floor((x + y) / wide) % colours.length
      canvas.dot(place.left + x, place.top + y, colours[step]!)
    }
  }
  canvas.outline(place, bright)
}

/** The finest patterns there are: columns, scanlines, and both at once. */
function alternation(canvas: Canvas, place: Place, { bright, dark }: Inks): void {
  canvas.fill(place, dark)
  for (let y = 0; y < place.height; y++) {
    const third = Math.floor((3 * y) / place.height)
    for (let x = 0; x < place.width; x++) {
      const lit = third === 0 ? x % 2 === 0 : third === 1 ? y % 2 === 0 : (x + y) % 2 === 0
      if (lit) canvas.dot(place.left + x, place.top + y, bright)
    }
  }
  canvas.outline(place, bright)
}

/** A bit of everything: bars above, letters in the middle, grid and finest patterns below. */
function card(canvas: Canvas, place: Place, inks: Inks): void {
  canvas.fill(place, inks.dark)
  const third = (row: number): Place => inset(cellOf(place, 0, 1, row, 3), 3)
  bars(canvas, third(0), inks)
  text(canvas, third(1), inks)
  grid(canvas, cellOf(third(2), 0, 2, 0, 1), inks)
  alternation(canvas, cellOf(third(2), 1, 2, 0, 1), inks)
  canvas.outline(place, inks.bright)
}

const CHARTS: Readonly<Record<ChartName, Chart>> = {
  card: { draw: card },
  bars: { draw: bars },
  grid: { draw: grid },
  text: { draw: text },
  steps: { draw: steps },
  alternation: { draw: alternation },
  border: { draw: grid, hasBorder: true },
}

/**
 * Draws a test chart.
 * @param widthDots size of the mode's active area
 * @throws {CaptureError} SYNTHESIS_IMPOSSIBLE for a name that is none
 */
export function drawChart(
  name: string,
  widthDots: number,
  heightScanlines: number,
  palette: Palette,
): SignalPicture {
  const known = new Map<string, Chart>(Object.entries(CHARTS))
  const chart = known.get(name.toLowerCase())
  if (!chart) {
    throw impossible(`no chart is called "${name}"`, `charts are: ${[...known.keys()].join(', ')}`)
  }
  const colours = codesByBrightness(palette)
  const inks = { colours, dark: colours[0]!, bright: colours.at(-1)! }
  const canvas = new Canvas(widthDots, heightScanlines)
  chart.draw(canvas, canvas.whole, inks)
  const middling = colours[Math.floor(colours.length / 2)]!
  return canvas.picture(chart.hasBorder ? { code: middling, ...BORDER } : null)
}
