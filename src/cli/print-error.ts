// An error → message, place, excerpt and hint on stderr. Places come as byte offsets; the text line is looked up here.

import type { CaptureError } from '../errors.ts'
import { TextPositionFinder, type TextPosition } from '../capture/text-position.ts'
import { openCapture } from '../open-capture.ts'
import { printable } from '../report/printable.ts'

/**
 *     capture.vcd:1042:1: time runs backward, from #88120 to #88100 (byte 8312)
 *       #88100
 *       ^
 *     hint: cut the file above this line
 */
export async function captureErrorText(error: CaptureError): Promise<string> {
  const { file, byte } = error.at
  const position = file !== undefined && byte !== undefined ? await positionIn(file, byte) : undefined
  const name = file === undefined ? 'rastertap' : file === '-' ? 'standard input' : printable(file)
  const place = position ? `:${position.line}:${position.column}` : ''
  const offset = byte === undefined ? '' : ` (byte ${byte})`
  const lines = [`${name}${place}: ${printable(error.message)}${offset} [${error.code}]`]
  if (position && position.excerpt.trim() !== '') {
    const before = printable(position.excerpt.slice(0, position.excerptColumn))
    lines.push(`  ${printable(position.excerpt)}`, `  ${' '.repeat(before.length)}^`)
  }
  if (error.hint) lines.push(`hint: ${printable(error.hint)}`)
  return `${lines.join('\n')}\n`
}

/** Reads the file once more, up to the place; a pipe cannot be read twice and gets no text line. */
async function positionIn(file: string, byte: number): Promise<TextPosition | undefined> {
  if (file === '-') return undefined
  const finder = new TextPositionFinder(byte)
  try {
    for await (const chunk of openCapture(file)) if (finder.write(chunk)) break
  } catch {
    // what can be said without it is still worth saying
    return undefined
  }
  return finder.end()
}
