// CSV, as logic analyzers and oscilloscopes export it: bytes → header and transitions.

import type { CaptureExtent, CaptureReader, ReaderOptions } from './capture-header.ts'
import { CsvBody } from './csv-body.ts'
import { findDialect, HEAD_BYTES } from './csv-dialect.ts'
import { CsvRows } from './csv-rows.ts'
import { refuseNonText } from './detect-format.ts'
import { MalformedCaptureError } from '../errors.ts'

/**
 * Streaming reader of one CSV capture. Keeps the first 64 KiB until the dialect is known; after that, one row.
 *
 * Ticks are whole numbers; levels are handed on where they change from row to row, and all known ones at the first row.
 */
export class CsvReader implements CaptureReader {
  readonly #options: ReaderOptions
  readonly #fast: boolean
  #head: Uint8Array | undefined = new Uint8Array(HEAD_BYTES)
  #headUsed = 0
  #rows: CsvRows | undefined
  #body: CsvBody | undefined

  /** @param fast false reads every row by the plain reader: the oracle in tests */
  constructor(options: ReaderOptions, fast = true) {
    this.#options = options
    this.#fast = fast
  }

  /**
   * @throws {MalformedCaptureError} CSV_* for what breaks the table; `at.byte` is the start of the bad cell or row
   * @throws {UnsupportedCaptureError} CSV_NOT_A_WAVEFORM, CSV_NO_CHANNELS, CSV_TOO_MANY_CHANNELS, CAPTURE_FORMAT_UNKNOWN
   */
  write(chunk: Uint8Array): void {
    if (this.#body) {
      this.#body.write(chunk)
      return
    }
    const take = Math.min(chunk.length, HEAD_BYTES - this.#headUsed)
    this.#head!.set(chunk.subarray(0, take), this.#headUsed)
    this.#headUsed += take
    // A head that is exactly full is not yet known to be whole or not; both cuts must see the same.
    if (take === chunk.length) return
    this.#start(false).write(chunk.subarray(take))
  }

  /** @throws as {@link write}, and {MalformedCaptureError} CAPTURE_EMPTY, CSV_NO_ROWS */
  end(): CaptureExtent {
    const body = this.#body ?? this.#start(true)
    body.end()
    return this.#rows!.end()
  }

  #start(whole: boolean): CsvBody {
    const head = this.#head!.subarray(0, this.#headUsed)
    if (whole && head.every((byte) => byte <= 0x20)) {
      throw new MalformedCaptureError(
        'CAPTURE_EMPTY',
        'the capture holds no text',
        { byte: 0 },
        { hint: 'export it again' },
      )
    }
    refuseNonText(head)
    const dialect = findDialect(head, whole, this.#options)
    this.#options.onHeader(dialect.header)
    this.#rows = new CsvRows(dialect, this.#options)
    const rest = head.subarray(dialect.bodyAtByte)
    this.#body = new CsvBody(this.#rows, rest, this.#fast)
    this.#body.write(rest)
    this.#head = undefined
    return this.#body
  }
}
