// Top of the page: the verdict, the five numbers everybody asks for, what is odd, what to do next.

import type { SegmentMeasurement } from '../measure-segment.ts'
import type { PulseMeasurement } from '../measure-pulses.ts'
import { advice, oddities } from '../report/identify-text.ts'
import { plain } from '../report/number-text.ts'
import { FAULT_KINDS } from '../sync/sync-fault.ts'
import { markup, type Markup, type Piece } from './markup.ts'
import type { PageSubject } from './page-subject.ts'
import type { Step } from '../report/section.ts'
import { shown } from './quantity.ts'
import { sentences } from './section.ts'
import { stepMarkup } from './step.ts'
import { verdict } from './verdict.ts'

export function summarySection({ measurement }: PageSubject, pulses: PulseMeasurement): Markup {
  const { main } = measurement
  const { familyNote, standard } = main.classification
  const isClean = FAULT_KINDS.every((kind) => pulses.faultCounts[kind] === 0) && pulses.oddFrames === 0
  const tone = !standard || !isClean ? 'odd' : 'good'
  return markup`<div role="region" aria-labelledby="summary-title"><h2 id="summary-title" class="unseen">In short</h2>
<p class="verdict ${tone}">${verdict(measurement, pulses)}</p>
${familyNote && markup`<p>${familyNote}</p>`}
<dl class="tiles">${tiles(main, pulses)}</dl>
${titled('What is odd', oddities(measurement))}
${titled('What to do next', advice(measurement))}</div>`
}

function titled(title: string, items: readonly (string | Step)[]): Markup | null {
  if (items.length === 0) return null
  return markup`<h3>${title}</h3>${sentences(items.map(stepMarkup))}`
}

function tiles({ hsync, vsync, raster, active }: SegmentMeasurement, pulses: PulseMeasurement): Markup[] {
  const assumed = raster.dotClockFrom === 'standard' ? 'assumed' : ''
  const frameHz = vsync?.frequencyHz ?? null
  const faults = FAULT_KINDS.reduce((sum, kind) => sum + pulses.faultCounts[kind], 0)
  return [
    tile('scanline rate', rateText(hsync.frequencyHz.value)),
    tile(
      raster.interlaced ? 'field rate' : 'frame rate',
      frameHz ? rateText(frameHz.value) : 'not captured',
      raster.interlaced ? 'interlaced' : '',
    ),
    tile('dot clock', raster.dotClockHz ? rateText(raster.dotClockHz.value) : 'not measured', assumed),
    tile(
      'picture',
      active ? `${active.dots} × ${active.scanlines}` : 'not measured',
      active?.from === 'standard' ? 'assumed' : '',
    ),
    tile('sync faults', shown(faults, String(faults))),
  ]
}

function rateText(hertz: number): Markup {
  return shown(hertz, plain(hertz, 'Hz', 7))
}

function tile(label: string, value: Piece, note = ''): Markup {
  return markup`<div><dt>${label}</dt><dd>${value}${note !== '' && markup`<small>${note}</small>`}</dd></div>`
}
