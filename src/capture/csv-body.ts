// Unquoted rows → transitions, byte by byte. Two fast scanners for the two usual layouts, and everything else by csv-rows.ts.
//
// A fast scanner reads whole rows that lie in one chunk. A row that it does not expect, or that a chunk's end cuts,
// goes to the plain reader, so nothing needs to be carried in mid-row but the row's own bytes, and those in a buffer of
// fixed size.

import { COLUMN_TIME, COLUMN_WIRE } from './csv-columns.ts'
import { MAX_ROW_BYTES, type CsvDialect } from './csv-dialect.ts'
import { CsvQuotedBody } from './csv-quoted-body.ts'
import type { CsvRows } from './csv-rows.ts'
import { MAX_TICK } from './csv-time.ts'
import { BATCH_ROWS } from './transition-batch.ts'
import { MalformedCaptureError } from '../errors.ts'

const ZERO = 0x30
const MINUS = 0x2d
const SPACE = 0x20
const CR = 0x0d
const LF = 0x0a
/** Digits and decimal mark of a time; longer ones are left to the plain reader. */
const MAX_TIME_BYTES = 28
/** Rows in a row that a fast scanner refused before it is left alone for a while. */
const PATIENCE = 16
const PAUSE_ROWS = 256
const WORD_BYTES: number = Float64Array.BYTES_PER_ELEMENT

const NO_SCANNER = 0
const SAMPLE_ROWS = 1
const CHANGE_ROWS = 2

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
  /** The levels before this row, as the bytes that state them. */
  readonly #before: Uint8Array
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
    this.#before = new Uint8Array(rows.levels.length)
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
    while (at < chunk.length) {
      if (this.#scanner !== NO_SCANNER && !this.#rows.short) at = this.#scan(chunk, at)
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
  #scan(chunk: Uint8Array, from: number): number {
    if (this.#refused >= PATIENCE) {
      // Trying costs a little on every row of a file that never fits.
      if (++this.#refused > PATIENCE + PAUSE_ROWS) this.#refused = 0
      return from
    }
    const levels = this.#rows.levels
    for (let channel = 0; channel < levels.length; channel++) this.#before[channel] = ZERO + levels[channel]!
    const at = this.#scanner === SAMPLE_ROWS ? this.#sampleRows(chunk, from) : this.#changeRows(chunk, from)
    this.#refused = at === from ? this.#refused + 1 : 0
    return at
  }

  /** `0,1,0,1` without a time: rows of one length, most of them equal to the row above. */
  #sampleRows(chunk: Uint8Array, from: number): number {
    const rows = this.#rows
    const { batch, levels } = rows
    const { tick, channel, level } = batch
    const before = this.#before
    const delimiter = rows.dialect.delimiter
    const stride = this.#stride
    const channels = levels.length
    const newlineAt = (channels - 1) * stride + 1
    const crlf = chunk[from + newlineAt] === CR ? 1 : 0
    const rowBytes = newlineAt + crlf + 1
    // Words of eight bytes at their own alignment, over the whole buffer that the chunk is a part of.
    const words = new Float64Array(chunk.buffer, 0, Math.floor(chunk.buffer.byteLength / WORD_BYTES))
    let sample = rows.sample
    let row = batch.count
    let at = from
    for (; at + rowBytes <= chunk.length; sample++) {
      let odd = chunk[at + rowBytes - 1]! ^ LF
      if (crlf === 1) odd |= chunk[at + newlineAt]! ^ CR
      let change = 0
      for (let n = 0, p = at; n < channels; n++, p += stride) {
        const byte = chunk[p]!
        odd |= (byte ^ ZERO) & 0xfe
        change |= byte ^ before[n]!
        if (n > 0) {
          odd |= chunk[p - stride + 1]! ^ delimiter
          if (stride === 3) odd |= chunk[p - 1]! ^ SPACE
        }
      }
      if (odd !== 0) break
      if (change !== 0) {
        for (let n = 0, p = at; n < channels; n++, p += stride) {
          const byte = chunk[p]!
          if (byte === before[n]) continue
          before[n] = byte
          levels[n] = byte - ZERO
          tick[row] = sample
          channel[row] = n
          level[row] = byte - ZERO
          if (++row === BATCH_ROWS) {
            batch.count = row
            rows.flush()
            row = 0
          }
        }
        at += rowBytes
        continue
      }
      // A repeated row is seldom alone.
      at += rowBytes
      const repeated = Math.floor((sameAsBefore(chunk, words, at, rowBytes) - at) / rowBytes)
      sample += repeated
      at += repeated * rowBytes
    }
    if (sample > rows.sample) {
      rows.lastTick = sample - 1
      rows.sample = sample
    }
    batch.count = row
    return at
  }

  /** `1234567,0,1,0` or `0.001234567,0,1,0`: time first, rising, then levels of one character. */
  #changeRows(chunk: Uint8Array, from: number): number {
    const rows = this.#rows
    const { batch, levels } = rows
    const { tick, channel, level } = batch
    const before = this.#before
    const { delimiter, decimal } = rows.dialect
    const decimals = rows.dialect.time!.decimals
    const stride = this.#stride
    const channels = levels.length
    const tailBytes = channels * stride
    // Rows near the end of the chunk are left to the plain reader, so that no index needs a check.
    const safe = chunk.length - MAX_TIME_BYTES - tailBytes - 4
    let last = rows.lastTick
    let sample = rows.sample
    let row = batch.count
    let at = from
    while (at <= safe) {
      let p = at
      const negative = chunk[p] === MINUS
      if (negative) p++
      const stop = p + MAX_TIME_BYTES
      let mantissa = 0
      let digits = 0
      let digit = chunk[p]! - ZERO
      for (; digit >= 0 && digit <= 9 && p < stop; digits++) {
        mantissa = mantissa * 10 + digit
        digit = chunk[++p]! - ZERO
      }
      let scale = decimals
      if (chunk[p] === decimal && decimal !== delimiter) {
        digit = chunk[++p]! - ZERO
        for (; scale > 0 && digit >= 0 && digit <= 9 && p < stop; digits++, scale--) {
          mantissa = mantissa * 10 + digit
          digit = chunk[++p]! - ZERO
        }
        // Digits finer than a tick may follow if they are zeros; others need rounding, which is not done here.
        for (; digit === 0 && p < stop; digits++) digit = chunk[++p]! - ZERO
      }
      if (digits === 0) break
      // Exact: whatever passes MAX_TICK on the way stays above it, and is left to the plain reader to refuse.
      const size = scale === 0 ? mantissa : mantissa * POWERS[scale]!
      const now = negative ? 0 - size : size
      if (size > MAX_TICK || now <= last) break

      // p is at the delimiter before the first level
      const crlf = chunk[p + tailBytes] === CR ? 1 : 0
      let odd = chunk[p + tailBytes + crlf]! ^ LF
      let change = 0
      for (let n = 0, q = p; n < channels; n++, q += stride) {
        const byte = chunk[q + stride - 1]!
        odd |= (chunk[q]! ^ delimiter) | ((byte ^ ZERO) & 0xfe)
        if (stride === 3) odd |= chunk[q + 1]! ^ SPACE
        change |= byte ^ before[n]!
      }
      if (odd !== 0) break
      if (change !== 0) {
        for (let n = 0, q = p + stride - 1; n < channels; n++, q += stride) {
          const byte = chunk[q]!
          if (byte === before[n]) continue
          before[n] = byte
          levels[n] = byte - ZERO
          tick[row] = now
          channel[row] = n
          level[row] = byte - ZERO
          if (++row === BATCH_ROWS) {
            batch.count = row
            rows.flush()
            row = 0
          }
        }
      }
      if (sample === 0) rows.firstTick = now
      last = now
      sample++
      at = p + tailBytes + crlf + 1
    }
    rows.lastTick = last
    rows.sample = sample
    batch.count = row
    return at
  }
}

