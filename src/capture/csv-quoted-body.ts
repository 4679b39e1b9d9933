// Rows with quotes → transitions, through csv-parse: slow and complete. The browser build needs nothing of Node's.

import { parse } from 'csv-parse/browser/esm/sync'
import { MAX_ROW_BYTES } from './csv-dialect.ts'
import { MAX_COLUMNS } from './csv-layout.ts'
import type { CsvRows } from './csv-rows.ts'
import { MalformedCaptureError } from '../errors.ts'

const QUOTE = 0x22
const SPACE = 0x20
const TAB = 0x09
const CR = 0x0d
/** Whole rows are parsed in blocks of about this size: one call per row is mostly overhead. */
const BLOCK_BYTES = 16 * 1024

const AT_CELL_START = 0
const IN_CELL = 1
const IN_QUOTES = 2
const AFTER_QUOTE = 3

/** Collects rows into blocks and parses each block; a cell's text then goes the way of every other cell. */
export class CsvQuotedBody {
  readonly #rows: CsvRows
  /** Whole rows of the block, then the row being read. */
  readonly #bytes: Uint8Array = new Uint8Array(BLOCK_BYTES + MAX_ROW_BYTES + 1)
  readonly #cells: Uint8Array = new Uint8Array(MAX_ROW_BYTES * 3)
  readonly #encoder = new TextEncoder()
  readonly #decoder = new TextDecoder('utf-8', { ignoreBOM: true })
  #used = 0
  /** Ends of the whole rows in the block, newlines included. */
  #rowEnds: number[] = []
  #blockByte: number
  #state = AT_CELL_START

  constructor(rows: CsvRows, firstByte: number) {
    this.#rows = rows
    this.#blockByte = firstByte
  }

