// Where the table stands in the first bytes: text lines, delimiter, first row of values, header row, units row.

import { classOf, isVoltUnit, numberText, type CellClass } from './csv-cell-text.ts'
import { timeUnitExponent } from './csv-time.ts'

/** Most cells in a row: buses and wires together stay far below. */
export const MAX_COLUMNS = 4096
/** The delimiter that stands for any run of spaces and tabs. */
export const RUN_OF_SPACES = ' '

const LF = 0x0a
const CR = 0x0d
const DELIMITERS = ['\t', ';', '|', ',', RUN_OF_SPACES] as const
const TIME_WORD = /time|second|x-axis/i
/** Rows that vote on the shape of the table: enough to outvote oddities, few enough to be quick. */
const MAX_VOTERS = 400
/** Share of rows that must agree for a delimiter. */
const AGREEMENT = 0.6

/** One text line of the head. */
export interface HeadRow {
  /** Offset of its first byte in the unpacked text. */
  byte: number
  text: string
  comment: boolean
  cells: string[]
}

export interface CsvLayout {
  newline: number
  delimiter: string
  /** Rows above the table, in order. */
  preamble: HeadRow[]
  /** Rows of the table in the head, blank lines and comments left out. */
  rows: HeadRow[]
  /** Names per column, as written; undefined without a header row. */
  names: string[] | undefined
  /** A unit per column from the row under the header. */
  units: string[] | undefined
  columnCount: number
  classes: CellClass[]
  /** Some rows leave their last cells out, as a habit. */
  shortRows: boolean
  quoted: boolean
}

/** Text lines of the head; without the last one where the head ends inside it. */
export function headRows(
  head: Uint8Array,
  from: number,
  whole: boolean,
): { rows: HeadRow[]; newline: number } {
  const newline = head.includes(LF, from) || !head.includes(CR, from) ? LF : CR
  const decoder = new TextDecoder()
  // where every byte is a character, as in nearly all tables, one call does for thousands
  const decoded = decoder.decode(head)
  const all = decoded.length === head.length ? decoded : undefined
  const rows: HeadRow[] = []
  for (let at = from; at < head.length;) {
    const found = head.indexOf(newline, at)
    if (found < 0 && !whole) break
    const end = found < 0 ? head.length : found
    const line = all?.slice(at, end) ?? decoder.decode(head.subarray(at, end))
    const text = line.endsWith('\r') ? line.slice(0, -1) : line
    rows.push({ byte: at, text, comment: isComment(text), cells: [] })
    at = end + 1
  }
  return { rows: rows.filter((row) => row.text.trim() !== ''), newline }
}

/** A row for people: `#`, `%`, `//`, `META`, and `;` where it opens words rather than separates cells. */
function isComment(text: string): boolean {
  // nearly all rows begin with a digit
  const first = text.charCodeAt(0)
  if (first >= 0x30 && first <= 0x39) return false
  return /^\s*"?(?:[#%]|\/\/|META\s|;\s)/.test(text) || /^\s*;[^;]*$/.test(text)
}

/** Cells of one text line, trimmed, with quotes undone. */
export function cellsOf(text: string, delimiter: string): string[] {
  if (delimiter === RUN_OF_SPACES) return text.trim().split(/[ \t]+/)
  if (!text.includes('"')) {
    const cells = text.split(delimiter)
    return /\s/.test(text) ? cells.map((cell) => cell.trim()) : cells
  }
  const cells: string[] = []
  for (let at = 0; at <= text.length;) {
    let from = at
    while (text[from] === ' ') from++
    const close = text[from] === '"' ? closingQuote(text, from + 1) : -1
    const end = text.indexOf(delimiter, close < 0 ? at : close + 1)
    const stop = end < 0 ? text.length : end
    cells.push(
      close < 0
        ? text.slice(at, stop).trim()
        : text
            .slice(from + 1, close)
            .replaceAll('""', '"')
            .trim(),
    )
    at = stop + 1
  }
  return cells
}

/** Offset of the next quote that is not one of two; -1 without one. */
function closingQuote(text: string, from: number): number {
  let at = text.indexOf('"', from)
  while (at >= 0 && text[at + 1] === '"') at = text.indexOf('"', at + 2)
  return at
}

