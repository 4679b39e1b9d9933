// A file name (or `-`) → its bytes, unpacked, in chunks. The only place that opens files to read them.

import { createReadStream, readSync } from 'node:fs'
import { open, stat, type FileHandle } from 'node:fs/promises'
import type { Readable } from 'node:stream'
import { createGunzip } from 'node:zlib'
import { MalformedCaptureError, UnsupportedCaptureError } from './errors.ts'
import type { Notice } from './notices.ts'

/** 256 KiB at a time: a fifth faster than 64 KiB, and more gains nothing. */
const CHUNK_BYTES = 256 * 1024
/**
 * Data that unpack to more than this many times their size, and to much, are refused: deflate (RFC 1951) ends at 1032,
 * which takes nothing but one repeated text. A capture with sync in it comes close at a gigasample a second at most.
 */
const MAX_UNPACK_RATIO = 1000
const UNPACK_GRACE_BYTES = 256 * 1024 * 1024
/** Packed bytes that are unpacked at once: deflate gives at most 1032 times as many, which bounds what is in memory. */
const PIECE_BYTES = 16 * 1024

/** What may be said while a capture is read. All optional. */
export interface OpenOptions {
  /** Where `-` reads. */
  stdin?: Readable | undefined
  /** Told how far reading has come, in bytes of the file; the total is null where it has no end yet. */
  onProgress?: ((bytesRead: number, bytesTotal: number | null) => void) | undefined
  /** Given the bytes as they come from the file, still packed; valid during the call. */
  onBytes?: ((bytes: Uint8Array) => void) | undefined
  /**
   * Told of compressed data that breaks off, after what there is of it has been handed on. Without this it is the error
   * CAPTURE_GZIP_BROKEN.
   */
  onCutShort?: ((notice: Notice) => void) | undefined
  /** The thread has nothing else to do: it may stand still while a file is read. */
  isBlocking?: boolean
}

/**
 * Bytes of a capture, unpacked if they are gzip. The input is only ever read. A chunk is valid until the next is asked for:
 * its memory is used again.
 *
 * @param file path, or `-` for `stdin`
 * @throws {UnsupportedCaptureError} CAPTURE_NOT_READABLE for what is no readable file
 * @throws {MalformedCaptureError} CAPTURE_GZIP_BROKEN, while iterating
 */
export async function* openCapture(file: string, options: OpenOptions = {}): AsyncGenerator<Uint8Array> {
  const { source, total, close } = await openSource(file, options)
  let read = 0
  const chunks = countedChunks(source, file, (bytes) => {
    options.onBytes?.(bytes)
    // on its own: what stands in a call that nobody wants is not done
    read += bytes.length
    options.onProgress?.(read, total)
  })
  try {
    const first = await firstBytes(chunks)
    if (!first) return
    if (first[0] === 0x1f && first[1] === 0x8b) yield* unpack(first, chunks, () => read, options.onCutShort)
    else {
      yield first
      yield* chunks
    }
  } finally {
    await close()
  }
}

/** Whether a name can be opened once more and gives the same bytes: a file does, a pipe does not. */
export async function canReadAgain(file: string): Promise<boolean> {
  return (await sizeOf(file)) >= 0
}

/** Bytes of a file, packed or not; -1 for what is none, such as a pipe. */
export async function sizeOf(file: string): Promise<number> {
  if (file === '-') return -1
  return stat(file).then(
    (info) => (info.isFile() ? info.size : -1),
    () => -1,
  )
}

interface Source {
  readonly source: AsyncIterable<Uint8Array>
  /** Bytes in all; null where there is no end yet. */
  readonly total: number | null
  readonly close: () => Promise<void>
}

async function openSource(file: string, { stdin, isBlocking }: OpenOptions): Promise<Source> {
  if (file === '-') {
    if (!stdin) throw notReadable(file, 'there is no standard input')
    return streamed(stdin)
  }
  const info = await stat(file).catch((cause: NodeJS.ErrnoException) => {
    throw notReadable(file, reasonOf(cause), cause)
  })
  if (info.isDirectory()) throw notReadable(file, 'it is a directory')
  if (!info.isFile()) return streamed(createReadStream(file, { highWaterMark: CHUNK_BYTES }))
  const handle = await open(file).catch((cause: NodeJS.ErrnoException) => {
    throw notReadable(file, reasonOf(cause), cause)
  })
  return {
    source: isBlocking ? readAlong(handle) : readAhead(handle),
    total: info.size,
    close: () => handle.close(),
  }
}

function streamed(stream: Readable): Source {
  // a reader that stops early must not leave a pipe open: the process would wait for its writer
  const close = async (): Promise<void> => void stream.destroy()
  return { source: stream, total: null, close }
}

/**
 * Chunks of a file, each valid until the next is asked for: while one is worked on, the next is read into the other of two
 * buffers, by the thread pool and so on another core. New memory for each chunk, as a stream takes it, costs more than
 * the reading.
 */
async function* readAhead(handle: FileHandle): AsyncGenerator<Uint8Array> {
  const begin = (into: Uint8Array): ReturnType<typeof handle.read> => {
    const reading = handle.read(into, 0, CHUNK_BYTES, null)
    // what fails while the chunk before is worked on is told when its turn comes
    reading.catch(() => undefined)
    return reading
  }
  let next: Uint8Array = new Uint8Array(CHUNK_BYTES)
  let free: Uint8Array = new Uint8Array(CHUNK_BYTES)
  let reading = begin(next)
  for (;;) {
    const { bytesRead } = await reading
    if (bytesRead === 0) return
    const chunk = next
    next = free
    free = chunk
    reading = begin(next)
    yield chunk.subarray(0, bytesRead)
  }
}

