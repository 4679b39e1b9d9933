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
import { BATCH_ROWS, LEVEL_HIGH } from './transition-batch.ts'
import { MalformedCaptureError } from '../errors.ts'

const ZERO = 0x30
const MINUS = 0x2d
const SPACE = 0x20
const CR = 0x0d
const LF = 0x0a
/** Digits before the decimal mark; more are left to the plain reader. */
const MAX_WHOLE_DIGITS = 20
/** A sign, up to three digits more than that (they are read by fours), a mark, the digits that a tick holds, zeros. */
const MAX_TIME_BYTES = 48
/** Rows in a row that a fast scanner refused before it is left alone for a while. */
const PATIENCE = 16
const PAUSE_ROWS = 256
/** Levels of a row are the bits of one 32-bit number. */
const MAX_FAST_CHANNELS = 32
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
    // Levels are carried as bits of one number, which has no room for unknown ones.
    const levels = this.#rows.levels
    let known = 0
    for (let n = 0; n < levels.length; n++) {
      if (levels[n]! > LEVEL_HIGH) return from
      known |= levels[n]! << n
    }
    const at =
      this.#scanner === SAMPLE_ROWS
        ? this.#sampleRows(chunk, from, known)
        : this.#changeRows(chunk, from, known)
    this.#refused = at === from ? this.#refused + 1 : 0
    return at
  }

  /** `0,1,0,1` without a time: rows of one length, most of them equal to the row above. */
  #sampleRows(chunk: Uint8Array, from: number, known: number): number {
    const rows = this.#rows
    const { tick, channel, level } = rows.batch
    const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength)
    const length = chunk.length
    const delimiter = rows.dialect.delimiter
    const stride = this.#stride
    const channels = rows.levels.length
    const newlineAt = (channels - 1) * stride + 1
    const crlf = chunk[from + newlineAt] === CR ? 1 : 0
    const rowBytes = newlineAt + crlf + 1
    let before = known
    let sample = rows.sample
    let row = rows.batch.count
    let at = from
    while (at + rowBytes <= length) {
      let odd = chunk[at + rowBytes - 1]! ^ LF
      if (crlf === 1) odd |= chunk[at + newlineAt]! ^ CR
      let bit = chunk[at]! ^ ZERO
      odd |= bit & ~1
      let now = bit & 1
      for (let n = 1, p = at + stride; n < channels; n++, p += stride) {
        bit = chunk[p]! ^ ZERO
        odd |= (bit & ~1) | (chunk[p - stride + 1]! ^ delimiter)
        if (stride === 3) odd |= chunk[p - 1]! ^ SPACE
        now |= (bit & 1) << n
      }
      if (odd !== 0) break
      at += rowBytes
      let changed = now ^ before
      if (changed === 0) {
        // A repeated row is seldom alone.
        const repeated = Math.floor((sameAsBefore(chunk, view, at, rowBytes) - at) / rowBytes)
        sample += repeated + 1
        at += repeated * rowBytes
        continue
      }
      before = now
      // Lowest channel first
      while (changed !== 0) {
        const n = 31 - Math.clz32(changed & -changed)
        changed &= changed - 1
        tick[row] = sample
        channel[row] = n
        level[row] = (now >>> n) & 1
        if (++row === BATCH_ROWS) row = this.#flush(row)
      }
      sample++
    }
    if (sample > rows.sample) rows.lastTick = sample - 1
    this.#leave(before, sample, row)
    return at
  }

  /** `1234567,0,1,0` or `0.001234567,0,1,0`: time first, rising, then levels of one character. */
  #changeRows(chunk: Uint8Array, from: number, known: number): number {
    const rows = this.#rows
    const { tick, channel, level } = rows.batch
    const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength)
    const { delimiter, decimal } = rows.dialect
    const decimals = rows.dialect.time!.decimals
    const hasMark = decimal !== delimiter
    const stride = this.#stride
    const channels = rows.levels.length
    // Channels that are read two at a time: `,0,1` is one word.
    const paired = stride === 2 ? channels & ~1 : 0
    const pair = (delimiter * 0x10001) | 0x30003000
    const tailBytes = channels * stride
    // Rows near the end of the chunk are left to the plain reader, so that no index needs a check.
    const safe = chunk.length - MAX_TIME_BYTES - tailBytes - WORD_BYTES
    let before = known
    let last = rows.lastTick
    let sample = rows.sample
    let row = rows.batch.count
    let at = from
    while (at <= safe) {
      let p = at
      const negative = chunk[p] === MINUS
      if (negative) p++
      const digitsFrom = p
      let mantissa = 0
      let digits = 0
      let word = view.getInt32(p, true)
      while (isFourDigits(word) && digits < MAX_WHOLE_DIGITS) {
        mantissa = mantissa * 10000 + fourDigits(word)
        digits += 4
        p += 4
        word = view.getInt32(p, true)
      }
      let digit = (word & 0xff) - ZERO
      while (digit >= 0 && digit <= 9 && digits < MAX_WHOLE_DIGITS) {
        mantissa = mantissa * 10 + digit
        digits++
        digit = chunk[++p]! - ZERO
      }
      let scale = decimals
      if (hasMark && chunk[p] === decimal) {
        p++
        for (; scale >= 4; scale -= 4, p += 4) {
          word = view.getInt32(p, true)
          if (!isFourDigits(word)) break
          mantissa = mantissa * 10000 + fourDigits(word)
        }
        digit = chunk[p]! - ZERO
        for (; scale > 0 && digit >= 0 && digit <= 9; scale--) {
          mantissa = mantissa * 10 + digit
          digit = chunk[++p]! - ZERO
        }
        // Digits finer than a tick may follow if they are zeros; others need rounding, which is not done here.
        while (digit === 0 && p - at < MAX_TIME_BYTES - 1) digit = chunk[++p]! - ZERO
        digits = p - digitsFrom - 1
      }
      if (digits === 0) break
      // Exact: what passes MAX_TICK on the way stays above it, and is left to the plain reader to refuse.
      const size = scale === 0 ? mantissa : mantissa * POWERS[scale]!
      const time = negative ? 0 - size : size
      if (size > MAX_TICK || time <= last) break

      // p is at the delimiter before the first level
      const crlf = chunk[p + tailBytes] === CR ? 1 : 0
      let odd = chunk[p + tailBytes + crlf]! ^ LF
      let now = 0
      let n = 0
      for (; n < paired; n += 2, p += 4) {
        const bits = view.getInt32(p, true) ^ pair
        odd |= bits & ~0x01000100
        now |= (((bits >>> 8) | (bits >>> 23)) & 3) << n
      }
      for (; n < channels; n++, p += stride) {
        const bit = chunk[p + stride - 1]! ^ ZERO
        odd |= (chunk[p]! ^ delimiter) | (bit & ~1)
        if (stride === 3) odd |= chunk[p + 1]! ^ SPACE
        now |= (bit & 1) << n
      }
      if (odd !== 0) break
      let changed = now ^ before
      before = now
      // Lowest channel first
      while (changed !== 0) {
        n = 31 - Math.clz32(changed & -changed)
        changed &= changed - 1
        tick[row] = time
        channel[row] = n
        level[row] = (now >>> n) & 1
        if (++row === BATCH_ROWS) row = this.#flush(row)
      }
      last = time
      sample++
      at = p + crlf + 1
    }
    rows.lastTick = last
    this.#leave(before, sample, row)
    return at
  }

  /** Hands on a full batch in mid-scan; returns its new count. */
  #flush(count: number): number {
    this.#rows.batch.count = count
    this.#rows.flush()
    return 0
  }

  /** Leaves what a scanner carries where the plain reader finds it. */
  #leave(known: number, sample: number, count: number): void {
    const { levels, batch } = this.#rows
    for (let n = 0; n < levels.length; n++) levels[n] = (known >>> n) & 1
    this.#rows.sample = sample
    batch.count = count
  }
}

