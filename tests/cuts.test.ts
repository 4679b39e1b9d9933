// The same bytes in chunks of any size give the same, and a capture cut at any byte gives what there is of it, and says so.

import { Readable } from 'node:stream'
import { gunzipSync, gzipSync } from 'node:zlib'
import { describe, expect, it, test } from 'vitest'
import { CaptureError } from '../src/errors.ts'
import { CaptureMeasurer } from '../src/measure.ts'
import type { Notice } from '../src/notices.ts'
import { openCapture } from '../src/open-capture.ts'
import { identifyReport } from '../src/report/identify-report.ts'
import { readCsv } from './capture/csv-collect.ts'
import { bytesOf, collect } from './capture/vcd-collect.ts'
import { smallCapture } from './support/small-captures.ts'

/** What identify says of a capture that comes in chunks, or the error, as data. */
function identified(bytes: Uint8Array, size: number): unknown {
  try {
    const measurer = new CaptureMeasurer()
    for (let at = 0; at < bytes.length; at += size) measurer.write(bytes.slice(at, at + size))
    return identifyReport(measurer.end(), 'capture')
  } catch (error) {
    if (!(error instanceof CaptureError)) throw error
    return { code: error.code, message: error.message, at: error.at }
  }
}

/** Bytes one by one, but for large captures, where a few at a time must do. */
const sizesFor = ({ length }: Uint8Array): number[] => [length < 500_000 ? 1 : 31, 67, 4093, 65_537]

const csv = { kind: 'csv' } as const
const captures: Readonly<Record<string, Uint8Array>> = {
  VCD: smallCapture('cga80', { picture: 'rectangle', frames: 1.3 }),
  'CSV of changes': smallCapture('mda', {
    picture: 'rectangle',
    frames: 1.3,
    form: { ...csv, rows: 'per-change', time: 'nanoseconds' },
  }),
  'CSV of samples': smallCapture('cga80', {
    picture: 'rectangle',
    frames: 1.1,
    sampleRateHz: 8e6,
    form: { ...csv, rows: 'per-sample' },
  }),
}

describe('chunks of any size give the same answer', () => {
  test.each(Object.keys(captures))(
    '%s',
    (name) => {
      const bytes = captures[name]!
      const whole = identified(bytes, bytes.length)
      expect(whole).toMatchObject({ format: 'rastertap.identify/1' })
      for (const size of sizesFor(bytes)) expect(identified(bytes, size), `chunks of ${size}`).toEqual(whole)
    },
    60_000,
  )

  test.each(Object.keys(captures))(
    '%s, damaged far below its head: the same error at the same place',
    (name) => {
      const bytes = captures[name]!.slice()
      const at = Math.floor(bytes.length * 0.7)
      bytes.set(bytesOf('\n@q@\n'), at)
      const whole = identified(bytes, bytes.length)
      expect(whole).toMatchObject({
        code: name.startsWith('VCD') ? 'VCD_TOKEN_UNEXPECTED' : expect.stringMatching(/^CSV_/),
      })
      for (const size of sizesFor(bytes)) expect(identified(bytes, size), `chunks of ${size}`).toEqual(whole)
    },
    60_000,
  )
})

