// A chart as SVG, for paper and for readers whose browser runs no scripts; on screen the page's script draws over it.

import { coordinate as at, markup, type Markup } from './markup.ts'

const WIDTH = 640
const HEIGHT = 220
const LEFT = 88
const RIGHT = 12
const TOP = 10
const BOTTOM = 40
/** Columns that a line is drawn in: each shows the span from its least to its greatest value. */
const COLUMNS = 300
/** Least share of the axis that a chart of nearly equal values spans on each side. */
const HEADROOM = 0.08

/** What is drawn. `x` rising. */
export interface StillChart {
  kind: 'line' | 'bars'
  x: readonly number[]
  y: readonly number[]
  /** Places across that are marked. */
  marks?: readonly number[]
  xLabel: string
  yLabel: string
  /** For those who cannot see it. */
  title: string
}

export function stillChart(chart: StillChart): Markup {
  const { x, y, kind } = chart
  const half = kind === 'bars' ? (x[1]! - x[0]!) / 2 : 0
  const across: Span = [x[0]! - half, x.at(-1)! + half]
  const up = kind === 'bars' ? ([0, spanOf(y)[1]] as const) : withHeadroom(spanOf(y))
  const place = {
    x: scale(across, LEFT, WIDTH - RIGHT),
    y: scale(up, HEIGHT - BOTTOM, TOP),
  }
  return markup`<svg class="drawing still" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${chart.title}">
${steps(across, kind === 'bars' ? 4 : 6).map(({ value, label }) => markup`<path class="grid" d="M${at(place.x(value))} ${TOP}V${HEIGHT - BOTTOM}"/><text class="muted small" x="${at(place.x(value))}" y="${HEIGHT - BOTTOM + 14}" text-anchor="middle">${label}</text>`)}
${steps(up, 5).map(({ value, label }) => markup`<path class="grid" d="M${LEFT} ${at(place.y(value))}H${WIDTH - RIGHT}"/><text class="muted small" x="${LEFT - 6}" y="${at(place.y(value) + 4)}" text-anchor="end">${label}</text>`)}
${(chart.marks ?? []).map((mark) => markup`<path class="mark" d="M${at(place.x(mark))} ${TOP}V${HEIGHT - BOTTOM}"/>`)}
<path class="${kind}" d="${kind === 'bars' ? bars(chart, place, half) : line(chart, place)}"/>
<text class="muted small" x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 6}" text-anchor="middle">${chart.xLabel}</text>
<text class="muted small" transform="rotate(-90 12 ${(TOP + HEIGHT - BOTTOM) / 2})" x="12" y="${(TOP + HEIGHT - BOTTOM) / 2}" text-anchor="middle">${chart.yLabel}</text>
</svg>`
}

type Span = readonly [number, number]
type Place = Readonly<Record<'x' | 'y', (value: number) => number>>

function spanOf(values: readonly number[]): Span {
  let [low, high] = [Infinity, -Infinity]
  for (const value of values) {
    low = Math.min(low, value)
    high = Math.max(high, value)
  }
  return [low, high]
}

function withHeadroom([low, high]: Span): Span {
  const room = (high - low) * HEADROOM || Math.abs(low) * 1e-6 || 1
  return [low - room, high + room]
}

function scale([low, high]: Span, from: number, to: number): (value: number) => number {
  return (value) => from + ((value - low) / (high - low || 1)) * (to - from)
}

/** Round numbers within a span, about so many: steps of 1, 2 or 5. */
function steps([low, high]: Span, wanted: number): { value: number; label: string }[] {
  const rough = (high - low) / wanted
  const decade = 10 ** Math.floor(Math.log10(rough))
  const step = [1, 2, 5, 10].map((by) => by * decade).find((by) => by >= rough)!
  const first = Math.ceil(low / step)
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9))
  return Array.from({ length: Math.max(0, Math.floor(high / step) - first + 1) }, (_, i) => {
    const value = (first + i) * step
    return { value, label: value.toFixed(decimals) }
  })
}

function line({ x, y }: StillChart, place: Place): string {
  const perColumn = Math.max(1, x.length / COLUMNS)
  let path = ''
  for (let column = 0; column * perColumn < x.length; column++) {
    const from = Math.floor(column * perColumn)
    const [low, high] = spanOf(y.slice(from, Math.max(from + 1, Math.floor((column + 1) * perColumn))))
    path += `${path === '' ? 'M' : 'L'}${at(place.x(x[from]!))} ${at(place.y(low))}`
    if (high > low) path += `V${at(place.y(high))}`
  }
  return path
}

function bars({ x, y }: StillChart, place: Place, half: number): string {
  const base = at(place.y(0))
  return x
    .map((value, i) =>
      y[i] === 0
        ? ''
        : `M${at(place.x(value - half * 0.9))} ${base}V${at(Math.min(place.y(y[i]!), place.y(0) - 1))}H${at(place.x(value + half * 0.9))}V${base}Z`,
    )
    .join('')
}
