import { readdirSync, readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { parseAdapter } from '../../src/adapter/adapter-description.ts'
import { JsonOutOfOrder, JsonPlaces } from '../../src/adapter/json-places.ts'
import { MalformedCaptureError } from '../../src/errors.ts'

const FIXTURES = new URL('../../fixtures/adapter/', import.meta.url)

function errorOf(text: string): MalformedCaptureError {
  try {
    parseAdapter(text, 'my.json')
  } catch (error) {
    if (error instanceof MalformedCaptureError) return error
    throw error
  }
  throw new Error('no error')
}

describe('shipped descriptions', () => {
  const files = readdirSync(FIXTURES).filter((name) => name.endsWith('.json'))

  test.each(files)('%s is accepted and comes out as it went in', (name) => {
    const text = readFileSync(new URL(name, FIXTURES), 'utf8')
    expect(parseAdapter(text, name)).toEqual(JSON.parse(text))
  })

  it('state the PLL of the RP2040 data sheet, section 2.18', () => {
    const { pll, source } = parseAdapter(readFileSync(new URL('pll-rp2040.json', FIXTURES), 'utf8'))
    // typed from the data sheet's text on the PLL, from memory: reference 12 MHz, feedback 16 to 320, VCO 750 to
    // 1600 MHz, two post-dividers of 1 to 7
    expect(pll).toMatchObject({
      referenceHz: 12e6,
      multiplier: { min: 16, max: 320 },
      vcoHz: { min: 750e6, max: 1600e6 },
      postDividerStages: [
        { min: 1, max: 7 },
        { min: 1, max: 7 },
      ],
    })
    expect(source).toMatch(/section 2\.18/)
  })
})

describe('parseAdapter', () => {
  it('asks for nothing', () => {
    expect(parseAdapter('{}')).toEqual({})
  })

  it.each([
    {
      what: 'a value of the wrong kind',
      text: '{\n  "clockHz": 1,\n  "ramBytes": "much"\n}',
      line: 3,
      names: 'ramBytes',
    },
    { what: 'a negative', text: '{\n\n"setupSeconds":\n-1}', line: 4, names: 'setupSeconds' },
    { what: 'a nested field', text: '{"sync":\n{"count":\n"some"}}', line: 3, names: 'sync.count' },
    {
      what: 'an entry of a list',
      text: '{"pll": {"referenceHz": 1, "multiplier": {"min": 1, "max": 2},\n"vcoHz": {"min": 1, "max": 2},\n"postDividers": [1,\n0]}}',
      line: 4,
      names: 'pll.postDividers[1]',
    },
    {
      what: 'a range the wrong way round',
      text: '{"pll": {"referenceHz": 1,\n"multiplier": {"min": 3,\n"max": 2},\n"vcoHz": {"min": 1, "max": 2}}}',
      line: 3,
      names: 'pll.multiplier.max',
    },
    {
      what: 'a missing field, at the object that lacks it',
      text: '{\n"pll":\n{"referenceHz": 1}}',
      line: 3,
      names: 'pll.multiplier',
    },
    {
      what: 'a clock given twice over',
      text: '{"clockHz": 1,\n"pll": {"referenceHz": 1, "multiplier": {"min": 1, "max": 2}, "vcoHz": {"min": 1, "max": 2}}}',
      line: 2,
      names: 'pll',
    },
    { what: 'an unknown field', text: '{\r\n"ramBytes": 1,\r\n"colour": 1\r\n}', line: 3, names: 'colour' },
    {
      what: 'a full scale above the supply',
      text: '{"output": {"supplyVolts": 3.3,\n"fullScaleVolts": 5}}',
      line: 2,
      names: 'output.fullScaleVolts',
    },
    { what: 'a list in place of the whole', text: '\n\n[]', line: 3, names: 'the description' },
    { what: 'a key given twice', text: '{"ramBytes": 1,\n"ramBytes": 2}', line: 2, names: '"ramBytes"' },
    { what: 'a trailing comma', text: '{"ramBytes": 1,\n}', line: 2, names: 'not JSON' },
    { what: 'an early end', text: '{"ramBytes":\n', line: 2, names: 'the end of the text' },
    { what: 'text after the end', text: '{}\n{}', line: 2, names: 'not JSON' },
    { what: 'nothing', text: '', line: 1, names: 'not JSON' },
  ])('names $what and its line', ({ text, line, names }) => {
    const error = errorOf(text)
    expect(error.code).toBe('ADAPTER_MALFORMED')
    expect(error.at).toEqual({ line, file: 'my.json' })
    expect(error.message).toContain(`line ${line}: `)
    expect(error.message).toContain(names)
  })

  it('tells where a misplaced or misspelt field belongs', () => {
    expect(errorOf('{"supplyVolts": 3.3}').hint).toBe('write output.supplyVolts')
    expect(errorOf('{"RAMbytes": 3}').hint).toBe('write ramBytes')
    expect(errorOf('{"sync": {"edges": 1}}').hint).toContain('holdOffSeconds')
  })

  it('turns any text into a description or one of our errors', () => {
    fc.assert(
      fc.property(
        fc.oneof(fc.json(), fc.string(), fc.string({ unit: fc.constantFrom(...'{}[]":,1.e-\\ u"') })),
        (text) => {
          try {
            parseAdapter(text)
          } catch (error) {
            expect(error).toBeInstanceOf(MalformedCaptureError)
          }
        },
      ),
    )
  })
})

describe('JSON places', () => {
  it('accept and refuse what JSON.parse does', () => {
    const texts = fc.oneof(
      fc.json(),
      fc.string(),
      fc.string({ unit: fc.constantFrom(...'{}[]":,01.eE+-\\ntrue \t\n') }),
    )
    let refused = 0
    fc.assert(
      fc.property(texts, (text) => {
        let known = true
        try {
          JSON.parse(text)
        } catch {
          known = false
          refused++
        }
        try {
          new JsonPlaces(text)
          expect(known).toBe(true)
        } catch (error) {
          // a key given twice is the one thing that JSON.parse lets pass
          if (!(error instanceof JsonOutOfOrder)) throw error
          if (!error.message.includes('second time')) expect(known).toBe(false)
        }
      }),
      { numRuns: 500 },
    )
    expect(refused).toBeGreaterThan(50)
  })

  it('find every value of a printed object on the line it was printed on', () => {
    const value = { a: 1, b: [true, null, { c: 'x"y' }], d: { e: -1.5e-3, f: [] } }
    const text = JSON.stringify(value, null, 2)
    const places = new JsonPlaces(text)
    const textLines = text.split('\n')
    expect(textLines[places.lineOf(['b', 1]) - 1]!.trim()).toBe('null,')
    expect(textLines[places.lineOf(['b', 2, 'c']) - 1]!.trim()).toBe('"c": "x\\"y"')
    expect(textLines[places.lineOf(['d', 'e']) - 1]!.trim()).toBe('"e": -0.0015,')
    expect(places.lineOf(['d', 'missing', 'deeper'])).toBe(places.lineOf(['d']))
    expect(places.lineOf([])).toBe(1)
  })
})
