// An error of the library → message, place, excerpt and hint, as text for stderr.

import type { TextPosition } from '../capture/text-position.ts'
import type { CaptureError } from '../errors.ts'
import { printable } from '../report/printable.ts'

/**
 *     capture.vcd:1042:1: time runs backward, from #88120 to #88100 (byte 8312) [VCD_TIME_BACKWARD]
 *       #88100
 *       ^
 *     hint: cut the file above this line
 *
 * @param position where `error.at.byte` is in the text, where that is known
 */
export function captureErrorText(error: CaptureError, position: TextPosition | undefined): string {
  const { file, byte } = error.at
  const name = file === undefined ? 'rastertap' : file === '-' ? 'standard input' : printable(file)
  const place = position ? `:${position.line}:${position.column}` : ''
  const offset = byte === undefined ? '' : ` (byte ${byte})`
  const lines = [`${name}${place}: ${printable(error.message)}${offset} [${error.code}]`]
  if (position && position.excerpt.trim() !== '') {
    const before = shown(position.excerpt.slice(0, position.excerptColumn))
    lines.push(`  ${shown(position.excerpt)}`, `  ${' '.repeat(before.length)}^`)
  }
  if (error.hint) lines.push(`hint: ${printable(error.hint)}`)
  return `${lines.join('\n')}\n`
}

/** A tab takes one column here, so that the mark below stands right. */
function shown(excerpt: string): string {
  return printable(excerpt.replaceAll('\t', ' '))
}
