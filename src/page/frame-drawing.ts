// One frame (or field) to scale, as SVG: scanlines from the leading edge of vsync down, dots from the leading edge of
// hsync across, in the shape they have on the monitor. Each vertical part is named and dimensioned beside it.

import { coordinate as at, markup, type Markup } from './markup.ts'
import { axisText, lengthText, PART_CLASS, timeText } from './part-label.ts'
import type { RasterAxis, RasterPart } from '../report/raster-parts.ts'

/** Text beside the drawing, and the room for the height's dimension. */
const LABELS_WIDTH = 150
const LEFT = 26
const TOP = 30
const LABEL_HEIGHT = 50
const LINE = 15
/** Width of a letter, on average. */
const LETTER = 7.5

/** What is drawn. */
export interface FrameShape {
  /** Dots across; null where they are not known. */
  across: RasterAxis | null
  down: RasterAxis
  /** Width over height of the active area on the monitor. */
  activeAspect: number
  /** `frame`, or `field` of an interlaced mode. */
  what: 'frame' | 'field'
}

/** @param width of the drawing in units that are pixels at its natural size */
export function frameDrawing(shape: FrameShape, width: number): Markup {
  const { across, down, what } = shape
  const rasterWidth = width - LEFT - LABELS_WIDTH
  const rasterHeight = rasterWidth / rasterAspect(shape)
  const y = (position: number): number => TOP + (position / down.total) * rasterHeight
  const places = labelPlaces(down.parts, y)
  const height = Math.max(TOP + rasterHeight + 18, ...places.map((place) => place + LABEL_HEIGHT - LINE)) + 6
  const wide = across ? `, each scanline: ${axisText(across, 'dots')}` : ''
  const title = `One ${what} to scale, from the leading edge of vsync down: ${axisText(down, 'scanlines')}${wide}`
  const right = LEFT + rasterWidth
  // a line begins within its part, also where that does not reach to the raster's side
  const active = across?.parts.find(({ name }) => name === 'active')
  const from = active
    ? LEFT + ((active.start + active.length) / across!.total) * rasterWidth - 12
    : right - 12
  return markup`<svg class="drawing" viewBox="0 0 ${width} ${at(height)}" role="img" aria-label="${title}">
${down.parts.map((part) => rowBand(part, across, rasterWidth, y))}
${dimensions(shape, rasterWidth, rasterHeight)}
${down.parts.map((part, index) => sideLabel(part, y(part.start + part.length / 2), places[index]!, right, from))}
</svg>`
}

/** Width over height of the whole raster, so that its active area has the shape it has on the monitor. */
function rasterAspect({ across, down, activeAspect }: FrameShape): number {
  const share = (axis: RasterAxis | null): number =>
    axis ? (axis.parts.find(({ name }) => name === 'active')?.length ?? axis.total) / axis.total : 1
  return (activeAspect * share(down)) / share(across)
}

/** A vertical part across the whole raster; the active one is divided again, dot by dot. */
function rowBand(
  part: RasterPart,
  across: RasterAxis | null,
  width: number,
  y: (position: number) => number,
): Markup {
  const [top, bottom] = [y(part.start), y(part.start + part.length)]
  const rect = (name: RasterPart['name'], left: number, wide: number): Markup =>
    markup`<rect class="${PART_CLASS[name]}" x="${at(LEFT + left)}" y="${at(top)}" width="${at(wide)}" height="${at(bottom - top)}"/>`
  if (part.name !== 'active' || !across) return rect(part.name, 0, width)
  const scale = width / across.total
  return markup`${across.parts.map(({ name, start, length }) => rect(name, start * scale, length * scale))}`
}

function dimensions({ across, down }: FrameShape, width: number, height: number): Markup {
  const active = [across, down].map((axis) => axis?.parts.find(({ name }) => name === 'active'))
  const [dots, scanlines] = active
  const centre = (axis: RasterAxis | null, part: RasterPart | undefined, size: number): number =>
    axis && part ? ((part.start + part.length / 2) / axis.total) * size : size / 2
  const inside =
    dots && scanlines
      ? markup`<text class="on-active strong" x="${at(LEFT + centre(across, dots, width))}" y="${at(TOP + centre(down, scanlines, height))}" text-anchor="middle">${dots.length} × ${Number(scanlines.length.toFixed(1))}</text>`
      : null
  const overall = across
    ? `${lengthText(across.total, 'dots')} · ${timeText(across.seconds)}`
    : 'one scanline'
  return markup`<path class="dimension" d="M${LEFT} ${TOP - 12}H${at(LEFT + width)}M${LEFT + 7} ${TOP - 16}l-7 4l7 4M${at(LEFT + width - 7)} ${TOP - 16}l7 4l-7 4"/>
<text class="strong" x="${at(LEFT + width / 2)}" y="${TOP - 18}" text-anchor="middle">${overall}</text>
<path class="dimension" d="M${LEFT - 10} ${TOP}V${at(TOP + height)}M${LEFT - 14} ${TOP + 7}l4 -7l4 7M${LEFT - 14} ${at(TOP + height - 7)}l4 7l4 -7"/>
${heightText(`${lengthText(down.total, 'scanlines')} · ${timeText(down.seconds)}`, height)}
${inside}`
}

/** Along the height, or below the raster where that is too short for it. */
function heightText(text: string, height: number): Markup {
  if (height < text.length * LETTER)
    return markup`<text class="strong" x="${LEFT - 14}" y="${at(TOP + height + 18)}">${text}</text>`
  const [x, y] = [LEFT - 15, at(TOP + height / 2)]
  return markup`<text class="strong" transform="rotate(-90 ${x} ${y})" x="${x}" y="${y}" text-anchor="middle">${text}</text>`
}

/** Tops of the labels: beside their parts, moved down where they would run into each other. */
function labelPlaces(parts: readonly RasterPart[], y: (position: number) => number): number[] {
  let free = TOP + LINE - 4
  return parts.map((part) => {
    const place = Math.max(free, y(part.start + part.length / 2) - LINE)
    free = place + LABEL_HEIGHT
    return place
  })
}

function sideLabel(part: RasterPart, middle: number, place: number, right: number, from: number): Markup {
  const x = right + 30
  return markup`<path class="leader" d="M${at(from)} ${at(middle)}H${at(right + 8)}L${at(right + 20)} ${at(place - 4)}H${at(right + 26)}"/>
<circle class="leader-dot" cx="${at(from)}" cy="${at(middle)}" r="2.5"/>
<text x="${at(x)}" y="${at(place)}"><tspan class="strong">${part.name}</tspan><tspan x="${at(x)}" dy="${LINE}">${lengthText(part.length, 'scanlines')}</tspan><tspan class="muted" x="${at(x)}" dy="${LINE}">${timeText(part.seconds)}</tspan></text>`
}