  write(chunk: Uint8Array): void {
    const { delimiter, newline } = this.#rows.dialect
    for (const byte of chunk) {
      if (this.#used - (this.#rowEnds.at(-1) ?? 0) > MAX_ROW_BYTES) throw this.#rowTooLong()
      this.#bytes[this.#used++] = byte
      if (byte === QUOTE) {
        if (this.#state === AT_CELL_START || this.#state === AFTER_QUOTE) this.#state = IN_QUOTES
        else if (this.#state === IN_QUOTES) this.#state = AFTER_QUOTE
      } else if (this.#state === IN_QUOTES) continue
      else if (byte === newline) {
        this.#rowEnds.push(this.#used)
        this.#state = AT_CELL_START
        if (this.#used >= BLOCK_BYTES) this.#parseBlock()
      } else if (byte === delimiter) this.#state = AT_CELL_START
      else if (this.#state === AT_CELL_START && byte !== SPACE && byte !== TAB) this.#state = IN_CELL
    }
  }

  end(): void {
    const open = this.#used - (this.#rowEnds.at(-1) ?? 0)
    if (open === 0) {
      this.#parseBlock()
      return
    }
    const inQuotes = this.#state === IN_QUOTES
    const rowFrom = this.#rowEnds.at(-1) ?? 0
    const row = this.#bytes.slice(rowFrom, this.#used)
    const byte = this.#blockByte + rowFrom
    this.#used = rowFrom
    this.#parseBlock()
    if (inQuotes && !row.includes(this.#rows.dialect.newline)) {
      // The capture ends inside a quoted cell of its last row: cut short, like any other last row.
      this.#rows.short ??= this.#quotesMalformed(row, byte, -1, 'a quote is still open where the file ends')
      return
    }
    this.#parseRow(row, byte, true)
  }

  #parseBlock(): void {
    const ends = this.#rowEnds
    const bytes = this.#bytes
    const byte = this.#blockByte
    let records: string[][] | undefined
    try {
      records = this.#parse(bytes.subarray(0, this.#used))
    } catch {
      // The rows are read one by one below, to find which one it is.
    }
    for (const [n, end] of ends.entries()) {
      const from = n === 0 ? 0 : ends[n - 1]!
      if (records?.length === ends.length) this.#record(records[n]!, bytes, from, end, byte + from, false)
      else this.#parseRow(bytes.subarray(from, end), byte + from, false)
    }
    this.#blockByte += this.#used
    this.#used = 0
    this.#rowEnds = []
  }

  #parseRow(row: Uint8Array, byte: number, last: boolean): void {
    if (this.#rows.isComment(row, 0, row.length)) return
    let records: string[][]
    try {
      records = this.#parse(row)
    } catch (cause) {
      const column =
        cause instanceof Error && 'column' in cause && typeof cause.column === 'number' ? cause.column : 0
      throw this.#quotesMalformed(row, byte, column, 'a quote opens or closes inside a cell')
    }
    if (records.length !== 1)
      throw this.#quotesMalformed(row, byte, 0, 'a quoted cell does not end where its row does')
    this.#record(records[0]!, row, 0, row.length, byte, last)
  }

  #parse(bytes: Uint8Array): string[][] {
    const { delimiter, newline } = this.#rows.dialect
    return parse(this.#decoder.decode(bytes), {
      delimiter: String.fromCharCode(delimiter),
      record_delimiter: newline === CR ? ['\r'] : ['\r\n', '\n'],
      relax_column_count: true,
      // With tabs for delimiters it would eat those; spaces around a quote are an error then.
      trim: delimiter !== TAB,
    })
  }

  /** Cells as bytes again: one reader of cells serves quoted and unquoted rows. */
  #record(
    record: readonly string[],
    bytes: Uint8Array,
    from: number,
    to: number,
    byte: number,
    last: boolean,
  ): void {
    if (this.#rows.isComment(bytes, from, to)) return
    if (record.length > MAX_COLUMNS) {
      throw new MalformedCaptureError(
        'CSV_ROW_LENGTH',
        `a row has ${record.length} cells`,
        { byte },
        { hint: 'two exports may be joined here; cut the file above this row' },
      )
    }
    const { starts, ends } = this.#rows
    let used = 0
    for (const [n, cell] of record.entries()) {
      // csv-parse keeps the spaces inside the quotes.
      const { written } = this.#encoder.encodeInto(cell.trim(), this.#cells.subarray(used))
      starts[n] = used
      used += written
      ends[n] = used
    }
    this.#rows.cells(
      this.#cells,
      record.length,
      (cell) => byte + this.#cellAt(bytes.subarray(from, to), cell),
      byte,
      last,
    )
  }

  /** Offset in the row of a cell's first byte, quote included. */
  #cellAt(row: Uint8Array, cell: number): number {
    let at = 0
    for (let n = 0; ; n++) {
      while (
        at < row.length &&
        (row[at] === SPACE || row[at] === TAB) &&
        row[at] !== this.#rows.dialect.delimiter
      )
        at++
      if (n === cell) return at
      let quoted = row[at] === QUOTE
      if (quoted) at++
      while (at < row.length && (quoted || row[at] !== this.#rows.dialect.delimiter)) {
        if (row[at] === QUOTE) quoted = !quoted
        at++
      }
      if (at >= row.length) return 0
      at++
    }
  }

  #quotesMalformed(row: Uint8Array, byte: number, column: number, what: string): MalformedCaptureError {
    return new MalformedCaptureError(
      'CSV_QUOTES_MALFORMED',
      what,
      { byte: column < 0 ? byte : byte + this.#cellAt(row, column) },
      { hint: 'inside a quoted cell, a quote is written twice' },
    )
  }

  #rowTooLong(): MalformedCaptureError {
    const from = this.#rowEnds.at(-1) ?? 0
    const byte = this.#blockByte + from
    const quoted = this.#state === IN_QUOTES
    this.#used = from
    // What stands before the long row may be wrong too, and comes first.
    this.#parseBlock()
    return new MalformedCaptureError(
      'CSV_ROW_TOO_LONG',
      `a row is longer than ${MAX_ROW_BYTES} bytes`,
      { byte },
      { hint: quoted ? 'a quote that opens here may never close' : 'the file may be damaged here' },
    )
  }
}