/** Finds the table; undefined when the head has no row besides comments. */
export function findLayout(lines: { rows: HeadRow[]; newline: number }): CsvLayout | undefined {
  const rows = lines.rows
  const candidates = rows.filter((row) => !row.comment)
  // A preamble may be long, so the later half votes.
  const voters = candidates.slice(-Math.min(MAX_VOTERS, Math.max(3, candidates.length >> 1)))
  if (voters.length === 0) return undefined
  const delimiter = findDelimiter(voters)
  let before: HeadRow | undefined
  for (const row of rows) {
    // a table with a row per sample repeats itself
    row.cells = row.text === before?.text ? before.cells : cellsOf(row.text, delimiter)
    before = row
  }

  const columnCount = usualCount(voters)
  const values = withoutNames(voters)
  const classes = Array.from({ length: columnCount }, (_, column) => columnClass(values, column))
  const usual = usualHexLengths(values, classes)
  const lastNames = rows.findLastIndex((row) => isNames(row, columnCount))
  const start = rows.findIndex((row, n) => !row.comment && isDataRow(row, classes, usual, rows, n, lastNames))
  if (start < 0) return undefined

  const above = rows.slice(0, start)
  const { names, units } = headings(above, columnCount, delimiter)
  const table = rows.slice(start).filter((row) => !row.comment)
  // A header alone: words for names, and not one value.
  if (
    table.length === 1 &&
    !table[0]!.cells.some((cell) => classOf(cell) === 'number') &&
    isText(table[0]!)
  ) {
    return undefined
  }
  // Of a column that mostly states nothing, the few values in it tell the kind.
  for (const [column, kind] of classes.entries()) {
    if (kind === 'unknown') classes[column] = columnClass(table, column)
  }
  const short = table.slice(0, -1).filter((row) => row.cells.length < columnCount).length
  return {
    newline: lines.newline,
    delimiter,
    preamble: above,
    rows: table,
    names,
    units,
    columnCount,
    classes,
    shortRows: short >= Math.max(2, table.length / 10),
    quoted: table.some((row) => row.text.includes('"')),
  }
}

function isText(row: HeadRow): boolean {
  return row.cells.some((cell) => classOf(cell) === 'text')
}

function findDelimiter(voters: readonly HeadRow[]): string {
  for (const delimiter of DELIMITERS) {
    const counts = new Map<number, number>()
    for (const row of voters) {
      const cells = cellsOf(row.text, delimiter)
      // Words are often separated by spaces; only a table of values is separated by nothing else.
      if (delimiter === RUN_OF_SPACES && cells.some((cell) => classOf(cell) === 'text')) continue
      counts.set(cells.length, (counts.get(cells.length) ?? 0) + 1)
    }
    for (const [cells, count] of counts) {
      if (cells > 1 && count >= voters.length * AGREEMENT) return delimiter
    }
  }
  return ','
}

/** Cells of a full row: the usual count, or a larger one that is no exception among rows that may be short. */
function usualCount(voters: readonly HeadRow[]): number {
  const counts = new Map<number, number>()
  for (const row of voters) counts.set(row.cells.length, (counts.get(row.cells.length) ?? 0) + 1)
  const most = Math.max(...counts.values())
  const atLeast = voters.length < 10 ? most : most / 5
  return Math.max(...[...counts].filter(([, count]) => count >= atLeast).map(([cells]) => cells))
}

/** Rows from the first with a number in it: names above them such as `DE` would pass for hex digits. */
function withoutNames(voters: readonly HeadRow[]): readonly HeadRow[] {
  const first = voters.findIndex((row) => row.cells.some((cell) => classOf(cell) === 'number'))
  return first < 0 ? voters : voters.slice(first)
}

/** The class of a column; words in it count only when numbers are few. */
function columnClass(voters: readonly HeadRow[], column: number): CellClass {
  const votes: Record<CellClass, number> = { empty: 0, number: 0, word: 0, unknown: 0, hex: 0, text: 0 }
  for (const row of voters) votes[classOf(row.cells[column] ?? '')]++
  const filled = voters.length - votes.empty
  const values = votes.number + votes.word + votes.hex + votes.unknown
  // Settings beside the table fill the first rows of otherwise empty columns.
  if (filled === 0 || (votes.text > 0 && votes.empty > 4 * filled)) return 'empty'
  if (values < filled * 0.3) return 'text'
  const most = Math.max(votes.number, votes.word, votes.hex, votes.unknown)
  if (votes.hex > 0 && isHexColumn(voters, column, votes.hex / (values - votes.unknown))) return 'hex'
  if (votes.word === most) return 'word'
  return votes.number > 0 ? 'number' : 'unknown'
}

