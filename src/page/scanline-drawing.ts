// One scanline to scale, as SVG: the sync pulse as it is on the wire, below it the parts, each named and dimensioned.
//
//   |<------------- 744 dots, 45.763 µs ------------->|
//   ‾‾‾‾|_____________________________________________|‾‾  hsync
//   [sync][b][============== active ==============][f]
//     |    |                 |                      └ front porch 16 dots
//     |    |                 └ active 640 dots
//     |    └ back porch 8 dots
//     └ sync 80 dots

import type { Polarity } from '../measurement.ts'
import { coordinate as at, markup, type Markup } from './markup.ts'
import { axisText, lengthText, PART_CLASS, timeText } from './part-label.ts'
import type { RasterAxis, RasterPart } from '../report/raster-parts.ts'

const MARGIN = 10
const TOTAL_Y = 16
const WAVE_TOP = 44
const WAVE_HEIGHT = 22
const BAND_TOP = 80
const BAND_HEIGHT = 46
const FIRST_ROW = 158
/** Heights of a step of the staircase, its text on one row or on two. */
const ROW = 24
const TWO_ROWS = 38
/** Narrower drawings put a part's measures below its name. */
const WIDE = 500
/** Tick labels closer than this run into each other. */
const TICK_GAP = 56

/**
 * @param width of the drawing in units that are pixels at its natural size
 * @param name what the sync channel is called on the page: hsync or csync
 */
export function scanlineDrawing(axis: RasterAxis, polarity: Polarity, width: number, name: string): Markup {
  const x = (position: number): number => MARGIN + (position / axis.total) * (width - 2 * MARGIN)
  const isWide = width >= WIDE
  const height = FIRST_ROW + (isWide ? ROW : TWO_ROWS) * axis.parts.length
  const title = `One scanline to scale, from the leading edge of ${name}: ${axisText(axis, 'dots')}`
  return markup`<svg class="drawing" viewBox="0 0 ${width} ${height}" role="img" aria-label="${title}">
${totalArrow(axis, width)}
${wave(axis, polarity, x, name)}
${axis.parts.map((part) => band(part, x))}
${axis.parts.map((part, index) => callout(part, axis.parts.length - 1 - index, x, width))}
${ticks(axis, x)}
</svg>`
}

function totalArrow(axis: RasterAxis, width: number): Markup {
  const [left, right] = [MARGIN, width - MARGIN]
  return markup`<path class="dimension" d="M${left} ${TOTAL_Y + 8}V${BAND_TOP + BAND_HEIGHT}M${right} ${TOTAL_Y + 8}V${BAND_TOP + BAND_HEIGHT}"/>
<path class="dimension" d="M${left} ${TOTAL_Y + 12}H${right}M${left + 7} ${TOTAL_Y + 8}l-7 4l7 4M${right - 7} ${TOTAL_Y + 8}l7 4l-7 4"/>
<text class="strong" x="${width / 2}" y="${TOTAL_Y}" text-anchor="middle">${lengthText(axis.total, 'dots')} · ${timeText(axis.seconds)}</text>`
}

/** The pulse lasts as long as the first part, which is sync. */
function wave(axis: RasterAxis, polarity: Polarity, x: (position: number) => number, name: string): Markup {
  const [high, low] = [WAVE_TOP, WAVE_TOP + WAVE_HEIGHT]
  const [pulse, idle] = polarity === 'positive' ? [high, low] : [low, high]
  const end = axis.parts[0]?.name === 'sync' ? axis.parts[0].length : 0
  const [left, right] = [x(0), x(axis.total)]
  const path = `M${at(left - 6)} ${idle}H${at(left)}V${pulse}H${at(x(end))}V${idle}H${at(right)}V${pulse}h6`
  return markup`<path class="wave" d="${path}"/>
<text class="muted halo" x="${at((x(end) + right) / 2)}" y="${WAVE_TOP + 16}" text-anchor="middle">${name}, ${polarity}</text>`
}

function band(part: RasterPart, x: (position: number) => number): Markup {
  const [left, right] = [x(part.start), x(part.start + part.length)]
  return markup`<rect class="${PART_CLASS[part.name]}" x="${at(left)}" y="${BAND_TOP}" width="${at(right - left)}" height="${BAND_HEIGHT}"/>`
}

/** A scale in microseconds, stepping by 1, 2 or 5. */
function ticks(axis: RasterAxis, x: (position: number) => number): Markup[] {
  const micros = axis.seconds * 1e6
  const room = (x(axis.total) - x(0)) / micros
  const least = TICK_GAP / room
  const decade = 10 ** Math.floor(Math.log10(least))
  const step = [1, 2, 5, 10].map((by) => by * decade).find((by) => by >= least) ?? 10 * decade
  const y = BAND_TOP + BAND_HEIGHT
  return Array.from({ length: Math.floor(micros / step + 1e-9) + 1 }, (_, n) => {
    const place = x(((n * step) / micros) * axis.total)
    const anchor = n === 0 ? 'start' : 'middle'
    const label = `${Number((n * step).toPrecision(6))}${n === 0 ? ' µs' : ''}`
    return markup`<path class="dimension" d="M${at(place)} ${y}v4"/><text class="muted small halo" x="${at(place)}" y="${y + 15}" text-anchor="${anchor}">${label}</text>`
  })
}

/**
 * A step of the staircase: the last part's text is the highest, so that no line crosses one.
 * @param step counted from the highest
 */
function callout(part: RasterPart, step: number, x: (position: number) => number, width: number): Markup {
  const isWide = width >= WIDE
  const place = x(part.start + part.length / 2)
  const y = FIRST_ROW + (isWide ? ROW : TWO_ROWS) * step
  const isRight = place > width * 0.55
  const text = isRight ? place - 8 : place + 8
  const measures = `${lengthText(part.length, 'dots')} · ${timeText(part.seconds)}`
  return markup`<path class="leader" d="M${at(place)} ${BAND_TOP + BAND_HEIGHT - 8}V${y - 4}H${at(isRight ? place - 5 : place + 5)}"/>
<circle class="leader-dot" cx="${at(place)}" cy="${BAND_TOP + BAND_HEIGHT - 8}" r="2.5"/>
<text class="halo" x="${at(text)}" y="${y}" text-anchor="${isRight ? 'end' : 'start'}"><tspan class="strong">${part.name}</tspan>${
    isWide ? ` ${measures}` : markup`<tspan x="${at(text)}" dy="16">${measures}</tspan>`
  }</text>`
}
