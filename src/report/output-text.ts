// Output choices → what a person at a bench reads: what to send, the other ways, why not a straight cable, what next.
// 80 columns. The check of an adapter's output is in output-check-text.ts.

import { cautionsFor } from '../adapter/cautions.ts'
import { whyNotDirect } from '../adapter/monitor-kinds.ts'
import type { OutputChoice } from '../adapter/output-modes.ts'
import type { Ink } from './ink.ts'
import { plain, relative } from './number-text.ts'
import type { OutputAnswer } from './output-report.ts'
import { printable } from './printable.ts'
import { cautionSection, section, table, type Step } from './section.ts'
import { shellWord } from './shell-word.ts'
import { wrapped } from './wrapped.ts'

/** Choices shown; the rest is in the JSON. */
const MOST_CHOICES = 8

export function outputText(answer: OutputAnswer, ink: Ink): string {
  const { choices, measured } = answer
  const best = choices.find(({ fits }) => fits)
  const lines = [
    ...headline(answer, best, ink),
    ...wrapped(inputText(answer), '  ').map(ink.dim),
    '',
    ...choiceTable(answer, ink),
    ...section(
      `${best ? best.id : 'The nearest'} in detail`,
      [...details(best ?? choices[0]), ...calmer(choices, best)],
      ink,
    ),
    ...section(
      'Why not straight to a VGA monitor',
      whyNotDirect(measured.input.hsyncHz, measured.input.vsyncHz),
      ink,
    ),
    ...section('What to do next', nextSteps(answer, best), ink),
    ...cautionSection(cautionsFor('output'), ink),
  ]
  return `${lines.join('\n')}\n`
}

const TIMES = ['', 'once', 'twice', 'three times'] as const

function headline({ ramBytes, choices }: OutputAnswer, best: OutputChoice | undefined, ink: Ink): string[] {
  if (best) {
    const memory = best.lineBufferOnly
      ? `two scanlines of buffer, ${best.bufferBytes} bytes`
      : `a frame of buffer, ${best.bufferBytes} bytes`
    return wrapped(
      `Send ${best.name} (${best.id}), each scanline ${TIMES[best.scanlineRepeat]}: ${memory}`,
      '',
    ).map(ink.strong)
  }
  const least = Math.min(...choices.map(({ bufferBytes }) => bufferBytes))
  return wrapped(
    choices.length === 0
      ? 'Nothing fits: the picture is larger than every output mode of the catalogue'
      : `Nothing fits: the smallest buffer is ${least} bytes, the adapter has ${ramBytes}`,
    '',
  ).map(ink.odd)
}

function inputText({ file, measured }: OutputAnswer): string {
  const { input, standard, name, assumed } = measured
  const from = file === null ? '' : `${file === '-' ? 'standard input' : printable(file)}: `
  return (
    `${from}${name}${standard ? ` (${standard})` : ''}: ${input.activeDots} x ${input.activeScanlines}, ` +
    `${plain(input.hsyncHz, 'Hz')}, ${plain(input.vsyncHz, 'Hz')}` +
    (assumed.length > 0 ? `; assumed: ${assumed.join(', ')}` : '')
  )
}

function choiceTable({ choices, ramBytes, bitsPerDot }: OutputAnswer, ink: Ink): string[] {
  if (choices.length === 0) return []
  const rows = choices
    .slice(0, MOST_CHOICES)
    .map((choice) => [
      choice.id,
      `${choice.scanlineRepeat}x`,
      bordersText(choice),
      (choice.hsyncHz / 1e3).toFixed(2),
      choice.vsyncHz.toFixed(2),
      String(choice.bufferBytes),
      ramBytes === null ? '?' : choice.fits ? 'yes' : 'no',
      choice.beatSeconds === null ? 'in step' : plain(choice.beatSeconds, 's', 3),
    ])
  const more = choices.length - rows.length
  return [
    ...table([['send', 'rows', 'borders', 'kHz', 'Hz', 'bytes', 'fits', 'beat'], ...rows], 'lrlrrrll', ink),
    ...wrapped(
      `rows: times each scanline is shown. borders: black dots at the sides, scanlines above and below. ` +
        `bytes: at ${bitsPerDot} ${bitsPerDot === 1 ? 'bit' : 'bits'} a dot${ramBytes === null ? '; --ram tells what fits' : `, of ${ramBytes}`}. ` +
        'beat: time between two frames that are torn, repeated or left out.' +
        (more > 0 ? ` ${more} more in --json.` : ''),
      '',
    ).map(ink.dim),
  ]
}

