import fc from 'fast-check'
import { expect, it } from 'vitest'
import { bytesOf, collectChunks, cutAt, cutEvery, type Collected } from './vcd-collect.ts'

const CODES = [
  '!',
  '"',
  '#',
  'b',
  '0',
  'ab',
  '$%',
  'n12',
  'aaaai',
  '12345678',
  '123456789',
  'Top.Counter.High',
]
const VECTOR_CODE = 'v~'
const WIDE_CODE = 'w'

const HEADER = [
  'META samplerate: 24000000\n$timescale\t244 ns $end\r\n',
  '$comment at 24 MHz $end $scope module top $end\n',
  ...CODES.map((code, n) => `  $var wire 1 ${code} w${n} $end\n`),
  `$var wire 5 ${VECTOR_CODE} \\v.x [4:0] $end $var reg 40 ${WIDE_CODE} wide $end $var real 64 r r $end\n`,
  '$upscope $end $odd 1 2 3 $end $enddefinitions $end\n',
].join('')

const space = fc.constantFrom('\n', '\r\n', ' ', '\n\n', '\t', ' \n  ')
const digits = (alphabet: string, maxLength: number) =>
  fc.string({ unit: fc.constantFrom(...alphabet), minLength: 1, maxLength })

const scalarChange = fc
  .tuple(
    fc.constantFrom(...'0101010101xzXZuwlh-'),
    fc.constantFrom('', '', '', ' '),
    fc.constantFrom(...CODES),
  )
  .map((parts) => parts.join(''))
const vectorChange = fc
  .tuple(fc.constantFrom('b', 'b', 'B', '0b'), digits('01010101xz', 8), fc.constantFrom(' ', '  '))
  .map(([start, value, gap]) => `${start}${value}${gap}${VECTOR_CODE}`)
const oddity = fc.constantFrom(
  '1zz',
  'b1 zz',
  `b${'10'.repeat(20)} ${WIDE_CODE}`,
  'r1.5 r',
  'sIDLE r',
  'pD 6 0 !',
  'pUNH 666 000 v~',
  '$comment #1 0! $en $end',
  '$dumpoff x! $end',
  '$end',
  '$attrbegin 0! $end',
)

/** Never a smaller time: steps are put together when the text is made. */
type Part = { step: number; fraction: string } | { text: string }
const part: fc.Arbitrary<Part> = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({ step: fc.nat(3e6), fraction: fc.constantFrom('', '', '', '.0', '.25') }),
  },
  { weight: 8, arbitrary: fc.record({ text: scalarChange }) },
  { weight: 4, arbitrary: fc.record({ text: vectorChange }) },
  { weight: 1, arbitrary: fc.record({ text: oddity }) },
)

function textOf(parts: [Part, string][]): string {
  let time = 0
  return parts
    .map(([one, gap]) => {
      if ('text' in one) return one.text + gap
      time += one.step + 1
      return `#${time}${one.fraction}${gap}`
    })
    .join('')
}

const body = fc.array(fc.tuple(part, space), { maxLength: 60, size: 'max' }).map(textOf)
const cuts = fc.array(fc.nat(2000), { maxLength: 12 })

/** Pieces that lead deep into the grammar when put side by side. */
const WORDS = [' ', '\n', '\r', '\\', '\xc2\xb5', '\xff', '\0'].concat(
  '$var $end $scope wire 1 ! a # #5 0! b1 $timescale ns $enddefinitions [3:0] $comment $dumpvars p r'.split(
    ' ',
  ),
)

/** The same, whole or cut; and what it is, so that a test can tell that it saw enough of it. */
function sameHoweverCut(text: string, places: readonly number[]): Collected {
  const bytes = bytesOf(text)
  const whole = collectChunks([bytes.slice()])
  expect(collectChunks(cutAt(bytes, places))).toEqual(whole)
  expect(collectChunks(cutEvery(bytes, 1))).toEqual(whole)
  return whole
}

it('yields the same transitions, notices and errors however the bytes are cut', () => {
  let rows = 0
  let notices = 0
  fc.assert(
    fc.property(body, cuts, fc.nat(3), (text, places, dropped) => {
      const whole = sameHoweverCut((HEADER + text).slice(0, HEADER.length + text.length - dropped), places)
      rows += whole.rows.length
      notices += whole.notices.length
    }),
    { numRuns: 300 },
  )
  expect(rows).toBeGreaterThan(2000)
  expect(notices).toBeGreaterThan(600)
})

it('yields the same of damaged text: one byte changed, taken out or put in', () => {
  let errors = 0
  const damage = fc.tuple(fc.nat(4000), fc.constantFrom(...'#$b01 \n!x\xff\x00p.'), fc.constantFrom(0, 1))
  fc.assert(
    fc.property(body, cuts, damage, (text, places, [place, put, taken]) => {
      const sound = HEADER + text
      const at = place % sound.length
      const whole = sameHoweverCut(sound.slice(0, at) + put + sound.slice(at + taken), places)
      if (whole.error) {
        errors++
        expect(whole.error.byte).toBeLessThanOrEqual(sound.length + 1)
        expect(whole.error.hint ?? 'none needed').not.toBe('')
      }
    }),
    { numRuns: 400 },
  )
  expect(errors).toBeGreaterThan(20)
})

it('answers any bytes with a result or an error of its own', () => {
  const words = fc.constantFrom(...WORDS)
  const wordy = fc.array(words, { maxLength: 60 }).map((list) => bytesOf(list.join('')))
  const spaced = fc.array(words, { maxLength: 60 }).map((list) => bytesOf(list.join(' ')))
  const raw = fc.uint8Array({ maxLength: 300 })
  fc.assert(
    fc.property(fc.oneof(wordy, spaced, raw), cuts, (bytes, places) => {
      // Anything but a CaptureError is thrown on by the collector.
      const whole = collectChunks([bytes.slice()])
      expect(collectChunks(cutAt(bytes, places))).toEqual(whole)
      expect(collectChunks(cutEvery(bytes, 1))).toEqual(whole)
      expect(whole.error === undefined).toBe(whole.extent !== undefined)
    }),
    { numRuns: 600 },
  )
})
