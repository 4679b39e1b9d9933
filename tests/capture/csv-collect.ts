// CSV text → everything the reader says of it, as plain data that tests can compare.

import type { CaptureExtent, CaptureHeader, ReaderOptions } from '../../src/capture/capture-header.ts'
import { CsvBody } from '../../src/capture/csv-body.ts'
import { findDialect, HEAD_BYTES } from '../../src/capture/csv-dialect.ts'
import { CsvReader } from '../../src/capture/csv-reader.ts'
import { CsvRows } from '../../src/capture/csv-rows.ts'
import type { TransitionBatch } from '../../src/capture/transition-batch.ts'
import { CaptureError } from '../../src/errors.ts'
import { NoticeList, type Notice } from '../../src/notices.ts'

/** `[tick, channel, level]` */
export type Row = [tick: number, channel: number, level: number]

export interface Collected {
  header: CaptureHeader | undefined
  rows: Row[]
  extent: CaptureExtent | undefined
  notices: Notice[]
  error: { code: string; byte: number | undefined; message: string; hint: string | undefined } | undefined
}

type Options = Pick<ReaderOptions, 'timeUnit' | 'sampleRateHz'>

/** A text is taken as Latin-1, so that tests can write any byte. */
export function bytesOf(text: string): Uint8Array {
  return Uint8Array.from(text, (character) => character.charCodeAt(0))
}

/** Cuts at the given places (in any order, repeats allowed), so that chunks may be empty. */
export function cutAt(bytes: Uint8Array, places: readonly number[]): Uint8Array[] {
  const sorted = [0, ...places.map((place) => Math.min(place, bytes.length)), bytes.length].sort(
    (a, b) => a - b,
  )
  // Copies, so that the scanners meet chunks at every alignment and none that knows its neighbour.
  return sorted.slice(1).map((place, i) => bytes.slice(sorted[i], place))
}

export function cutEvery(bytes: Uint8Array, length: number): Uint8Array[] {
  return Array.from({ length: Math.ceil(bytes.length / length) }, (_, n) =>
    bytes.slice(n * length, (n + 1) * length),
  )
}

function collect(run: (options: ReaderOptions) => CaptureExtent, options: Options): Collected {
  const notices = new NoticeList()
  const rows: Row[] = []
  const result: Collected = { header: undefined, rows, extent: undefined, notices: [], error: undefined }
  try {
    result.extent = run({
      ...options,
      notices,
      onHeader: (header) => {
        if (result.header) throw new Error('the header came twice')
        result.header = header
      },
      sink: (batch: TransitionBatch) => {
        for (let row = 0; row < batch.count; row++) {
          rows.push([batch.tick[row]!, batch.channel[row]!, batch.level[row]!])
        }
        // Who kept the batch would see this.
        batch.tick.fill(Number.NaN)
        batch.channel.fill(65535)
        batch.level.fill(99)
      },
    })
  } catch (error) {
    if (!(error instanceof CaptureError)) throw error
    result.error = { code: error.code, byte: error.at.byte, message: error.message, hint: error.hint }
  }
  result.notices = notices.list()
  return result
}

/** The whole reader; it keeps the first 64 KiB together, so short texts reach the scanners in one piece. */
export function readCsv(text: string | readonly Uint8Array[], options: Options = {}): Collected {
  const chunks = typeof text === 'string' ? [bytesOf(text)] : text
  return collect((given) => {
    const reader = new CsvReader(given)
    for (const chunk of chunks) reader.write(chunk)
    return reader.end()
  }, options)
}

/** The dialect from the head, then the body in the given cuts: what a long file's rows meet. */
export function readBody(
  bytes: Uint8Array,
  cuts: (body: Uint8Array) => Uint8Array[],
  fast: boolean,
  options: Options = {},
): Collected {
  return collect((given) => {
    const dialect = findDialect(bytes.subarray(0, HEAD_BYTES), bytes.length <= HEAD_BYTES, given)
    given.onHeader(dialect.header)
    const rows = new CsvRows(dialect, given)
    const body = new CsvBody(rows, bytes.subarray(dialect.bodyAtByte), fast)
    for (const chunk of cuts(bytes.subarray(dialect.bodyAtByte))) body.write(chunk)
    body.end()
    return rows.end()
  }, options)
}

export function codes(collected: Collected): string[] {
  return collected.notices.map((notice) => notice.code).sort()
}