/** `0+0, 40+40` */
function bordersText({ borders }: OutputChoice): string {
  const { leftDots, rightDots, topScanlines, bottomScanlines } = borders
  return `${leftDots}+${rightDots}, ${topScanlines}+${bottomScanlines}`
}

/** What an output choice asks of the adapter, as sentences. */
export function details(choice: OutputChoice | undefined): string[] {
  if (!choice) return []
  const { buffers, clock, monitors, dotRepeat } = choice
  const polarities = [choice.hsyncPolarity, choice.vsyncPolarity].map((polarity) => polarity ?? 'either')
  const items = [
    `dot clock ${plain(choice.dotClockHz, 'Hz', 8)}, hsync ${polarities[0]}, vsync ${polarities[1]}` +
      (dotRepeat > 1 ? `, each dot ${TIMES[dotRepeat] ?? `${dotRepeat} times`}` : ''),
    `memory: a scanline ${buffers.scanlineBytes} bytes, a frame ${buffers.framePackedBytes} packed, ` +
      `${buffers.frameBytePerDotBytes} at whole bytes a dot`,
    ...choice.notes,
  ]
  if (clock)
    items.push(
      `the described clock makes ${plain(clock.madeHz, 'Hz', 8)} (${plain(clock.clockHz, 'Hz', 8)} / ${clock.clocksPerDot}), ` +
        `${relative(clock.errorPpm / 1e6)}`,
    )
  if (monitors.length > 0)
    items.push(`kinds of monitor that lock to it (common practice): ${monitors.join('; ')}`)
  return items
}

/** Beats this many times rarer are worth wider borders to some. */
const MUCH_RARER = 10

/** The choice with the rarest beat, where it is far rarer than the best one's. */
function calmer(choices: readonly OutputChoice[], best: OutputChoice | undefined): string[] {
  if (!best?.beatSeconds) return []
  const beat = (choice: OutputChoice): number => choice.beatSeconds ?? Infinity
  const rarest = choices
    .filter(({ fits, monitors }) => fits && monitors.length > 0)
    .reduce((a, b) => (beat(b) > beat(a) ? b : a), best)
  if (beat(rarest) < MUCH_RARER * best.beatSeconds) return []
  return [
    `fewest tears: ${rarest.id}, each scanline ${TIMES[rarest.scanlineRepeat]}, ` +
      `one every ${plain(beat(rarest), 's', 3)}; borders ${bordersText(rarest)}`,
  ]
}

function nextSteps(
  { file, measured, ramBytes }: OutputAnswer,
  best: OutputChoice | undefined,
): (string | Step)[] {
  const items: (string | Step)[] = []
  if (!best)
    items.push(
      'fewer bits per dot need less memory (--bits-per-dot 4); or take a part with more RAM, or one that follows the card',
    )
  if (ramBytes === null) items.push('state the memory of your part: --ram 264K')
  const { activeDots, dotClockHz } = measured.input
  items.push(
    file === null
      ? {
          text: 'find the sampling clock',
          command: `rastertap sampling --dot-clock ${Math.round(dotClockHz)} --active ${activeDots}`,
        }
      : { text: 'find the sampling clock', command: `rastertap sampling ${shellWord(file)}` },
  )
  if (best)
    items.push({
      text: 'when it runs, capture its sync pins and check them',
      command: `rastertap output capture.vcd --check ${best.id}`,
    })
  return items
}
