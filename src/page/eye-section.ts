// The eyes of the dots, one per colour channel, and what closes them.

import type { CaptureMeasurement } from '../measure.ts'
import { count, plain } from '../report/number-text.ts'
import { dotEyes, type DotEye } from './dot-eye.ts'
import { eyeDrawing } from './eye-drawing.ts'
import { markup, type Markup } from './markup.ts'
import { withMicro } from './quantity.ts'
import { missingNote, section } from './section.ts'

export function eyeSection({ main, channels, sampleIntervalSeconds }: CaptureMeasurement): Markup {
  const title = 'The eye of the dots'
  const eyes = dotEyes(main)
  const { dotClockHz, dotClockFrom } = main.raster
  if (eyes.length === 0 || !dotClockHz) {
    const why = dotClockHz ? 'no colour channel changes' : 'the dots could not be counted'
    return section('eye', title, missingNote(why))
  }
  const dotSeconds = 1 / dotClockHz.value
  const sampleShare = sampleIntervalSeconds === null ? null : sampleIntervalSeconds / dotSeconds
  let unnamed = 0
  const nameOf = (eye: DotEye): string => {
    const channel = eye.role === null ? undefined : channels.find(({ role }) => role === eye.role)
    return channel ? channel.name : `unnamed channel ${++unnamed}`
  }
  return section(
    'eye',
    title,
    markup`<p>Where in a dot of ${withMicro(plain(dotSeconds, 's', 4))} the colours change, all scanlines laid over each other. ${
      sampleShare !== null &&
      `One sample lasts ${(sampleShare * 100).toFixed(0)} % of a dot: that much of each eye the instrument closes itself.`
    }${
      dotClockFrom === 'standard' &&
      ' The number of dots is the standard’s: where it is wrong, or the samples are too coarse, the eyes are closed.'
    }</p>`,
    markup`<div class="eyes">${eyes.map((eye) => {
      const name = nameOf(eye)
      return markup`<figure><figcaption><span class="strong">${name}</span>${eye.role !== null && ` · ${eye.role}`}<br><span class="muted">${openText(eye, dotSeconds)}</span></figcaption>${eyeDrawing(eye, name)}</figure>`
    })}</div>`,
    markup`<p class="fine">Rising edges above the line, falling edges below. Dots are read in their middle, each channel's own delay taken out.</p>`,
  )
}

function openText({ open, edges }: DotEye, dotSeconds: number): string {
  const share = open ? open.to - open.from : 0
  const width = open
    ? `open ${(share * 100).toFixed(0)} % (${withMicro(plain(share * dotSeconds, 's', 3))})`
    : 'closed'
  return `${width}, ${count(edges, 'edge')}`
}