const POWERS: Float64Array = Float64Array.from({ length: 40 }, (_, n) => 10 ** n)

/**
 * First offset at or after `from` whose byte differs from the one a row before it.
 *
 * After eight equal rows the comparison goes by words of eight bytes, eight rows apart: that distance is a whole number
 * of words whatever the row's length. Words compare as float64, which is exact here: equal text cannot be NaN, and
 * of two words that differ only in the sign of a zero neither is text.
 */
function sameAsBefore(chunk: Uint8Array, words: Float64Array, from: number, rowBytes: number): number {
  const length = chunk.length
  let at = from
  const enough = Math.min(length, from + WORD_BYTES * rowBytes)
  while (at < enough && chunk[at] === chunk[at - rowBytes]) at++
  if (at < enough || at === length) return at
  const lead = chunk.byteOffset
  let word = Math.ceil((lead + at) / WORD_BYTES)
  const stop = Math.floor((lead + length) / WORD_BYTES)
  // Up to the first whole word, byte by byte.
  const aligned = Math.min(length, word * WORD_BYTES - lead)
  while (at < aligned && chunk[at] === chunk[at - rowBytes]) at++
  if (at < aligned) return at
  while (word < stop && words[word] === words[word - rowBytes]) word++
  at = Math.max(at, word * WORD_BYTES - lead)
  while (at < length && chunk[at] === chunk[at - rowBytes]) at++
  return at
}

/** The fast scanner that fits the columns. */
function scannerFor(dialect: CsvDialect): number {
  const { columns, time, delimiter, newline, quoted, timeInTwoCells, timeColumn } = dialect
  if (newline !== LF || delimiter === SPACE || quoted || timeInTwoCells) return NO_SCANNER
  const levels = time ? columns.slice(1) : columns
  if (levels.length === 0 || !levels.every((column) => column.kind === COLUMN_WIRE)) return NO_SCANNER
  if (!time) return SAMPLE_ROWS
  return timeColumn === 0 && columns[0]?.kind === COLUMN_TIME ? CHANGE_ROWS : NO_SCANNER
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
