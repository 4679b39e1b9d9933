// Byte offset → what an editor shows. The oracle decodes and splits the whole text.

import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { TextPositionFinder, textStartAfter, type TextPosition } from '../../src/capture/text-position.ts'

const bytesOf = (text: string): Uint8Array => new Uint8Array(Buffer.from(text))

function find(chunks: Iterable<Uint8Array>, byte: number): TextPosition {
  const finder = new TextPositionFinder(byte)
  for (const chunk of chunks) if (finder.write(chunk)) break
  return finder.end()
}

function cut(bytes: Uint8Array, sizes: readonly number[]): Uint8Array[] {
  const chunks: Uint8Array[] = []
  for (let at = 0, n = 0; at < bytes.length; n++) {
    const end = at + Math.max(1, sizes[n % sizes.length] ?? 1)
    chunks.push(bytes.slice(at, end))
    at = end
  }
  return chunks
}

describe('the place', () => {
  test.each([
    ['the first byte', 'ab\ncd', 0, { line: 1, column: 1, excerpt: 'ab', excerptColumn: 0 }],
    ['mid-line', 'ab\ncd\nef', 4, { line: 2, column: 2, excerpt: 'cd', excerptColumn: 1 }],
    ['the line end itself', 'ab\ncd\n', 2, { line: 1, column: 3, excerpt: 'ab', excerptColumn: 2 }],
    ['CRLF', 'ab\r\ncd\r\nef', 5, { line: 2, column: 2, excerpt: 'cd', excerptColumn: 1 }],
    ['an empty line', 'ab\n\ncd', 3, { line: 2, column: 1, excerpt: '', excerptColumn: 0 }],
    ['the very end', 'ab\ncd', 5, { line: 2, column: 3, excerpt: 'cd', excerptColumn: 2 }],
    ['the very end after a newline', 'ab\ncd\n', 6, { line: 3, column: 1, excerpt: '', excerptColumn: 0 }],
    ['an empty text', '', 0, { line: 1, column: 1, excerpt: '', excerptColumn: 0 }],
    [
      'after letters of two bytes',
      '\u00e9\u00e9\n\u00fc,\u00fcx',
      10,
      { line: 2, column: 4, excerpt: '\u00fc,\u00fcx', excerptColumn: 3 },
    ],
    [
      'after a letter of four bytes',
      '\ud83d\udd34 x',
      5,
      { line: 1, column: 3, excerpt: '\ud83d\udd34 x', excerptColumn: 3 },
    ],
  ])('%s', (_, text, byte, expected) => {
    expect(find([bytesOf(text)], byte)).toEqual(expected)
  })

  it('is the same however the bytes are cut', () => {
    const texts = fc.array(
      fc.constantFrom('a', '0,1', '\n', '\r\n', '\u00fc', '\ud83d\udd34', '\t', 'x'.repeat(50)),
      { maxLength: 60 },
    )
    fc.assert(
      fc.property(
        texts,
        fc.nat(),
        fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 1 }),
        (parts, nth, sizes) => {
          const bytes = bytesOf(parts.join(''))
          const byte = nth % (bytes.length + 1)
          const whole = find([bytes], byte)
          expect(find(cut(bytes, sizes), byte)).toEqual(whole)
          expect(find(cut(bytes, [1]), byte)).toEqual(whole)
        },
      ),
      { numRuns: 500 },
    )
  })

  it('is where an editor has it', () => {
    const texts = fc.array(fc.constantFrom('a', '0,1', '\n', '\r\n', '\u00fc', '\ud83d\udd34'), {
      maxLength: 40,
    })
    fc.assert(
      fc.property(texts, fc.nat(), (parts, nth) => {
        const before = parts.slice(0, nth % (parts.length + 1)).join('')
        const lines = before.split('\n')
        const { line, column } = find([bytesOf(parts.join(''))], Buffer.byteLength(before))
        expect([line, column]).toEqual([lines.length, [...lines.at(-1)!].length + 1])
      }),
      { numRuns: 500 },
    )
  })
})

describe('a long line', () => {
  const text = `short\n${'a'.repeat(1000)}X${'b'.repeat(100_000)}\nend`

  it('is cut to a window around the place, the mark on its character', () => {
    const at = find(cut(bytesOf(text), [7]), 6 + 1000)
    expect(at).toMatchObject({ line: 2, column: 1001 })
    expect(at.excerpt).toMatch(/^a+Xb+$/)
    expect(at.excerpt.length).toBe(60)
    expect(at.excerpt[at.excerptColumn]).toBe('X')
  })

  it('is not read to its end', () => {
    const finder = new TextPositionFinder(6 + 1000)
    const chunks = cut(bytesOf(text), [500])
    const needed = chunks.findIndex((chunk) => finder.write(chunk))
    expect(needed).toBe(2)
  })

  it('of letters of many bytes is not cut within one', () => {
    const wide = bytesOf('\u8d64'.repeat(300))
    for (let letter = 0; letter < 300; letter++) {
      const { excerpt, column, excerptColumn } = find([wide], 3 * letter)
      expect(excerpt).toMatch(/^\u8d64+$/)
      expect(column).toBe(letter + 1)
      expect(excerptColumn).toBeLessThanOrEqual(letter)
    }
  })
})

it('counts on from a known place', () => {
  const bytes = bytesOf('ab\nc\u00fcd\nef')
  for (let split = 0; split <= bytes.length; split++) {
    const start = textStartAfter({ byte: 0, line: 1, column: 1 }, bytes.subarray(0, split))
    expect(start.byte).toBe(split)
    for (let byte = split; byte <= bytes.length; byte++) {
      const finder = new TextPositionFinder(byte, start)
      finder.write(bytes.subarray(split))
      const { line, column } = find([bytes], byte)
      expect(finder.end()).toMatchObject({ line, column })
    }
  }
})
