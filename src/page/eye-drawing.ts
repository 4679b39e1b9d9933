// The eye of one channel's dots as SVG: rising edges above the line, falling edges below it, over one dot and a quarter
// of its neighbours; where it is open, and where it is read.

import { EYE_BINS, type DotEye } from './dot-eye.ts'
import { coordinate as at, markup, type Markup } from './markup.ts'

const WIDTH = 320
const HALF_HEIGHT = 46
const TOP = 18
const BASE = TOP + HALF_HEIGHT
const BOTTOM = BASE + HALF_HEIGHT
/** Shown of the dots before and after. */
const BESIDE = 0.25

/** @param name of the channel, for those who cannot see the drawing */
export function eyeDrawing(eye: DotEye, name: string): Markup {
  const x = (dots: number): number => ((dots + BESIDE) / (1 + 2 * BESIDE)) * WIDTH
  const most = Math.max(...eye.rising, ...eye.falling)
  const bars = (counts: Float64Array, direction: 1 | -1): string => barPath(counts, most, direction, x)
  const open = eye.open ? `open from ${share(eye.open.from)} to ${share(eye.open.to)} of the dot` : 'closed'
  const title = `Eye of ${name}: ${open}; rising edges above the line, falling edges below`
  const marks = [...new Set([eye.readAt.rising, eye.readAt.falling].map((dots) => at(x(dots))))]
  return markup`<svg class="drawing eye" viewBox="0 0 ${WIDTH} ${BOTTOM + 20}" role="img" aria-label="${title}">
${eye.open && markup`<rect class="open" x="${at(x(eye.open.from))}" y="${TOP}" width="${at(x(eye.open.to) - x(eye.open.from))}" height="${2 * HALF_HEIGHT}"/>`}
<path class="rising" d="${bars(eye.rising, -1)}"/><path class="falling" d="${bars(eye.falling, 1)}"/>
<path class="dimension" d="M0 ${BASE}H${WIDTH}M${at(x(0))} ${TOP}V${BOTTOM + 4}M${at(x(1))} ${TOP}V${BOTTOM + 4}"/>
${marks.map((mark) => markup`<path class="read" d="M${mark} ${TOP - 4}V${BOTTOM + 4}"/>`)}
<text class="strong small" x="${at(x(0.5))}" y="${TOP - 7}" text-anchor="middle">read here</text>
<text class="muted small" x="${at(x(0))}" y="${BOTTOM + 16}" text-anchor="middle">dot begins</text>
<text class="muted small" x="${at(x(1))}" y="${BOTTOM + 16}" text-anchor="middle">dot ends</text>
</svg>`
}

function share(dots: number): string {
  return `${(dots * 100).toFixed(0)} %`
}

/** One closed outline of all bars, the bins of the neighbours repeated. */
function barPath(counts: Float64Array, most: number, direction: 1 | -1, x: (dots: number) => number): string {
  const beside = Math.round(BESIDE * EYE_BINS)
  let path = `M0 ${BASE}`
  for (let bin = -beside; bin < EYE_BINS + beside; bin++) {
    const count = counts[(bin + EYE_BINS) % EYE_BINS]!
    // what is there at all is seen
    const height = count > 0 ? Math.max(0.8, (count / most) * HALF_HEIGHT) : 0
    path += `V${at(BASE + direction * height)}H${at(x((bin + 1) / EYE_BINS))}`
  }
  return `${path}V${BASE}Z`
}
