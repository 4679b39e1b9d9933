// The fast scanners, the plain reader and csv-parse must tell the same of the same rows, however the bytes are cut.

import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bytesOf, cutAt, cutEvery, readBody, readCsv, type Row } from './csv-collect.ts'

const seed = { seed: 20, numRuns: 300 }

/** One kind of table: what is written, and how the third opinion reads its time. */
interface Table {
  text: string
  timed: boolean
  decimals: number
}

const newline = fc.constantFrom('\n', '\r\n')
const gap = fc.constantFrom(',', ', ', ';', '\t')
/** Mostly plain bits, so that the fast scanners run; now and then something that they hand over. */
const cell = fc.oneof(
  { weight: 200, arbitrary: fc.constantFrom('0', '1') },
  { weight: 1, arbitrary: fc.constantFrom('X', 'z', '', 'high', 'low', ' 1', '0 ', '1.0') },
)
const interlude = fc.oneof(
  { weight: 30, arbitrary: fc.constant('') },
  { weight: 1, arbitrary: fc.constantFrom('\n', '  \n', '# a comment\n', '\r\n') },
)
const numbers = fc.record({
  timed: fc.boolean(),
  decimals: fc.constantFrom(0, 3, 6, 7, 9, 12),
  channels: fc.integer({ min: 1, max: 9 }),
  // around the places where a time grows a digit, or the digits carry that the fast scanner compares as a block
  start: fc
    .tuple(fc.constantFrom(0, 0, 1e4, 1e8, 1e9, 7e9, 1e12), fc.integer({ min: -5000, max: 5000 }))
    .map(([place, offset]) => place + offset),
  mark: fc.boolean(),
  lastNewline: fc.boolean(),
})

const table = fc
  .tuple(numbers, newline, gap, fc.nat(), fc.integer({ min: 20, max: 120 }))
  .chain(([shape, end, delimiter, salt, count]) =>
    fc
      .tuple(
        fc.array(fc.array(cell, { minLength: shape.channels, maxLength: shape.channels }), {
          minLength: count,
          maxLength: count,
        }),
        fc.array(
          fc.oneof(
            { weight: 20, arbitrary: fc.integer({ min: 1, max: 3000 }) },
            { weight: 1, arbitrary: fc.constantFrom(1e4, 1e8, 1234567) },
          ),
          { minLength: count, maxLength: count },
        ),
        fc.array(fc.nat(9), { minLength: count, maxLength: count }),
        fc.array(interlude, { minLength: count, maxLength: count }),
      )
      .map(([rows, steps, repeats, interludes]): Table => {
        const names = Array.from({ length: shape.channels }, (_, n) => `ch${n}`)
        let text = shape.mark ? '\u00ef\u00bb\u00bf' : ''
        text += (shape.timed ? ['Time [s]', ...names] : names).join(delimiter) + end
        // ticks are 1 ns at least, and the model below knows no coarser ones
        const ticksPerStep = 10 ** (shape.decimals === 0 ? 0 : Math.max(0, 9 - shape.decimals))
        let time = Math.abs(shape.start) * ticksPerStep < 2 ** 50 ? shape.start : shape.start % 5000
        for (const [n, row] of rows.entries()) {
          // Long runs of rows that repeat the one above are what the scanners pass over.
          const copies = 1 + repeats[n]! * (salt % 3)
          for (let copy = 0; copy < copies; copy++, time += copy === 0 ? steps[n]! : 1 + (steps[n]! % 3000)) {
            const cells = shape.timed ? [written(time, shape.decimals, (salt + n) % 7 === 0), ...row] : row
            // A row without any value is a blank line, and one cell of nothing is no cell.
            const filled = cells.every((value) => value.trim() === '') ? cells.map(() => '0') : cells
            text += filled.join(delimiter) + end
          }
          text += interludes[n]!
        }
        return {
          text: shape.lastNewline ? text : text.replace(/\s+$/, '').replace(/[,;\t]+$/, (cut) => cut + '1'),
          timed: shape.timed,
          decimals: shape.decimals,
        }
      }),
  )

function written(time: number, decimals: number, extraZeros: boolean): string {
  if (decimals === 0) return String(time)
  const digits = String(Math.abs(time)).padStart(decimals + 1, '0')
  const text = `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}${extraZeros ? '00' : ''}`
  return time < 0 ? `-${text}` : text
}

