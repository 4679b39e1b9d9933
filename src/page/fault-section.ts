// The sync faults: what they are, why, what removes them, and the waveform around each.

import type { CaptureMeasurement } from '../measure.ts'
import type { PulseFault, PulseMeasurement } from '../measure-pulses.ts'
import { count, plain } from '../report/number-text.ts'
import { allWell, causes, filters, notJudged, oddFrames } from '../report/pulses-text.ts'
import type { WaveformClip } from '../transitions/waveform-clips.ts'
import { markup, type Markup, type Piece } from './markup.ts'
import { quantity, shown, withMicro } from './quantity.ts'
import { section, sentences, table } from './section.ts'
import { waveformDrawing } from './waveform-drawing.ts'

/** Faults drawn; the first of each kind and cause come first. */
const MOST_DRAWN = 24
/** Faults that are seen without opening the rest. */
const MOST_OPEN = 6
/** Faults in the table; beyond, `pulses` lists them. */
const MOST_LISTED = 400
/** A longer table is folded. */
const MOST_UNFOLDED = 40
/** Frames of unusual length in the table. */
const MOST_FRAMES = 40

/** Seconds that a clip must reach either side of a fault: two of the longest usual sync pulses and something around. */
export const CLIP_REACH_SECONDS = 20e-6
/** Clips of one kind to keep: not all kinds are there, and some faults turn out to be none. */
export const CLIPS_PER_KIND = 64

export function faultSection(measurement: CaptureMeasurement, pulses: PulseMeasurement): Markup {
  const { faults } = pulses
  if (faults.length === 0) {
    return section(
      'faults',
      'Sync faults',
      markup`<p>None: ${allWell(pulses)}.</p>`,
      titled('Not judged', notJudged(pulses)),
      frameTable(pulses),
    )
  }
  const chosen = drawnFirst(faults).slice(0, MOST_DRAWN)
  const drawn = chosen.flatMap((index) => figure(measurement, pulses, index) ?? [])
  const notDrawn = faults.length + pulses.faultsNotListed - drawn.length
  return section(
    'faults',
    'Sync faults',
    markup`<h3>Likely causes, and what to do</h3>`,
    sentences(causes(pulses).map(withMicro)),
    titled('Filters that keep every true pulse and drop every false one', filters(pulses, undefined)),
    titled('Not judged', notJudged(pulses)),
    frameTable(pulses),
    markup`<h3>Waveforms</h3>`,
    markup`<p>Time in µs from the fault's leading edge. The shaded stretch is the fault, the dashed line is where the scanline's pulse was expected.${
      notDrawn > 0 &&
      ` ${drawn.length} of ${faults.length + pulses.faultsNotListed} are drawn, the first of each kind and cause before others.`
    }</p>`,
    markup`<div class="waveforms">${drawn.slice(0, MOST_OPEN)}</div>`,
    drawn.length > MOST_OPEN &&
      markup`<details><summary>${count(drawn.length - MOST_OPEN, 'more waveform')}</summary><div class="waveforms">${drawn.slice(MOST_OPEN)}</div></details>`,
    markup`<details${faults.length <= MOST_UNFOLDED && markup` open`}><summary>${faults.length > MOST_LISTED ? `The first ${MOST_LISTED}` : `All ${faults.length}`} in a table</summary>${faultTable(pulses)}</details>`,
  )
}

function titled(title: string, items: readonly string[]): Markup | null {
  return items.length === 0 ? null : markup`<h3>${title}</h3>${sentences(items.map(withMicro))}`
}

/** Indices of faults: one of each kind and cause, then the second of each, and so on; in order of time otherwise. */
function drawnFirst(faults: readonly PulseFault[]): number[] {
  const seen = new Map<string, number>()
  return faults
    .map(({ kind, cause }, index) => {
      const round = seen.get(`${kind} ${cause}`) ?? 0
      seen.set(`${kind} ${cause}`, round + 1)
      return { index, round }
    })
    .sort((a, b) => a.round - b.round || a.index - b.index)
    .map(({ index }) => index)
}

