// Parts that every screen of an adapter command has: titled lists, tables, and what to know before connecting anything.

import type { Ink } from './ink.ts'
import { printable } from './printable.ts'
import { wrapped } from './wrapped.ts'

/** A caution as a screen shows it. */
export interface ShownCaution {
  id: string
  text: string
}

/** A thing to do, with the command that does it. */
export interface Step {
  text: string
  /** To be pasted into a shell: stays on one line, however long. */
  command: string
}

/** A title and its items, after an empty row; nothing without items. */
export function section(title: string, items: readonly (string | Step)[], ink: Ink): string[] {
  if (items.length === 0) return []
  const lines = items.flatMap((item) =>
    typeof item === 'string'
      ? wrapped(printable(item), '  - ')
      : [...wrapped(`${printable(item.text)}:`, '  - '), `    ${printable(item.command)}`],
  )
  return ['', ink.strong(title), ...lines]
}

/** Last on a screen. */
export function cautionSection(cautions: readonly ShownCaution[], ink: Ink): string[] {
  return section(
    'Before you connect anything',
    cautions.map(({ text }) => text),
    ink,
  )
}

/**
 * Cells in columns, two spaces apart; the first row is the head.
 * @param align one letter a column: `l` or `r`
 */
export function table(rows: readonly (readonly string[])[], align: string, ink: Ink): string[] {
  const widths = Array.from(align, (_, column) => Math.max(...rows.map((row) => row[column]?.length ?? 0)))
  return rows.map((row, index) => {
    const cells = widths.map((width, column) => {
      const cell = row[column] ?? ''
      return align[column] === 'r' ? cell.padStart(width) : cell.padEnd(width)
    })
    const text = cells.join('  ').trimEnd()
    return index === 0 ? ink.dim(text) : text
  })
}
