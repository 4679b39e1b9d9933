// The door to files and pipes: bytes as they are, unpacked, and nothing left open.

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough, Readable } from 'node:stream'
import { gzipSync } from 'node:zlib'
import { afterAll, describe, expect, it, test } from 'vitest'
import type { CaptureError } from '../src/errors.ts'
import type { Notice } from '../src/notices.ts'
import { canReadAgain, openCapture, type OpenOptions } from '../src/open-capture.ts'
import { newRandom } from './support/random.ts'

const folder = mkdtempSync(join(tmpdir(), 'rastertap-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** Three quarters of a megabyte of text that packs to about a third. */
const random = newRandom(3)
const text = Buffer.from(
  Array.from({ length: 90_000 }, (_, n) => `#${n} ${random.below(2)}${random.below(9)}\n`).join(''),
)
const packed = gzipSync(text)

function file(name: string, contents: Uint8Array): string {
  const path = join(folder, name)
  writeFileSync(path, contents)
  return path
}

async function readAll(name: string, options?: OpenOptions): Promise<Buffer> {
  const chunks: Uint8Array[] = []
  for await (const chunk of openCapture(name, options)) chunks.push(chunk.slice())
  return Buffer.concat(chunks)
}

async function failure(reading: Promise<unknown>): Promise<CaptureError> {
  return reading.then(
    () => {
      throw new Error('was read')
    },
    (error: unknown) => error as CaptureError,
  )
}

/** A stream that gives `size` bytes at a time. */
const pipe = (bytes: Uint8Array, size: number): Readable =>
  Readable.from(
    (function* () {
      for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size)
    })(),
    { objectMode: false },
  )

describe('openCapture', () => {
  it('gives the bytes of a file, packed or not', async () => {
    expect((await readAll(file('plain', text))).equals(text)).toBe(true)
    expect((await readAll(file('packed', packed))).equals(text)).toBe(true)
  })

  test.each([1, 2, 3, 1000, 70_000])('gives the bytes of a pipe that brings %d at a time', async (size) => {
    const short = text.subarray(0, 20_000)
    expect((await readAll('-', { stdin: pipe(short, size) })).equals(short)).toBe(true)
    expect((await readAll('-', { stdin: pipe(gzipSync(short), size) })).equals(short)).toBe(true)
  })

  test.each([0, 1, 2])('gives %d bytes where there are no more', async (length) => {
    const bytes = Buffer.from('ab').subarray(0, length)
    expect((await readAll(file(`short${length}`, bytes))).equals(bytes)).toBe(true)
    expect((await readAll('-', { stdin: pipe(bytes, 1) })).equals(bytes)).toBe(true)
  })

  it('takes the first byte of gzip alone for what it is', async () => {
    const bytes = Buffer.of(0x1f)
    expect((await readAll(file('1f', bytes))).equals(bytes)).toBe(true)
  })

  it('tells how far it is, in bytes of the file', async () => {
    const seen: [number, number | null][] = []
    await readAll(file('progress.gz', packed), { onProgress: (bytes, total) => seen.push([bytes, total]) })
    expect(seen.at(-1)).toEqual([packed.length, packed.length])
    await readAll('-', {
      stdin: pipe(text, 100_000),
      onProgress: (bytes, total) => seen.push([bytes, total]),
    })
    expect(seen.at(-1)).toEqual([text.length, null])
  })

  it('lets go of a pipe when the reader stops early', async () => {
    for (const bytes of [text, packed]) {
      const stdin = new PassThrough()
      stdin.write(bytes)
      for await (const chunk of openCapture('-', { stdin })) {
        expect(chunk.length).toBeGreaterThan(0)
        break
      }
      expect(stdin.destroyed).toBe(true)
    }
  })

  test.each([
    ['what is not there', 'nowhere', 'there is no such file'],
    ['a folder', '', 'it is a directory'],
  ])('names %s', async (_, name, why) => {
    const path = join(folder, name)
    const error = await failure(readAll(path))
    expect(error).toMatchObject({ code: 'CAPTURE_NOT_READABLE', at: { file: path } })
    expect(error.message).toContain(why)
    expect(error.hint).toBeTruthy()
  })

  it('names a standard input that is not there', async () => {
    expect(await failure(readAll('-'))).toMatchObject({ code: 'CAPTURE_NOT_READABLE', at: { file: '-' } })
  })

  it('names a pipe that breaks', async () => {
    const stdin = new PassThrough()
    stdin.write('$date')
    setTimeout(() => stdin.destroy(Object.assign(new Error('x'), { code: 'EIO' })), 10)
    const error = await failure(readAll('-', { stdin }))
    expect(error).toMatchObject({ code: 'CAPTURE_NOT_READABLE' })
    expect(error.message).toContain('input/output error')
  })
})

describe('packed data', () => {
  it('that breaks off is an error', async () => {
    const error = await failure(readAll(file('cut.gz', packed.subarray(0, -1000))))
    expect(error).toMatchObject({ code: 'CAPTURE_GZIP_BROKEN' })
    expect(error.message).toMatch(/breaks off after \d{6} unpacked bytes/)
  })

  test.each([0.2, 0.5, 0.999])(
    'cut at %d of it, is handed on as far as it goes where that is asked for',
    async (share) => {
      const notices: Notice[] = []
      const cutAt = Math.floor(packed.length * share)
      const got = await readAll(file('cut.gz', packed.subarray(0, cutAt)), {
        onCutShort: (notice) => notices.push(notice),
      })
      expect(got.equals(text.subarray(0, got.length))).toBe(true)
      // deflate holds back less than one block of its window
      expect(got.length).toBeGreaterThan(text.length * share - 64 * 1024)
      expect(notices).toMatchObject([{ code: 'CAPTURE_GZIP_CUT_SHORT', firstAtByte: got.length, count: 1 }])
    },
  )

  it('that is damaged is an error even so, after what came before it', async () => {
    const bad = Buffer.from(packed)
    bad.fill(0xff, 100_000, 100_100)
    let got = 0
    const reading = async (): Promise<void> => {
      const chunks = openCapture(file('bad.gz', bad), { onCutShort: () => expect.unreachable() })
      for await (const chunk of chunks) got += chunk.length
    }
    expect(await failure(reading())).toMatchObject({ code: 'CAPTURE_GZIP_BROKEN' })
    expect(got).toBeGreaterThan(100_000)
  })

  it('of several members is one text', async () => {
    const members = [text.subarray(0, 5), text.subarray(5, 5), text.subarray(5)].map((part) => gzipSync(part))
    expect((await readAll(file('members.gz', Buffer.concat(members)))).equals(text)).toBe(true)
  })

  it('hands on no chunk larger than a piece can unpack to', async () => {
    const long = gzipSync(Buffer.alloc(60 * 1024 * 1024))
    let held = 0
    let largest = 0
    for await (const chunk of openCapture(file('zeros.gz', long))) {
      held += chunk.length
      largest = Math.max(largest, chunk.length)
    }
    expect(held).toBe(60 * 1024 * 1024)
    expect(largest).toBeLessThanOrEqual(256 * 1024)
  })
})

it('can read a file again, and nothing else', async () => {
  expect(await canReadAgain(file('again', text))).toBe(true)
  for (const name of ['-', folder, join(folder, 'nowhere'), '/dev/null'])
    expect(await canReadAgain(name)).toBe(false)
})