/** The third opinion: csv-parse for the cells, BigInt for the time, nothing shared with the reader. */
function byCsvParse({ text, timed, decimals }: Table): Row[] {
  const delimiter = [',', ';', '\t'].find((mark) => /[,;\t]/.exec(text)?.[0] === mark) ?? ','
  const records = parse(text.replace(/^\u00ef\u00bb\u00bf/, ''), {
    delimiter,
    trim: true,
    relax_column_count: true,
    skip_empty_lines: true,
    comment: '#',
    // else the first newline decides for all, and a comment would swallow the row below it
    record_delimiter: ['\r\n', '\n'],
  })
  const tickDecimals = decimals === 0 ? 0 : Math.max(9, decimals)
  const rows: Row[] = []
  const levels = new Map<number, number>()
  let sample = 0
  for (const record of records.slice(1)) {
    const cells = timed ? record.slice(1) : record
    if (record.every((value) => value === '')) continue
    const [whole = '0', fraction = ''] = (record[0] ?? '').split('.')
    const tick = timed
      ? Number(BigInt(whole.replace('-', '') + fraction.padEnd(tickDecimals, '0').slice(0, tickDecimals))) *
        (whole.startsWith('-') ? -1 : 1)
      : sample
    for (const [channel, value] of cells.entries()) {
      if (value === '') continue
      const level = /^(?:1|1\.0|high)$/.test(value) ? 1 : /^(?:0|low)$/.test(value) ? 0 : 2
      if (level === (levels.get(channel) ?? 2)) continue
      levels.set(channel, level)
      rows.push([tick + 0, channel, level])
    }
    sample++
  }
  return rows
}

const LF = 0x0a
const inOne = (body: Uint8Array) => [body.slice()]

/** What the head already refuses is the same error for both. */
function tried<T>(read: () => T): T | Error {
  try {
    return read()
  } catch (error) {
    return error as Error
  }
}

describe('generated tables', () => {
  it('give the same transitions by the fast scanners, the plain reader and csv-parse', () => {
    let timed = 0
    fc.assert(
      fc.property(table, (given) => {
        const bytes = bytesOf(given.text)
        const plain = readBody(bytes, inOne, false)
        const fast = readBody(bytes, inOne, true)
        expect(plain.error).toBeUndefined()
        expect(fast).toEqual(plain)
        expect(fast.rows).toEqual(byCsvParse(given))
        if (given.timed) timed++
      }),
      seed,
    )
    expect(timed).toBeGreaterThan(seed.numRuns / 4)
    expect(timed).toBeLessThan((seed.numRuns * 3) / 4)
  })

  it('give the same rows and the same error with a byte changed', () => {
    let errors = 0
    fc.assert(
      fc.property(table, fc.nat(), fc.constantFrom(...'019.,-\n x;'), (given, place, byte) => {
        const bytes = bytesOf(given.text)
        const head = bytes.indexOf(LF) + 1
        bytes[head + (place % (bytes.length - head))] = byte.charCodeAt(0)
        const plain = tried(() => readBody(bytes, inOne, false))
        const fast = tried(() => readBody(bytes, inOne, true))
        expect(fast).toEqual(plain)
        if (plain instanceof Error || plain.error) errors++
      }),
      seed,
    )
    expect(errors).toBeGreaterThan(seed.numRuns / 10)
  })

  it('give the same however the bytes are cut, and one byte at a time', () => {
    fc.assert(
      fc.property(table, fc.array(fc.nat(6000), { maxLength: 12 }), (given, places) => {
        const bytes = bytesOf(given.text)
        const whole = readBody(bytes, inOne, true)
        expect(readBody(bytes, (body) => cutAt(body, places), true)).toEqual(whole)
        expect(readBody(bytes, (body) => cutEvery(body, 1), true)).toEqual(whole)
        expect(readCsv(cutAt(bytes, places))).toEqual(whole)
      }),
      { ...seed, numRuns: 100 },
    )
  })

  it('give the same when quoted', () => {
    fc.assert(
      fc.property(table, fc.array(fc.nat(9000), { maxLength: 8 }), fc.nat(60), (given, places, from) => {
        // Quotes begin at some row, perhaps below the ones the dialect is found from.
        const lines = given.text.split('\n')
        const quoted = lines.map((row, n) =>
          n <= from || row.trim() === '' || row.startsWith('#')
            ? row
            : row.replace(/[^,;\t\r]+/g, (value) => (value.trim() === '' ? value : `"${value.trim()}"`)),
        )
        const bytes = bytesOf(quoted.join('\n'))
        const read = readBody(bytes, (body) => cutAt(body, places), true)
        expect(read.error).toBeUndefined()
        expect(read.rows).toEqual(readBody(bytesOf(given.text), inOne, false).rows)
        expect(readBody(bytes, (body) => cutEvery(body, 1), true)).toEqual(read)
      }),
      { ...seed, numRuns: 60 },
    )
  })
})

