// A preview → what a person who looks at its picture wants to know: is it right, what is wrong with it, what to do.
// 80 columns.

import { cautionsFor } from '../adapter/cautions.ts'
import type { PreviewFrame } from '../adapter/preview.ts'
import type { Ink } from './ink.ts'
import { count, plain, relative } from './number-text.ts'
import type { PreviewAnswer } from './preview-report.ts'
import { printable } from './printable.ts'
import { cautionSection, section, table, type Step } from './section.ts'
import { shellWord } from './shell-word.ts'
import { wrapped } from './wrapped.ts'

/** Names of files and bands that are listed one by one. */
const MOST_LISTED = 8

export function previewText(answer: PreviewAnswer, ink: Ink): string {
  const { preview, files, maskFiles } = answer
  const { widthDots, heightScanlines } = preview
  const wrong = preview.frames.some(({ differentDots }) => differentDots > 0)
  const lines = [
    ...wrapped(verdict(answer), '').map(wrong ? ink.odd : ink.good),
    ...wrapped(`${listed(files)}: ${made(answer)}, ${widthDots} x ${heightScanlines} dots`, '  ').map(
      ink.dim,
    ),
    ...(maskFiles.length > 0
      ? wrapped(`${listed(maskFiles)}: the same, wrong dots bright`, '  ').map(ink.dim)
      : []),
    ...wrapped(adapterText(answer), '  ').map(ink.dim),
    '',
    ...frameTable(answer, ink),
    ...section('Why', reasons(answer), ink),
    ...section('What to do next', nextSteps(answer), ink),
    ...cautionSection(cautionsFor('capture'), ink),
  ]
  return `${lines.join('\n')}\n`
}

function listed(files: readonly string[]): string {
  const names = files.map(printable)
  return names.length <= 3 ? names.join(', ') : `${names[0]!} to ${names.at(-1)!}`
}

function made({ animated, preview, framesAsked }: PreviewAnswer): string {
  const { length } = preview.frames
  const fewer = length < framesAsked ? `; the capture holds no more of the ${framesAsked}` : ''
  return `${count(length, 'frame')}${animated ? ', animated, 4 a second' : ''}${fewer}`
}

/** Rows of the picture are not where the card has them. */
function isLow({ lowByRows }: PreviewFrame): boolean {
  return lowByRows !== null && lowByRows !== 0
}

function verdict({ preview, plan }: PreviewAnswer): string {
  const { frames, widthDots, heightScanlines } = preview
  const parts: string[] = []
  const low = frames.filter(isLow)
  if (low.length > 0) {
    const rows = [...new Set(low.map(({ lowByRows }) => Math.abs(lowByRows!)))].sort((a, b) => a - b)
    parts.push(
      `the picture jumps: last row ${rows.join(', ')} off in ${low.length} of ${count(frames.length, 'frame')}`,
    )
  }
  if (plan.bands > 0) parts.push(`${count(plan.bands, 'vertical band')} by the sampling clock`)
  const dots = frames.reduce((sum, { differentDots }) => sum + differentDots, 0)
  const share = (100 * dots) / (frames.length * widthDots * heightScanlines)
  parts.push(
    dots === 0
      ? 'the picture is right: no dot differs from what the card sends'
      : `${share < 0.01 ? '< 0.01' : share < 1 ? share.toFixed(2) : share.toFixed(0)} % of the dots are wrong`,
  )
  const text = parts.join('; ')
  return text.charAt(0).toUpperCase() + text.slice(1)
}

function adapterText({ plan, count: how, preview }: PreviewAnswer): string {
  const clock = `${plain(plan.sampleClockHz, 'Hz', 9)} / ${Number(plan.clocksPerDot.toFixed(5))} (${relative(plan.errorPpm / 1e6)})`
  const sync =
    how === 'edges'
      ? 'every sync edge counts'
      : `sync pulses of ${plain(preview.filterSeconds, 's', 3)} and more count, none for ${plain(preview.holdOffSeconds, 's', 3)} after an edge`
  return `adapter: ${clock}; ${sync}`
}

function frameTable({ preview }: PreviewAnswer, ink: Ink): string[] {
  const rows = preview.frames.map((frame) => [
    String(frame.frame),
    frame.sentScanlines === null ? 'cut' : String(Number(frame.sentScanlines.toFixed(2))),
    String(frame.countedScanlines),
    frame.lowByRows === null ? 'lost' : frame.lowByRows === 0 ? 'in place' : rowsOff(frame.lowByRows),
    String(frame.differentDots),
  ])
  return table([['frame', 'scanlines sent', 'counted', 'last row', 'wrong dots'], ...rows], 'rrrrr', ink)
}

function rowsOff(rows: number): string {
  return `${count(Math.abs(rows), 'row')} too ${rows > 0 ? 'low' : 'high'}`
}

function reasons({ preview, plan, count: how }: PreviewAnswer): string[] {
  const items: string[] = []
  const low = preview.frames.some(isLow)
  const miscounts = preview.frames.some(
    ({ sentScanlines, countedScanlines }) =>
      sentScanlines !== null && Math.abs(countedScanlines - sentScanlines) >= 1,
  )
  if (low || miscounts)
    items.push(
      how === 'edges'
        ? 'A false sync pulse starts a scanline of its own: it cuts the one before short, and all rows below move down.'
        : 'False or missing sync pulses get past this filter.',
    )
  if (plan.bands > 0) {
    const columns = plan.bandColumns.slice(0, MOST_LISTED).join(', ')
    const more = plan.bands > MOST_LISTED ? `, and ${plan.bands - MOST_LISTED} more` : ''
    items.push(
      `The clock slips by ${plan.slipDots.toFixed(1)} dots over the width: bands at columns ${columns}${more}. ` +
        'Between them the picture is shifted by whole dots, which count as different too.',
    )
  }
  return items
}

function nextSteps({ file, plan, count: how, preview, animated }: PreviewAnswer): (string | Step)[] {
  const items: (string | Step)[] = []
  if (plan.bands > 0)
    items.push({ text: 'find a clock without bands', command: `rastertap sampling ${shellWord(file)}` })
  if (how === 'edges' && preview.frames.some(({ differentDots }) => differentDots > 0))
    items.push('see what a filter changes: --count filtered')
  const moves = preview.frames.some(({ differentDots }) => differentDots !== preview.frames[0]!.differentDots)
  if (moves && !animated) items.push('see it move: --animate')
  if (plan.bands === 0 && preview.frames.every(({ differentDots }) => differentDots === 0))
    items.push({ text: 'choose what to send on', command: `rastertap output ${shellWord(file)}` })
  return items
}
