// A capture that was made → what `synthesize` prints, as data and as text.

import type { Role } from '../capture/role.ts'
import type { Ink } from './ink.ts'
import { count, plain } from './number-text.ts'
import { printable } from './printable.ts'
import { shellWord } from './shell-word.ts'
import { wrapped } from './wrapped.ts'

/** A defect in it. Frames count from the first vsync that is captured; what comes before is frame -1. */
export interface SynthesizedDefect {
  kind: 'ringing' | 'missing' | 'spike' | 'dropped-scanline'
  /** null where all channels are struck. */
  channel: string | null
  /** From the first sample. */
  timeSeconds: number
  frame: number
  scanline: number
}

/** `rastertap.synthesize/1` */
export interface SynthesizeReport {
  format: 'rastertap.synthesize/1'
  file: string
  /** Id of the catalogue, null for a timing by numbers. */
  mode: string | null
  sampleRateHz: number
  frames: number
  transitions: number
  defects: SynthesizedDefect[]
  form: 'vcd' | 'csv' | 'csv-samples' | 'csv-ns'
  seed: number
  samples: number
  durationSeconds: number
  channels: { name: string; role: Role }[]
  /** What is shown: a chart's name, or null for a picture file. */
  chart: string | null
  picture: { file: string; scaled: boolean; dotsChanged: number } | null
}

/** Everything but the format's name. */
export function synthesizeReport(made: Omit<SynthesizeReport, 'format'>): SynthesizeReport {
  return { format: 'rastertap.synthesize/1', ...made }
}

/** Defects that are listed one by one. */
const LISTED_DEFECTS = 20

/** @param name of the mode */
export function synthesizeText(report: SynthesizeReport, name: string, ink: Ink): string {
  const { file, mode, sampleRateHz, frames, transitions, defects, chart, picture } = report
  const shown = chart === null ? printable(picture?.file ?? '') : `chart ${chart}`
  const lines = wrapped(
    `${printable(file)}: ${name}${mode === null ? '' : ` (${mode})`}, ${shown}, ` +
      `${count(frames, 'frame')} at ${plain(sampleRateHz, 'S/s')}, ${plain(report.durationSeconds, 's', 5)}, ` +
      count(transitions, 'transition'),
    '',
  )
  if (picture?.scaled) {
    lines.push(...wrapped('The picture has another size than the mode: it was scaled.', '  ').map(ink.dim))
  }
  if (picture && picture.dotsChanged > 0) {
    const changed = `${count(picture.dotsChanged, 'dot')} had a colour that the mode does not have: the nearest took its place.`
    lines.push(...wrapped(changed, '  ').map(ink.dim))
  }
  if (defects.length > 0) {
    lines.push('', ink.strong(count(defects.length, 'defect')))
    for (const { kind, channel, timeSeconds, frame, scanline } of defects.slice(0, LISTED_DEFECTS)) {
      const where = `frame ${frame}, scanline ${scanline}`
      const at = `${(timeSeconds * 1e3).toFixed(6)} ms`
      lines.push(`  ${kind.padEnd(16)}  ${(channel ?? 'all').padEnd(6)}  ${at.padStart(14)}  ${where}`)
    }
    if (defects.length > LISTED_DEFECTS)
      lines.push(ink.dim(`  … and ${defects.length - LISTED_DEFECTS} more`))
  }
  lines.push('', ...wrapped(`rastertap identify ${shellWord(file)}`, 'next: '))
  return `${lines.join('\n')}\n`
}
