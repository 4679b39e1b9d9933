// VCD text → everything the reader says of it, as plain data that tests can compare.

import type { CaptureExtent, CaptureHeader, ReaderOptions } from '../../src/capture/capture-header.ts'
import { VcdReader } from '../../src/capture/vcd-reader.ts'
import { CaptureError } from '../../src/errors.ts'
import { NoticeList, type Notice } from '../../src/notices.ts'

/** One row of a batch, with the channel's name instead of its number: `[tick, name, level]`. */
export type Row = [tick: number, channel: string, level: number]

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

export function cutEvery(bytes: Uint8Array, length: number): Uint8Array[] {
  const chunks: Uint8Array[] = []
  for (let i = 0; i < bytes.length; i += length) chunks.push(bytes.slice(i, i + length))
  return chunks
}

/** Cuts at the given places (in any order, repeats allowed), so that chunks may be empty. */
export function cutAt(bytes: Uint8Array, places: readonly number[]): Uint8Array[] {
  const sorted = [0, ...places.map((place) => Math.min(place, bytes.length)), bytes.length].sort(
    (a, b) => a - b,
  )
  return sorted.slice(1).map((place, i) => bytes.slice(sorted[i], place))
}

export function collectChunks(chunks: readonly Uint8Array[], options: Options = {}): Collected {
  const notices = new NoticeList()
  const rows: Row[] = []
  let header: CaptureHeader | undefined
  let extent: CaptureExtent | undefined
  let error: Collected['error']
  const reader = new VcdReader({
    ...options,
    notices,
    onHeader: (told) => {
      if (header) throw new Error('the header came twice')
      header = told
    },
    sink: (batch) => {
      for (let row = 0; row < batch.count; row++) {
        rows.push([batch.tick[row]!, header!.channels[batch.channel[row]!]!.name, batch.level[row]!])
      }
      // Who kept the batch would see this.
      batch.tick.fill(Number.NaN)
      batch.channel.fill(65535)
      batch.level.fill(99)
    },
  })
  try {
    for (const chunk of chunks) {
      reader.write(chunk)
      // The reader must not keep the bytes either.
      chunk.fill(0x7e)
    }
    extent = reader.end()
  } catch (thrown) {
    if (!(thrown instanceof CaptureError)) throw thrown
    error = { code: thrown.code, byte: thrown.at.byte, message: thrown.message, hint: thrown.hint }
  }
  return { header, rows, extent, notices: notices.list(), error }
}

/** Reads in one piece. */
export function collect(text: string | Uint8Array, options: Options = {}): Collected {
  const bytes = typeof text === 'string' ? bytesOf(text) : text
  return collectChunks([bytes.slice()], options)
}

/** A header of single wires: names as given, codes from `!` up. */
export function headerOf(...names: string[]): string {
  const variables = names.map((name, i) => `$var wire 1 ${String.fromCharCode(33 + i)} ${name} $end\n`)
  return `$timescale 1 ns $end\n${variables.join('')}$enddefinitions $end\n`
}

export function noticeCounts(collected: Collected): Record<string, number> {
  return Object.fromEntries(collected.notices.map((notice) => [notice.code, notice.count]))
}
