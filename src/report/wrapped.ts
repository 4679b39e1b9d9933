// Prose → lines of at most 80 columns.

export const COLUMNS = 80

/** Breaks at spaces; `first` leads the first line, the rest is indented as far. */
export function wrapped(text: string, first: string, columns: number = COLUMNS): string[] {
  const indent = ' '.repeat(first.length)
  const lines: string[] = []
  let line = first
  let empty = true
  for (const word of text.split(' ')) {
    if (!empty && line.length + 1 + word.length > columns) {
      lines.push(line)
      line = indent
      empty = true
    }
    line += empty ? word : ` ${word}`
    empty = false
  }
  return [...lines, line]
}