describe('damaged tables', () => {
  it('give the same error at the same byte however they are cut, and never another kind of error', () => {
    let failed = 0
    fc.assert(
      fc.property(
        table,
        fc.array(fc.tuple(fc.nat(3000), fc.constantFrom(...'0123456789,;"\n\r\t .-eX#q')), {
          minLength: 1,
          maxLength: 4,
        }),
        fc.array(fc.nat(6000), { maxLength: 8 }),
        (given, damage, places) => {
          const bytes = bytesOf(given.text)
          for (const [at, mark] of damage) bytes[at % bytes.length] = mark.charCodeAt(0)
          const whole = readCsv([bytes])
          expect(readCsv(cutAt(bytes, places))).toEqual(whole)
          const plain = readBody(bytes, inOne, false)
          expect(readBody(bytes, (body) => cutAt(body, places), true)).toEqual(plain)
          expect(readBody(bytes, (body) => cutEvery(body, 1), true)).toEqual(plain)
          if (whole.error) failed++
        },
      ),
      { ...seed, numRuns: 200 },
    )
    expect(failed).toBeGreaterThan(20)
  })

  it('of any bytes give a result or an error of ours', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), (bytes) => {
        // readCsv lets any other error through
        expect(readCsv([bytes])).toBeDefined()
      }),
      { ...seed, numRuns: 500 },
    )
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...'01,;\n\r\t "#Xab.-eE+[]():'), { maxLength: 300 }), (marks) => {
        expect(readCsv(marks.join(''))).toBeDefined()
      }),
      { ...seed, numRuns: 1000 },
    )
  })
})

describe('times of any length', () => {
  it('are read alike near the end of a chunk and far from it', () => {
    const zeros = (count: number): string => '0'.repeat(count)
    for (let lead = 0; lead < 60; lead++) {
      const rows = Array.from({ length: 8 }, (_, n) => {
        const whole = `${zeros(n === 3 ? lead : 0)}${n}`
        const fraction = n === 5 ? `.5${zeros(lead)}` : '.5'
        return `${whole}${fraction},${n & 1},${n & 1}\n`
      })
      const bytes = bytesOf(`Time [s],A,B\n${rows.join('')}`)
      const plain = readBody(bytes, inOne, false)
      expect(plain.error).toBeUndefined()
      expect(plain.extent?.lastTick).toBe(7_500_000_000)
      for (let cut = 0; cut <= bytes.length; cut += 3) {
        expect(readBody(bytes, (body) => cutAt(body, [cut]), true)).toEqual(plain)
      }
    }
  })
})

describe('a run of rows with the same levels', () => {
  // times whose last eight digits carry in the run, or just do not, and one that has no digits before them
  const starts = [12_345_678, 99_999_400, 999_999_400, 7_000_000_000, 2_147_483_000]
  const times: ((ns: number) => string)[] = [
    String,
    (ns) => (ns / 1e9).toFixed(9),
    (ns) => (ns / 1e3).toFixed(3),
  ]

  it.each([1, 6, 13])('of %i channels is read alike with any byte of one of them changed', (channels) => {
    const levels = Array.from({ length: channels }, (_, n) => (n & 1) ^ 1).join(',')
    const names = levels.replaceAll(/\d/g, 'D')
    const tables = times.flatMap((time) =>
      starts.map((start) => Array.from({ length: 22 }, (_, n) => `${time(start + 41 * n)},${levels}\n`)),
    )
    for (const rows of tables) {
      const text = `Time [s],${names}\n${rows.join('')}`
      // far enough from the end for the scanner to be the one that reads it
      const from = text.length - rows.slice(-12).join('').length
      // the same time twice is told of
      const twice = bytesOf(text.slice(0, from) + rows[9] + text.slice(from))
      const repeated = readBody(twice, inOne, true)
      expect(repeated).toEqual(readBody(twice, inOne, false))
      expect(repeated.notices.map(({ code }) => code)).toContain('CSV_TIME_REPEATED')
      for (let at = from; at < from + rows[10]!.length; at++) {
        for (const byte of ['0', '9', 'x', '\n']) {
          const bytes = bytesOf(text.slice(0, at) + byte + text.slice(at + 1))
          expect(readBody(bytes, inOne, true)).toEqual(readBody(bytes, inOne, false))
        }
      }
    }
  })
})

describe('long files', () => {
  const rows = Array.from({ length: 30_000 }, (_, n) => `${n * 41},${n & 1},${(n >> 3) & 1}\n`).join('')
  const text = `Time [ns],A,B\n${rows}`

  it('give the same whatever the chunks, below and above the head', () => {
    const bytes = bytesOf(text)
    const whole = readCsv([bytes])
    expect(whole.rows).toHaveLength(30_000 + 3750)
    for (const length of [1000, 65_535, 65_536, 65_537, 100_000]) {
      expect(readCsv(cutEvery(bytes, length))).toEqual(whole)
    }
  })

  it('report the byte of an error far below the head', () => {
    const broken = `${text}1230001,1,q\n1230042,0,0\n`
    const at = broken.indexOf('q')
    for (const length of [7, 4096, broken.length]) {
      expect(readCsv(cutEvery(bytesOf(broken), length)).error).toMatchObject({
        code: 'CSV_LEVEL_MALFORMED',
        byte: at,
      })
    }
  })

  it('hand over to csv-parse where quotes begin far below the head', () => {
    const quoted = `${text}1230001,1,"1"\n"1230042",0,0\n`
    const read = readCsv(cutEvery(bytesOf(quoted), 5000))
    expect(read.error).toBeUndefined()
    expect(read.extent?.lastTick).toBe(1_230_042)
  })
})
