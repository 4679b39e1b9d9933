// Nothing that a file says may steer the terminal.

import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { escapedJson, printable } from '../../src/report/printable.ts'

// categories of the Unicode standard rather than a list: control, format (bidi, joiners, tags), separators, surrogates
const STEERS = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]/u
/** Format characters that only join or mark letters of their scripts (Arabic number signs and the like) may stay. */
const HARMLESS =
  /[\u0600-\u0605\u06dd\u070f\u0890\u0891\u08e2\u{110bd}\u{110cd}\u{13430}-\u{1343f}\u{1bca0}-\u{1bca3}\u{1d173}-\u{1d17a}]/gu

describe('printable', () => {
  test.each([
    ['\u001b[31mred', '\\u{1b}[31mred'],
    ['\u009b2J', '\\u{9b}2J'],
    ['a\nb\tc\r', 'a\\u{a}b\\u{9}c\\u{d}'],
    ['H\u202eCNYS', 'H\\u{202e}CNYS'],
    ['\u2066x\u2069', '\\u{2066}x\\u{2069}'],
    ['zero\u200bwidth', 'zero\\u{200b}width'],
    ['\ufeffTime', '\\u{feff}Time'],
    ['\u{e0041}tag', '\\u{e0041}tag'],
    ['half\ud800', 'half\\u{d800}'],
    ['\u007f', '\\u{7f}'],
  ])('shows %j as what it is', (text, shown) => {
    expect(printable(text)).toBe(shown)
  })

  test.each(['HSYNC', 'gr\u00fcn [2:0]', '\u8d64', '\ud83d\udd34 red', 'C:\\captures\\a b.vcd'])(
    'leaves %j alone',
    (text) => {
      expect(printable(text)).toBe(text)
    },
  )

  it('lets nothing through that steers, of all there is in Unicode', () => {
    const through: string[] = []
    for (let point = 0; point <= 0x10ffff; point++) {
      const char = String.fromCodePoint(point)
      const shown = printable(`a${char}b`)
      if (shown === `a${char}b` && STEERS.test(char) && !char.replaceAll(HARMLESS, '').match(/^$/))
        through.push(shown)
    }
    expect(through.map((text) => text.codePointAt(1)!.toString(16))).toEqual([])
  })
})

describe('escapedJson', () => {
  it('means the same, and holds nothing that steers but its own line ends', () => {
    fc.assert(
      fc.property(fc.jsonValue({ stringUnit: 'binary' }), (value) => {
        const text = escapedJson(value)
        expect(JSON.parse(text)).toEqual(JSON.parse(JSON.stringify(value)))
        expect(text.replaceAll('\n', '').replaceAll(HARMLESS, '')).not.toMatch(STEERS)
      }),
      { numRuns: 2000 },
    )
  })

  it('is JSON.stringify where nothing needs an escape', () => {
    const value = { name: 'gr\u00fcn', list: [1, 2.5, null, true], nested: { '\ud83d\udd34': 'x\\y"' } }
    expect(escapedJson(value)).toBe(JSON.stringify(value, null, 2))
  })
})
