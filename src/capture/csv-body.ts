// Unquoted rows → transitions. Two fast scanners for the two usual layouts (csv-timed-scan.ts, csv-sample-scan.ts), and
// everything else by csv-rows.ts.
//
// A fast scanner reads whole rows that lie in one chunk. A row that it does not expect, or that a chunk's end cuts,
// goes to the plain reader, so nothing needs to be carried in mid-row but the row's own bytes, and those in a buffer of
// fixed size.

import { COLUMN_TIME, COLUMN_WIRE } from './csv-columns.ts'
import { MAX_ROW_BYTES, type CsvDialect } from './csv-dialect.ts'
import { CsvQuotedBody } from './csv-quoted-body.ts'
import type { CsvRows } from './csv-rows.ts'
import { BATCH_ROOM, MAX_FAST_CHANNELS } from './csv-scan-limits.ts'
import { scanSampleRows } from './csv-sample-scan.ts'
import { scanTimedRows } from './csv-timed-scan.ts'
import { LEVEL_HIGH } from './transition-batch.ts'
import { MalformedCaptureError } from '../errors.ts'

const SPACE = 0x20
const LF = 0x0a
/** Rows in a row that a fast scanner refused before it is left alone for a while. */
const PATIENCE = 16
const PAUSE_ROWS = 256

const NO_SCANNER = 0
const SAMPLE_ROWS = 1
const TIMED_ROWS = 2

/** Reads the table below its header. */
export class CsvBody {
  readonly #rows: CsvRows
  readonly #newline: number
  readonly #scanner: number
  /** Bytes from one level to the next: 2, or 3 with a space after the delimiter. */
  readonly #stride: number
  /** The row that a chunk's end has cut. */
  readonly #cut: Uint8Array = new Uint8Array(MAX_ROW_BYTES + 1)
  #cutUsed = 0
  /** Offset in the unpacked text of the next byte to be written. */
  #base: number
  #quoted: CsvQuotedBody | undefined
  #refused = 0

  /**
   * @param example one usual row, which shows the spaces between cells
   * @param fast false leaves all rows to the plain reader: the oracle in tests
   */
  constructor(rows: CsvRows, example: Uint8Array, fast = true) {
    const dialect = rows.dialect
    this.#rows = rows
    this.#newline = dialect.newline
    this.#base = dialect.bodyAtByte
    this.#scanner = fast ? scannerFor(dialect) : NO_SCANNER
    this.#stride = spacedBy(example, dialect.delimiter)
    if (dialect.quoted) this.#quoted = new CsvQuotedBody(rows, this.#base)
  }

  write(chunk: Uint8Array): void {
    if (this.#quoted) {
      this.#quoted.write(chunk)
      return
    }
    let at = 0
    if (this.#cutUsed > 0) {
      const found = chunk.indexOf(this.#newline)
      const end = found < 0 ? chunk.length : found
      this.#keep(chunk, 0, end)
      if (found < 0) return
      if (!this.#rows.row(this.#cut, 0, this.#cutUsed, this.#base - this.#cutUsed, false)) {
        this.#handOver(this.#cut.slice(0, this.#cutUsed), this.#base - this.#cutUsed, chunk, end)
        return
      }
      this.#base++
      this.#cutUsed = 0
      at = end + 1
    }
    const base = this.#base - at
    const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.length)
    while (at < chunk.length) {
      if (this.#scanner !== NO_SCANNER && !this.#rows.short) at = this.#scan(chunk, view, at)
      const end = chunk.indexOf(this.#newline, at)
      if (end < 0) break
      if (end - at > MAX_ROW_BYTES) throw rowTooLong(base + at)
      if (!this.#rows.row(chunk, at, end, base + at, false)) {
        this.#handOver(chunk.subarray(0, 0), base + at, chunk, at)
        return
      }
      at = end + 1
    }
    this.#base = base + at
    this.#keep(chunk, at, chunk.length)
  }

  end(): void {
    if (!this.#quoted && this.#cutUsed > 0) {
      const row = this.#cut.subarray(0, this.#cutUsed)
      if (!this.#rows.row(row, 0, row.length, this.#base - row.length, true)) {
        this.#handOver(row, this.#base - row.length, row, row.length)
      }
    }
    this.#quoted?.end()
  }

  /** Adds to the row that a chunk's end has cut. */
  #keep(chunk: Uint8Array, from: number, to: number): void {
    if (this.#cutUsed + to - from > MAX_ROW_BYTES) throw rowTooLong(this.#base - this.#cutUsed)
    this.#cut.set(chunk.subarray(from, to), this.#cutUsed)
    this.#cutUsed += to - from
    this.#base += to - from
  }

  /** Quotes begin below the head: the rest goes through csv-parse. */
  #handOver(row: Uint8Array, byte: number, chunk: Uint8Array, from: number): void {
    this.#quoted = new CsvQuotedBody(this.#rows, byte)
    this.#quoted.write(row)
    this.#quoted.write(chunk.subarray(from))
  }

  /** Reads usual rows quickly; returns where the first unusual one starts. */
  #scan(chunk: Uint8Array, view: DataView, from: number): number {
    if (this.#refused >= PATIENCE) {
      // Trying costs a little on every row of a file that never fits.
      if (++this.#refused > PATIENCE + PAUSE_ROWS) this.#refused = 0
      return from
    }
    // Levels are carried as bits of one number, which has no room for unknown ones.
    const rows = this.#rows
    if (rows.levels.some((level) => level > LEVEL_HIGH)) return from
    const scan = this.#scanner === SAMPLE_ROWS ? scanSampleRows : scanTimedRows
    let at = from
    for (let before = -1; at > before;) {
      before = at
      if (rows.batch.count > BATCH_ROOM) rows.flush()
      at = scan(chunk, view, at, rows, this.#stride)
    }
    this.#refused = at === from ? this.#refused + 1 : 0
    return at
  }
}

/** The fast scanner that fits the columns. */
function scannerFor(dialect: CsvDialect): number {
  const { columns, time, delimiter, newline, quoted, timeInTwoCells, timeColumn } = dialect
  if (newline !== LF || delimiter === SPACE || quoted || timeInTwoCells) return NO_SCANNER
  const levels = time ? columns.slice(1) : columns
  if (
    levels.length === 0 ||
    levels.length > MAX_FAST_CHANNELS ||
    !levels.every((column) => column.kind === COLUMN_WIRE)
  )
    return NO_SCANNER
  if (!time) return SAMPLE_ROWS
  return timeColumn === 0 && columns[0]?.kind === COLUMN_TIME ? TIMED_ROWS : NO_SCANNER
}

/** 3 when a space follows the row's first delimiter, else 2. */
function spacedBy(row: Uint8Array, delimiter: number): number {
  const at = row.indexOf(delimiter)
  return at >= 0 && row[at + 1] === SPACE ? 3 : 2
}

function rowTooLong(byte: number): MalformedCaptureError {
  return new MalformedCaptureError(
    'CSV_ROW_TOO_LONG',
    `a row is longer than ${MAX_ROW_BYTES} bytes`,
    { byte },
    { hint: 'the file may be damaged here, or hold something other than a table' },
  )
}