function figure(
  measurement: CaptureMeasurement,
  pulses: PulseMeasurement,
  index: number,
): Markup | undefined {
  const fault = pulses.faults[index]!
  // the same list, in ticks
  const source = measurement.main.sync.faults[index]!
  const clip = clipAt(measurement.clips, source.tick)
  if (!clip) return undefined
  const { secondsPerTick } = measurement.timebase
  const what = `${fault.kind} pulse on ${fault.channel} at ${plain(fault.timeSeconds, 's', 6)}, ${place(fault)}`
  const names = measurement.channels.map(({ name }) => name)
  const drawing = waveformDrawing(
    clip,
    names,
    {
      tick: source.tick,
      widthTicks: source.widthTicks,
      expectedTick: source.tick - source.offsetTicks,
      pulseTicks: pulses.hsyncWidthSeconds > 0 ? pulses.hsyncWidthSeconds / secondsPerTick : 0,
      secondsPerTick,
    },
    withMicro(`Waveforms around the ${what}`),
  )
  const width = fault.kind === 'missing' ? null : markup`, ${quantity(fault.widthSeconds, 's', 3)} wide`
  return markup`<figure><figcaption><span class="strong">${fault.kind}</span> at ${quantity(fault.timeSeconds, 's', 6)} · ${place(fault)} · ${fault.cause}<br><span class="muted">${quantity(fault.offsetSeconds, 's', 3)} from where the pulse was expected${width}; ${countText(fault)}</span></figcaption>${drawing}</figure>`
}

function clipAt(clips: readonly WaveformClip[], tick: number): WaveformClip | undefined {
  return clips.find((clip) => clip.tick === tick)
}

function place({ frame, scanline }: PulseFault): string {
  return frame < 0 ? `scanline ${scanline} before the first frame` : `frame ${frame}, scanline ${scanline}`
}

function countText({ lineCountError }: PulseFault): string {
  if (lineCountError === 0) return 'a counter is not misled'
  return lineCountError > 0 ? 'a counter counts one too many' : 'a counter counts one too few'
}

function faultTable({ faults, faultsNotListed }: PulseMeasurement): Markup {
  const rows = faults
    .slice(0, MOST_LISTED)
    .map((fault): Piece[] => [
      fault.kind,
      fault.channel,
      quantity(fault.timeSeconds, 's', 6),
      fault.frame < 0 ? '–' : fault.frame,
      fault.scanline,
      quantity(fault.offsetSeconds, 's', 3),
      fault.kind === 'missing' ? '–' : quantity(fault.widthSeconds, 's', 3),
      fault.cause,
      fault.lineCountError > 0 ? '+1' : String(fault.lineCountError),
    ])
  const left = faults.length + faultsNotListed - rows.length
  const columns = ['kind', 'channel', 'time', 'frame', 'scanline', 'offset', 'width', 'cause', 'count']
  const numbers = new Set([2, 3, 4, 5, 6, 8])
  return markup`${table(
    'Sync faults one by one',
    columns.map((title, i) => ({ title, isNumber: numbers.has(i) })),
    rows,
  )}${left > 0 && markup`<p class="fine">And ${left} more; <code>rastertap pulses</code> lists them.</p>`}`
}

function frameTable(pulses: PulseMeasurement): Markup | null {
  const telling = oddFrames(pulses)
  if (telling.length === 0) return null
  const more = telling.length - MOST_FRAMES
  return markup`<h3>Frames as a counter of leading edges counts them</h3>${table(
    'Frames as a counter of leading edges counts them',
    ['frame', 'scanlines', 'edges counted', 'off by'].map((title) => ({ title, isNumber: true })),
    telling
      .slice(0, MOST_FRAMES)
      .map(({ frame, scanlines, countedEdges, off }) => [
        frame,
        shown(scanlines, String(scanlines)),
        countedEdges,
        off > 0 ? `+${off}` : String(off),
      ]),
  )}${more > 0 && markup`<p class="fine">And ${more} more.</p>`}`
}