const POWERS: Float64Array = Float64Array.from({ length: 40 }, (_, n) => 10 ** n)

/** Are the four bytes of a little-endian word all digits? Adding 6 carries out of the low half of any byte past `9`. */
function isFourDigits(word: number): boolean {
  return ((word & 0xf0f0f0f0) | (((word + 0x06060606) & 0xf0f0f0f0) >>> 4)) === 0x33333333
}

/** Value of four digits in a little-endian word: neighbours are joined to two-digit numbers, and those to one. */
function fourDigits(word: number): number {
  const digits = word & 0x0f0f0f0f
  const pairs = Math.imul(digits, 10) + (digits >>> 8)
  return Math.imul(pairs & 0xff, 100) + ((pairs >>> 16) & 0xff)
}

/**
 * First offset at or after `from` whose byte differs from the one a row before it.
 *
 * Words of eight bytes compare as float64, at any alignment. That is exact here: the row above is known to be text, so its
 * words are neither NaN nor zero.
 */
function sameAsBefore(chunk: Uint8Array, view: DataView, from: number, rowBytes: number): number {
  const length = chunk.length
  const stop = length - WORD_BYTES
  let at = from
  while (at <= stop && view.getFloat64(at, true) === view.getFloat64(at - rowBytes, true)) at += WORD_BYTES
  while (at < length && chunk[at] === chunk[at - rowBytes]) at++
  return at
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