describe('a small capture cut at every byte', () => {
  const header =
    '$timescale 1 ns $end\n$var wire 1 ! a $end\n$var wire 1 n1 b $end\n$var wire 3 v% v $end\n$enddefinitions $end\n'
  const body =
    '#0\n0!\n1n1\nb010 v%\n#40\n1!\n$comment five $end\n#95\n0!\nb111 v%\nr1.5 v%\n#100\n0n1\n#115\n'

  /** Whole changes, times and sections and nothing else; of a real, any code is a whole one. */
  const WHOLE = /^(?:\s+(?:#\d+|[01]!|[01]n1|b\d+ v%|r[\d.]+ \S+|\$comment [a-z]+ \$end|\$end(?=\s|$)))*\s*$/

  it('as a VCD: no error below the header, and never a change that is not there', () => {
    const whole = collect(header + body)
    expect(whole.error).toBeUndefined()
    const bodyAt = header.indexOf('$enddefinitions') + '$enddefinitions'.length
    for (let cut = 0; cut <= header.length + body.length; cut++) {
      const text = (header + body).slice(0, cut)
      const part = collect(text)
      if (cut < bodyAt) {
        expect(part.error?.code, text).toMatch(/^(?:CAPTURE_EMPTY|VCD_HEADER_UNTERMINATED)$/)
        continue
      }
      expect(part.error, text).toBeUndefined()
      expect(part.rows, text).toEqual(whole.rows.slice(0, part.rows.length))
      // half a time may look like a whole one, unless it runs backward
      const [before, last] = text.match(/#\d+/g)?.slice(-2) ?? []
      const isBackward =
        last !== undefined && text.endsWith(last) && Number(last.slice(1)) < Number(before!.slice(1))
      const isTold = part.notices.some(({ code }) => code === 'VCD_CUT_SHORT')
      expect(isTold, JSON.stringify(text.slice(-20))).toBe(!WHOLE.test(text.slice(bodyAt)) || isBackward)
    }
  })

  it('as a CSV: rows that are whole, and a notice for one that is not', () => {
    const head = 'Time [ns],A,B\n'
    const rows = ['0,0,1\n', '40,1,1\n', '95,0,1\n', '100,0,0\n', '115,1,1\n']
    const text = head + rows.join('')
    const whole = readCsv(text)
    for (let cut = head.length + rows[0]!.length; cut <= text.length; cut++) {
      const part = readCsv(text.slice(0, cut))
      expect(part.error, text.slice(0, cut)).toBeUndefined()
      const lastRow = text.slice(0, cut).split('\n').at(-1)!
      const cells = lastRow.split(',')
      if (lastRow !== '' && cells.length < 3) {
        expect(
          part.notices.map(({ code }) => code),
          lastRow,
        ).toEqual(['CSV_ROW_CUT_SHORT'])
      } else if (cells.length === 3 && cells[2] === '') {
        expect(
          part.notices.map(({ code }) => code),
          lastRow,
        ).toEqual(['CSV_CELL_EMPTY'])
      } else expect(part.notices, lastRow).toEqual([])
      expect(part.rows).toEqual(whole.rows.slice(0, part.rows.length))
    }
    for (let cut = 0; cut < head.length + 1; cut++) {
      expect(readCsv(text.slice(0, cut)).error?.code, text.slice(0, cut)).toMatch(/^(?:CAPTURE_EMPTY|CSV_N)/)
    }
  })

  it('packed: what unpacks, with a notice', async () => {
    const text = Buffer.from(header + body.repeat(3))
    const packed = gzipSync(text)
    for (let cut = 2; cut < packed.length; cut++) {
      const notices: Notice[] = []
      const got: Uint8Array[] = []
      let error: unknown
      try {
        const stdin = Readable.from([packed.subarray(0, cut)], { objectMode: false })
        for await (const chunk of openCapture('-', { stdin, onCutShort: (notice) => notices.push(notice) }))
          got.push(chunk)
      } catch (thrown) {
        error = thrown
      }
      const unpacked = Buffer.concat(got)
      expect(unpacked.equals(text.subarray(0, unpacked.length))).toBe(true)
      if (error) expect([(error as CaptureError).code, unpacked.length]).toEqual(['CAPTURE_GZIP_BROKEN', 0])
      else
        expect(notices, `cut at ${cut}`).toMatchObject([
          { code: 'CAPTURE_GZIP_CUT_SHORT', firstAtByte: unpacked.length },
        ])
    }
    expect(gunzipSync(packed).equals(text)).toBe(true)
  })
})

describe('identify of a capture cut at many bytes', () => {
  test.each(['VCD', 'CSV of changes'])(
    '%s: the scanline rate as soon as there are scanlines, and the error before',
    (name) => {
      const bytes = captures[name]!
      const whole = identified(bytes, bytes.length) as ReturnType<typeof identifyReport>
      let answers = 0
      for (let part = 1; part <= 20; part++) {
        const cut = Math.floor((bytes.length * part) / 21) + (part % 7)
        const answer = identified(bytes.slice(0, cut), cut) as ReturnType<typeof identifyReport> & {
          code?: string
        }
        if (answer.code !== undefined) {
          expect(answer.code).toMatch(/^(?:SYNC_NOT_FOUND|HSYNC_TOO_FEW_EDGES)$/)
          expect(part).toBeLessThan(4)
          continue
        }
        answers++
        const { value, uncertainty } = answer.main.hsync.frequencyHz
        const exact = whole.main.hsync.frequencyHz.value
        expect(Math.abs(value - exact), `${part} of 21`).toBeLessThan(5 * uncertainty + exact * 1e-6)
        expect(answer.capture.durationSeconds).toBeLessThanOrEqual(whole.capture.durationSeconds)
      }
      expect(answers).toBeGreaterThan(15)
    },
    60_000,
  )
})
