// What to send to a VGA monitor: the choices, the best one in detail, and why not a straight cable.

import { whyNotDirect } from '../adapter/monitor-kinds.ts'
import type { OutputChoice } from '../adapter/output-modes.ts'
import type { OutputAnswer } from '../report/output-report.ts'
import { details } from '../report/output-text.ts'
import { markup, type Markup, type Piece } from './markup.ts'
import type { Found } from './page-subject.ts'
import { quantity, shown, withMicro } from './quantity.ts'
import { missingNote, section, sentences, table } from './section.ts'

/** Choices listed; `output --json` has all. */
const MOST_CHOICES = 10
const TIMES = ['', 'once', 'twice', 'three times'] as const

export function outputSection(output: Found<OutputAnswer>): Markup {
  const title = 'What to send to a VGA monitor'
  if (output.value === null) return section('output', title, missingNote(output.missing))
  const answer = output.value
  const { choices, measured, ramBytes } = answer
  const best = choices.find(({ fits }) => fits)
  return section(
    'output',
    title,
    markup`<p class="lead">${headline(answer, best)}</p>`,
    measured.assumed.length > 0 && markup`<p>Assumed of the card: ${measured.assumed.join(', ')}.</p>`,
    choices.length > 0 && choiceTable(answer),
    choices.length > MOST_CHOICES &&
      markup`<p class="fine">${choices.length - MOST_CHOICES} more choices: <code>rastertap output --json</code>.</p>`,
    best ? markup`<h3>${best.id} in detail</h3>` : null,
    best ? sentences(details(best).map(withMicro)) : null,
    ramBytes === null &&
      markup`<p class="fine">State the memory of your part with --ram to see what fits; here everything is taken to.</p>`,
    markup`<h3>Why not straight to the monitor</h3>`,
    sentences(whyNotDirect(measured.input.hsyncHz, measured.input.vsyncHz)),
  )
}

function headline({ choices, ramBytes }: OutputAnswer, best: OutputChoice | undefined): string {
  if (best) {
    const memory = best.lineBufferOnly ? 'two scanlines of buffer' : 'a frame of buffer'
    return `Send ${best.name} (${best.id}), each scanline ${TIMES[best.scanlineRepeat]}: ${memory}, ${best.bufferBytes} bytes.`
  }
  if (choices.length === 0)
    return 'Nothing fits: the picture is larger than every output mode of the catalogue.'
  const least = Math.min(...choices.map(({ bufferBytes }) => bufferBytes))
  return `Nothing fits: the smallest buffer is ${least} bytes, the adapter has ${ramBytes ?? 0}.`
}

function choiceTable({ choices, ramBytes, bitsPerDot }: OutputAnswer): Markup {
  const columns = [
    'send',
    'each scanline',
    'borders, dots',
    'borders, scanlines',
    'kHz',
    'Hz',
    'bytes',
    'beat',
    ...(ramBytes === null ? [] : ['fits']),
  ]
  return markup`${table(
    'Output modes that hold the picture',
    columns.map((title, i) => ({ title, isNumber: i > 0 && i < 8 })),
    choices.slice(0, MOST_CHOICES).map((choice): Piece[] => {
      const { leftDots, rightDots, topScanlines, bottomScanlines } = choice.borders
      return [
        choice.id,
        `${choice.scanlineRepeat}×`,
        `${leftDots} + ${rightDots}`,
        `${topScanlines} + ${bottomScanlines}`,
        shown(choice.hsyncHz, (choice.hsyncHz / 1e3).toFixed(2)),
        shown(choice.vsyncHz, choice.vsyncHz.toFixed(2)),
        choice.bufferBytes,
        choice.beatSeconds === null ? 'in step' : quantity(choice.beatSeconds, 's', 3),
        ...(ramBytes === null ? [] : [choice.fits ? 'yes' : 'no']),
      ]
    }),
  )}<p class="fine">Borders are black, left + right and above + below. Bytes at ${bitsPerDot} ${bitsPerDot === 1 ? 'bit' : 'bits'} a dot. Beat: time between two frames that are torn, repeated or left out.</p>`
}
