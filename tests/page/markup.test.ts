// Whatever a capture says stays text.

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { pngDataUri } from '../../src/page/data-uri.ts'
import { coordinate, jsonBlock, markup } from '../../src/page/markup.ts'
import { withMicro } from '../../src/page/quantity.ts'

describe('markup', () => {
  it('shows a channel named like an element as that', () => {
    expect(markup`<b>${'<script>'}</b>`.text).toBe('<b>&lt;script&gt;</b>')
  })

  it('cannot be left from within an attribute', () => {
    expect(markup`<i title="${`" onclick='x()`}">`.text).toBe('<i title="&quot; onclick=&#39;x()">')
  })

  it('shows what could turn text round or hide', () => {
    expect(markup`${'a\u202eb\u0000'}`.text).toBe('a\\u{202e}b\\u{0}')
  })

  it('takes markup as it is, joins lists, and leaves nothing out but nothing', () => {
    const items = (['a', '<', 0, null, false] as const).map((item) => markup`<li>${item}</li>`)
    expect(markup`<ul>${items}</ul>`.text).toBe(
      '<ul><li>a</li><li>&lt;</li><li>0</li><li></li><li></li></ul>',
    )
  })

  it('lets no character of any text begin an element or an entity of its own', () => {
    const everything = fc.string({ unit: 'binary', maxLength: 60 })
    fc.assert(
      fc.property(everything, (text) => {
        const made = markup`${text}`.text
        expect(made).not.toMatch(/[<>"']/)
        expect(made.replaceAll(/&(?:amp|lt|gt|quot|#39);/g, '')).not.toContain('&')
      }),
    )
  })
})

describe('data for the script', () => {
  it('cannot end its element, and comes back as it went in', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        const block = jsonBlock('x', value).text
        const inner = /^<script type="application\/json" id="x">([^]*)<\/script>$/.exec(block)?.[1] ?? ''
        expect(inner).not.toMatch(/[<>&]/)
        expect(JSON.parse(inner)).toEqual(JSON.parse(JSON.stringify(value)))
      }),
    )
  })
})

it('writes pictures as base64', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 20_000 }), (bytes) => {
      expect(pngDataUri(bytes)).toBe(`data:image/png;base64,${Buffer.from(bytes).toString('base64')}`)
    }),
    { numRuns: 30 },
  )
})

it.each([
  ['4.9209 us ± 5.8 ns', '4.9209 µs ± 5.8 ns'],
  ['5.33 us to 45.7 us', '5.33 µs to 45.7 µs'],
  ['2 uses of a bus', '2 uses of a bus'],
  ['3 unusual frames', '3 unusual frames'],
])('has the letter for micro: %s', (text, expected) => {
  expect(withMicro(text)).toBe(expected)
})

it.each([
  [1.005, '1'],
  [12.3456, '12.35'],
  [0.001, '0'],
])('writes coordinates with two decimals: %s', (value, text) => {
  expect(coordinate(value)).toBe(text)
})