/** A hex number here and there makes a bus when all cells are as long or one says that it is hex; else many must be. */
function isHexColumn(voters: readonly HeadRow[], column: number, share: number): boolean {
  const cells = voters.map((row) => row.cells[column] ?? '').filter((cell) => !/^[xzuw?-]?$/i.test(cell))
  const length = cells[0]?.length ?? 0
  return (
    share > 1 / 3 ||
    cells.some((cell) => /^(?:0x|\$|h(?=.*\d)|\d*')|\dh$/i.test(cell)) ||
    (length > 1 && cells.every((cell) => cell.length === length))
  )
}

/** Length that nearly all cells of a hex column share, else 0: it tells `1F` from a name such as `DE`. */
function usualHexLengths(voters: readonly HeadRow[], classes: readonly CellClass[]): number[] {
  return classes.map((kind, column) => {
    if (kind !== 'hex') return 0
    const lengths = voters.map((row) => (row.cells[column] ?? '').length)
    const last = lengths.at(-1)!
    return lengths.filter((length) => length === last).length >= lengths.length * 0.6 ? last : 0
  })
}

function isDataRow(
  row: HeadRow,
  classes: readonly CellClass[],
  hexLengths: readonly number[],
  rows: readonly HeadRow[],
  index: number,
  lastNames: number,
): boolean {
  let exact = 0
  let foreign = 0
  const odd: string[] = []
  for (const [column, kind] of classes.entries()) {
    const cell = row.cells[column] ?? ''
    const found = classOf(cell)
    if (kind === 'empty' || found === 'empty') continue
    if (kind === 'text') {
      if (found === 'text') exact++
    } else if (found === 'unknown') foreign++
    else if (kind === 'hex') {
      const usual = hexLengths[column]!
      const named = usual > 0 && cell.length !== usual && !/\d/.test(cell)
      if (named || (found !== 'hex' && found !== 'number')) odd.push(cell)
      else exact++
    } else if (found === kind || (kind === 'word' && found === 'number') || kind === 'unknown') exact++
    else odd.push(cell)
  }
  // A level word among numbers, or a damaged cell, directly below the last row of names: still a row of the table, and the body will say what is wrong with it.
  if (odd.length > 0 && (exact < odd.length || odd.some((cell) => TIME_WORD.test(cell)))) return false
  if (odd.length > 0 && index - 1 !== lastNames) return false
  // A row of nothing but X may be a row of names; equal ones are no names.
  if (exact === 0)
    return foreign > 0 && (foreign === 1 || new Set(row.cells).size === 1 || !classes.includes('number'))
  // A table of words is bounded by its header, which looks like its rows: the first row of the usual length is the header.
  if (classes.includes('text') && classes.every((kind) => kind === 'text' || kind === 'empty'))
    return index > 0
  return !isNumberedHeader(row, rows.slice(index + 1, index + 1 + MAX_VOTERS), classes)
}

/** Words in every cell, as many as a row of the table has. */
function isNames(row: HeadRow, columnCount: number): boolean {
  if (row.cells.length !== columnCount || (row.comment && !isHeader(row, columnCount))) return false
  const isName = (cell: string): boolean => cell !== '' && classOf(cell) !== 'number'
  // the last cell first: in most rows it is a plain level, which is soon told
  return isName(row.cells.at(-1)!) && row.cells.every(isName)
}

/** `0,1,2,3` above rows of 0 and 1: channel numbers, not levels. */
function isNumberedHeader(row: HeadRow, below: readonly HeadRow[], classes: readonly CellClass[]): boolean {
  const filled = row.cells.filter((cell) => cell !== '')
  if (filled.length < 3 || classes.some((kind) => kind !== 'number' && kind !== 'empty')) return false
  if (!filled.every((cell, n) => /^\d+$/.test(cell) && Number(cell) === Number(filled[0]) + n)) return false
  const next = below.filter((other) => !other.comment)
  return next.length > 0 && next.every((other) => other.cells.every((cell) => /^[01xzu]?$/i.test(cell)))
}

/** Header row and units row directly above the table. */
function headings(
  above: readonly HeadRow[],
  columnCount: number,
  delimiter: string,
): { names: string[] | undefined; units: string[] | undefined } {
  let at = above.length - 1
  let units: string[] | undefined
  const lowest = above[at]
  const unitCells = lowest && unitsOf(lowest, above[at - 1], columnCount)
  if (unitCells) {
    units = unitCells
    at--
  }
  const row = above[at]
  return { names: row && isHeader(row, columnCount) ? namesOf(row, delimiter) : undefined, units }
}

/** The row's cells as units, brackets taken off; undefined when it is no units row. */
function unitsOf(row: HeadRow, before: HeadRow | undefined, columnCount: number): string[] | undefined {
  const cells = row.cells.map((cell) => /^[[(]([^\])]*)[\])]$/.exec(cell)?.[1] ?? cell)
  if (!cells.some((cell) => timeUnitExponent(cell) !== undefined)) return undefined
  if (!cells.every((cell) => timeUnitExponent(cell) !== undefined || /^[\wµμ%°\ufffd]{0,8}$/.test(cell)))
    return undefined
  // `S,H,V` names sync channels; only brackets, whole words or a row of names above make it units.
  const plain = /[[(]/.test(row.text) || (/second/i.test(row.text) && cells.some((cell) => isVoltUnit(cell)))
  return plain || (before && isHeader(before, columnCount)) ? cells : undefined
}

function isHeader(row: HeadRow, columnCount: number): boolean {
  const cells = row.cells
  // `# Time,D0` is a header that opens like a comment; `# Channels: D0, D1` is a comment.
  if (row.comment && /[:=]|^\s*META\s/.test(row.text)) return false
  const used = cells.findLastIndex((cell) => cell !== '') + 1
  if (
    used === 0 ||
    cells.length > columnCount + 1 ||
    used < Math.min(columnCount, Math.max(1, columnCount - 1))
  ) {
    return false
  }
  // A settings row holds a measured value; channel names may be numbers, but whole ones.
  return cells.slice(0, used).every((cell) => {
    const number = numberText(cell)
    return !number || (number.mark === '' && number.exponent === 0 && !/^[+-]/.test(cell))
  })
}

function namesOf(row: HeadRow, delimiter: string): string[] {
  if (!row.comment) return row.cells
  return cellsOf(row.text.replace(/^\s*"?(?:[#%;]|\/\/)\s*/, ''), delimiter)
}
