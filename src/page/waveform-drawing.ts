// The waveforms around one sync fault as SVG: a trace per channel, the fault marked, the moment the pulse was expected at
// beside it.

import type { WaveformClip, WaveformPiece } from '../transitions/waveform-clips.ts'
import { coordinate as at, markup, type Markup } from './markup.ts'

const WIDTH = 420
const LABEL_WIDTH = 78
const ROW = 24
const SWING = 14
const TOP = 22
/** Letters of a channel's name that fit beside its trace. */
const NAME_LETTERS = 11
/** Traces of one drawing; beyond this many channels the quiet ones are left out. */
const MOST_ROWS = 24

/** A fault as it is drawn. Ticks of the capture. */
export interface DrawnFault {
  tick: number
  /** 0 where the pulse is missing. */
  widthTicks: number
  /** Where the leading edge was expected. */
  expectedTick: number
  /** Usual width of the sync pulse; 0 where no pulse was whole. */
  pulseTicks: number
  secondsPerTick: number
}

/** Time beside what is drawn, in widths of the sync pulse and in seconds: whichever is less. */
const BESIDE = { pulses: 0.6, seconds: 3e-6 }

/**
 * @param channels names as the capture has them, in its order
 * @param title what the drawing shows, for those who cannot see it
 */
export function waveformDrawing(
  clip: WaveformClip,
  channels: readonly string[],
  fault: DrawnFault,
  title: string,
): Markup {
  const { fromTick, toTick } = shownSpan(clip, fault)
  // a capture of one moment is no time at all
  const span = Math.max(toTick - fromTick, Number.MIN_VALUE)
  const x = (tick: number): number => LABEL_WIDTH + ((tick - fromTick) / span) * (WIDTH - LABEL_WIDTH - 4)
  const rows = clip.channels
    .map((piece, channel) => ({ piece, name: channels[channel] ?? '' }))
    .filter(({ piece }) => piece.levelBefore !== null)
  const shown =
    rows.length <= MOST_ROWS ? rows : rows.filter(({ piece }) => piece.ticks.length > 0).slice(0, MOST_ROWS)
  const bottom = TOP + ROW * shown.length
  return markup`<svg class="drawing waveform" viewBox="0 0 ${WIDTH} ${bottom + 22}" role="img" aria-label="${title}">
${marked(fault, x, bottom)}
${shown.map(({ piece, name }, row) => trace(piece, name, TOP + ROW * row, fromTick, toTick, x))}
${timeScale(fault, fromTick, toTick, x, bottom)}
</svg>`
}

/** The fault, the moment it was expected at, and the true pulse if it is near; never beyond the clip. */
function shownSpan(
  clip: WaveformClip,
  { tick, widthTicks, expectedTick, pulseTicks, secondsPerTick }: DrawnFault,
): { fromTick: number; toTick: number } {
  const inPulses = pulseTicks > 0 ? BESIDE.pulses * pulseTicks : Infinity
  const beside = Math.min(inPulses, BESIDE.seconds / secondsPerTick)
  const first = Math.min(tick, expectedTick)
  const last = Math.max(tick + widthTicks, expectedTick + pulseTicks)
  const reach = clip.toTick - clip.tick
  // of a pulse in mid-scanline the place it was not expected at is far away and of no interest
  const isFar = last - first + 2 * beside > 2 * reach
  const [from, to] = isFar ? [tick - reach / 2, tick + reach / 2] : [first - beside, last + beside]
  return { fromTick: Math.max(clip.fromTick, from), toTick: Math.min(clip.toTick, to) }
}

function marked(fault: DrawnFault, x: (tick: number) => number, bottom: number): Markup {
  const clipped = (tick: number): number => Math.min(WIDTH - 4, Math.max(LABEL_WIDTH, x(tick)))
  const width = fault.widthTicks > 0 ? fault.widthTicks : fault.pulseTicks
  const [left, right] = [clipped(fault.tick), clipped(fault.tick + width)]
  const expected = x(fault.expectedTick)
  const isShown = expected >= LABEL_WIDTH && expected <= WIDTH - 4
  return markup`<rect class="fault" x="${at(left)}" y="${TOP - 6}" width="${at(Math.max(2, right - left))}" height="${bottom - TOP + 6}"/>
${isShown && markup`<path class="expected" d="M${at(expected)} ${TOP - 6}V${bottom}"/><text class="muted small halo" x="${at(expected)}" y="${TOP - 10}" text-anchor="middle">expected</text>`}`
}

function trace(
  { levelBefore, ticks }: WaveformPiece,
  name: string,
  top: number,
  fromTick: number,
  toTick: number,
  x: (tick: number) => number,
): Markup {
  const y = (level: number): number => (level === 1 ? top + 2 : top + 2 + SWING)
  let level: number = levelBefore ?? 0
  let path = ''
  for (const tick of ticks) {
    if (tick >= fromTick && path === '') path = `M${LABEL_WIDTH} ${y(level)}`
    level = 1 - level
    if (tick < fromTick || tick > toTick) continue
    path += `H${at(x(tick))}V${y(level)}`
  }
  if (path === '') path = `M${LABEL_WIDTH} ${y(levelAt(levelBefore ?? 0, ticks, fromTick))}`
  const letters = [...name]
  const label = letters.length > NAME_LETTERS ? `${letters.slice(0, NAME_LETTERS - 1).join('')}…` : name
  return markup`<text class="small" x="${LABEL_WIDTH - 8}" y="${top + 14}" text-anchor="end">${label}</text><path class="wave" d="${path}H${WIDTH - 4}"/>`
}

function levelAt(before: number, ticks: readonly number[], tick: number): number {
  return ticks.filter((change) => change < tick).length % 2 === 1 ? 1 - before : before
}

/** Microseconds from the fault on, stepping so that six or so fit. */
function timeScale(
  { tick, secondsPerTick }: DrawnFault,
  fromTick: number,
  toTick: number,
  x: (tick: number) => number,
  bottom: number,
): Markup {
  const micros = (toTick - fromTick) * secondsPerTick * 1e6
  const step = [0.1, 0.2, 0.5, 1, 2, 5].find((by) => micros / by <= 8) ?? 10
  const perMicro = 1e-6 / secondsPerTick
  const first = Math.ceil((fromTick - tick) / perMicro / step)
  const last = Math.floor((toTick - tick) / perMicro / step)
  const marks = Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * step)
  const label = (mark: number): string => `${mark > 0 ? '+' : ''}${Number(mark.toPrecision(4))}`
  return markup`<path class="dimension" d="M${LABEL_WIDTH} ${bottom}H${WIDTH - 4}"/>
${marks.map((mark) => markup`<path class="dimension" d="M${at(x(tick + mark * perMicro))} ${bottom}v4"/><text class="muted small" x="${at(x(tick + mark * perMicro))}" y="${bottom + 16}" text-anchor="middle">${label(mark)}</text>`)}
<text class="muted small" x="${LABEL_WIDTH - 8}" y="${bottom + 16}" text-anchor="end">µs</text>`
}