/**
 * Chunks as of `readAhead`, read by this thread between its work. The system reads files ahead of itself; a pool of threads
 * that shares the processor with two others hands each chunk over late, a quarter of the time in all.
 */
async function* readAlong(handle: FileHandle): AsyncGenerator<Uint8Array> {
  const chunk = new Uint8Array(CHUNK_BYTES)
  for (;;) {
    const bytesRead = readSync(handle.fd, chunk, 0, CHUNK_BYTES, null)
    if (bytesRead === 0) return
    yield chunk.subarray(0, bytesRead)
  }
}

/** At least two bytes where there are two, so that a pipe that gives one at a time is still recognised. */
async function firstBytes(chunks: AsyncIterator<Uint8Array>): Promise<Uint8Array | undefined> {
  let first: Uint8Array | undefined
  while (!first || first.length < 2) {
    const next = await chunks.next()
    if (next.done) return first
    // a chunk's memory is used again
    if (!first) first = next.value.length < 2 ? next.value.slice() : next.value
    else {
      const joined = new Uint8Array(first.length + next.value.length)
      joined.set(first)
      joined.set(next.value, first.length)
      first = joined
    }
  }
  return first
}

async function* countedChunks(
  source: AsyncIterable<Uint8Array>,
  file: string,
  add: (bytes: Uint8Array) => void,
): AsyncGenerator<Uint8Array> {
  try {
    for await (const bytes of source) {
      add(bytes)
      if (bytes.length > 0) yield bytes
    }
  } catch (cause) {
    throw notReadable(file, reasonOf(cause as NodeJS.ErrnoException), cause)
  }
}

/** Piece by piece, so that what was unpacked before the data breaks is handed on and not lost in a buffer. */
async function* unpack(
  first: Uint8Array,
  rest: AsyncIterable<Uint8Array>,
  packedBytes: () => number,
  onCutShort: OpenOptions['onCutShort'],
): AsyncGenerator<Uint8Array> {
  const gunzip = createGunzip({ chunkSize: CHUNK_BYTES })
  let ready: Uint8Array[] = []
  let unpacked = 0
  let failure: NodeJS.ErrnoException | undefined
  gunzip.on('data', (chunk: Uint8Array) => ready.push(chunk))
  // a write that fails calls nobody back
  let wake = (): void => undefined
  gunzip.on('error', (error: NodeJS.ErrnoException) => {
    failure = error
    wake()
  })
  const finished = (begin: (done: () => void) => void): Promise<void> =>
    new Promise<void>((resolve) => {
      wake = resolve
      begin(resolve)
    })
  const takeReady = (): Uint8Array[] => {
    const chunks = ready
    ready = []
    for (const chunk of chunks) unpacked += chunk.length
    if (unpacked > UNPACK_GRACE_BYTES && unpacked > packedBytes() * MAX_UNPACK_RATIO) throw bomb()
    return chunks
  }
  try {
    for await (const packed of startingWith(first, rest)) {
      for (let at = 0; at < packed.length; at += PIECE_BYTES) {
        const piece = packed.subarray(at, at + PIECE_BYTES)
        await finished((done) => gunzip.write(piece, () => done()))
        yield* takeReady()
        if (failure) throw broken(unpacked, failure)
      }
    }
    await finished((done) => {
      gunzip.once('close', done)
      gunzip.end()
    })
    yield* takeReady()
  } finally {
    gunzip.destroy()
  }
  if (!failure) return
  if (failure.code !== 'Z_BUF_ERROR' || !onCutShort || unpacked === 0) throw broken(unpacked, failure)
  onCutShort({
    code: 'CAPTURE_GZIP_CUT_SHORT',
    message: `the compressed data breaks off: what unpacks of it, ${unpacked} bytes, is measured`,
    firstAtByte: unpacked,
    count: 1,
  })
}

async function* startingWith(first: Uint8Array, rest: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  yield first
  yield* rest
}

function broken(unpacked: number, cause: NodeJS.ErrnoException): MalformedCaptureError {
  const what = cause.code === 'Z_BUF_ERROR' ? 'breaks off' : 'is damaged'
  return new MalformedCaptureError(
    'CAPTURE_GZIP_BROKEN',
    `the compressed data ${what} after ${unpacked} unpacked bytes`,
    {},
    { hint: 'copy the file again, or unpack it with gzip to see what is left', cause },
  )
}

function bomb(): MalformedCaptureError {
  return new MalformedCaptureError(
    'CAPTURE_GZIP_BROKEN',
    `the file unpacks to more than ${MAX_UNPACK_RATIO} times its size: that is no capture`,
    {},
    { hint: 'if it is one, unpack it on the way: gzip -dc FILE | rastertap identify -' },
  )
}

function reasonOf(cause: NodeJS.ErrnoException): string {
  const known: Readonly<Record<string, string>> = {
    ENOENT: 'there is no such file',
    EACCES: 'permission denied',
    EISDIR: 'it is a directory',
    ENOTDIR: 'part of the path is not a directory',
    ENAMETOOLONG: 'the name is too long',
    ELOOP: 'symbolic links lead in a circle',
    EIO: 'input/output error',
    EMFILE: 'too many files are open',
  }
  return known[cause.code ?? ''] ?? `${cause.code ?? cause.message}`
}

function notReadable(file: string, reason: string, cause?: unknown): UnsupportedCaptureError {
  return new UnsupportedCaptureError(
    'CAPTURE_NOT_READABLE',
    `the capture cannot be read: ${reason}`,
    { file },
    { hint: 'give the name of a VCD or CSV file, or - for standard input', ...(cause ? { cause } : {}) },
  )
}
