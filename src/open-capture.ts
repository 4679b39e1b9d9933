// A file name (or `-`) → its bytes, unpacked, in chunks. The only place that opens files to read them.

import { createReadStream } from 'node:fs'
import { stat } from 'node:fs/promises'
import type { Readable } from 'node:stream'
import { createGunzip } from 'node:zlib'
import { MalformedCaptureError, UnsupportedCaptureError } from './errors.ts'

/** 256 KiB at a time: a fifth faster than Node's 64 KiB, and more gains nothing. */
const CHUNK_BYTES = 256 * 1024
/** A compressed capture may unpack to this many times its size; text of sync and porches reaches some 300. */
const MAX_UNPACK_RATIO = 2000
const UNPACK_GRACE_BYTES = 64 * 1024 * 1024

/** Told how far reading has come. */
export type ReadProgress = (bytesRead: number, bytesTotal: number | null) => void

/**
 * Bytes of a capture, unpacked if they are gzip. The input is only ever read.
 *
 * @param file path, or `-` for `stdin`
 * @throws {UnsupportedCaptureError} CAPTURE_NOT_READABLE for what is no readable file
 * @throws {MalformedCaptureError} CAPTURE_GZIP_BROKEN, while iterating
 */
export async function* openCapture(
  file: string,
  stdin?: Readable,
  progress?: ReadProgress,
): AsyncGenerator<Uint8Array> {
  let source: Readable
  let total: number | null = null
  if (file === '-') {
    if (!stdin) throw notReadable(file, 'there is no standard input')
    source = stdin
  } else {
    const info = await stat(file).catch((cause: NodeJS.ErrnoException) => {
      throw notReadable(file, reasonOf(cause), cause)
    })
    if (info.isDirectory()) throw notReadable(file, 'it is a directory')
    if (info.isFile()) total = info.size
    source = createReadStream(file, { highWaterMark: CHUNK_BYTES })
  }
  let read = 0
  const counted = count(source, file, (bytes) => progress?.((read += bytes), total))
  const iterator = counted[Symbol.asyncIterator]()
  const first = await firstBytes(iterator)
  if (!first) return
  if (first[0] === 0x1f && first[1] === 0x8b) yield* unpack(first, iterator, () => read)
  else {
    yield first
    for (let next = await iterator.next(); !next.done; next = await iterator.next()) yield next.value
  }
}

/** At least two bytes where there are two, so that a pipe that gives one at a time is still recognised. */
async function firstBytes(iterator: AsyncIterator<Uint8Array>): Promise<Uint8Array | undefined> {
  let first: Uint8Array | undefined
  while (!first || first.length < 2) {
    const next = await iterator.next()
    if (next.done) return first
    if (!first) first = next.value
    else {
      const joined = new Uint8Array(first.length + next.value.length)
      joined.set(first)
      joined.set(next.value, first.length)
      first = joined
    }
  }
  return first
}

async function* count(
  source: Readable,
  file: string,
  add: (bytes: number) => void,
): AsyncGenerator<Uint8Array> {
  try {
    for await (const chunk of source) {
      const bytes = chunk as Uint8Array
      add(bytes.length)
      if (bytes.length > 0) yield bytes
    }
  } catch (cause) {
    throw notReadable(file, reasonOf(cause as NodeJS.ErrnoException), cause)
  }
}

async function* unpack(
  first: Uint8Array,
  rest: AsyncIterator<Uint8Array>,
  packedBytes: () => number,
): AsyncGenerator<Uint8Array> {
  const gunzip = createGunzip({ chunkSize: CHUNK_BYTES })
  let readError: unknown
  const feed = async (): Promise<void> => {
    try {
      let value: Uint8Array | undefined = first
      while (value) {
        if (!gunzip.write(value)) await new Promise((resolve) => gunzip.once('drain', resolve))
        const next: IteratorResult<Uint8Array> = await rest.next()
        value = next.done ? undefined : next.value
      }
      gunzip.end()
    } catch (cause) {
      readError = cause
      gunzip.destroy(cause as Error)
    }
  }
  void feed()
  let unpacked = 0
  try {
    for await (const chunk of gunzip) {
      const bytes = chunk as Uint8Array
      unpacked += bytes.length
      if (unpacked > UNPACK_GRACE_BYTES && unpacked > packedBytes() * MAX_UNPACK_RATIO) throw bomb()
      yield bytes
    }
  } catch (cause) {
    if (readError !== undefined) throw readError
    if (cause instanceof MalformedCaptureError) throw cause
    throw new MalformedCaptureError(
      'CAPTURE_GZIP_BROKEN',
      `the compressed data breaks off or is damaged after ${unpacked} unpacked bytes`,
      {},
      { hint: 'copy the file again, or unpack it with gzip to see what is left', cause },
    )
  }
}

function bomb(): MalformedCaptureError {
  return new MalformedCaptureError(
    'CAPTURE_GZIP_BROKEN',
    `the file unpacks to more than ${MAX_UNPACK_RATIO} times its size: that is no capture`,
    {},
    { hint: 'unpack it yourself if it is one' },
  )
}

function reasonOf(cause: NodeJS.ErrnoException): string {
  const known: Readonly<Record<string, string>> = {
    ENOENT: 'there is no such file',
    EACCES: 'permission denied',
    EISDIR: 'it is a directory',
    ENOTDIR: 'part of the path is not a directory',
    EMFILE: 'too many files are open',
  }
  return known[cause.code ?? ''] ?? `${cause.code ?? cause.message}`
}

function notReadable(file: string, reason: string, cause?: unknown): UnsupportedCaptureError {
  return new UnsupportedCaptureError(
    'CAPTURE_NOT_READABLE',
    `the capture cannot be read: ${reason}`,
    { file },
    cause === undefined ? {} : { cause },
  )
}
