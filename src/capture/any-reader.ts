// First bytes → the reader of that format, then the bytes on to it. Keeps only as much as telling the format takes.

import { UnsupportedCaptureError } from '../errors.ts'
import type { CaptureExtent, CaptureReader, ReaderOptions } from './capture-header.ts'
import { CsvReader } from './csv-reader.ts'
import { detectFormat, FORMAT_BYTES } from './detect-format.ts'
import { VcdReader } from './vcd-reader.ts'

/** Reads whichever format the first bytes show. Compressed input must be unpacked before. */
export class AnyReader implements CaptureReader {
  readonly #options: ReaderOptions
  readonly #head = new Uint8Array(FORMAT_BYTES)
  #headBytes = 0
  #reader: CaptureReader | undefined

  constructor(options: ReaderOptions) {
    this.#options = options
  }

  /** @throws {CaptureError} what the reader of the format throws; CAPTURE_FORMAT_UNKNOWN, CAPTURE_EMPTY */
  write(chunk: Uint8Array): void {
    if (this.#reader) return this.#reader.write(chunk)
    const taken = Math.min(chunk.length, FORMAT_BYTES - this.#headBytes)
    this.#head.set(chunk.subarray(0, taken), this.#headBytes)
    this.#headBytes += taken
    if (this.#headBytes < FORMAT_BYTES) return
    this.#open().write(chunk.subarray(taken))
  }

  end(): CaptureExtent {
    return (this.#reader ?? this.#open()).end()
  }

  #open(): CaptureReader {
    const head = this.#head.subarray(0, this.#headBytes)
    const format = detectFormat(head)
    if (format === 'gzip') throw stillPacked()
    const reader = format === 'vcd' ? new VcdReader(this.#options) : new CsvReader(this.#options)
    this.#reader = reader
    reader.write(head)
    return reader
  }
}

/** Packed twice, or given to the library without unpacking. */
function stillPacked(): UnsupportedCaptureError {
  return new UnsupportedCaptureError(
    'CAPTURE_FORMAT_UNKNOWN',
    'expected a VCD or CSV capture, found gzip data where it should be unpacked',
    { byte: 0 },
    { hint: 'unpack it with gzip -dc' },
  )
}
