import { describe, expect, it, test } from 'vitest'
import { bytesOf, collect, collectChunks, cutEvery, headerOf } from './vcd-collect.ts'

const HEAD = headerOf('a', 'b')
const START = '$timescale 1 ns $end\n'
const TAIL = '$enddefinitions $end\n#0 0!\n'
/** Marks where the bad token begins; taken out before reading. */
const HERE = '\u00a7'

interface Row {
  name: string
  text: string
  code: string
}

// The place of the error is marked in the text.
const malformed: Row[] = [
  { name: 'no byte', text: HERE, code: 'CAPTURE_EMPTY' },
  { name: 'white space only', text: `${HERE} \n\t\r\n`, code: 'CAPTURE_EMPTY' },
  { name: 'prose', text: `dear reader,\nno capture here${HERE}`, code: 'VCD_HEADER_UNTERMINATED' },
  {
    name: 'header cut between declarations',
    text: `${START}$var wire 1 ! a $end\n${HERE}`,
    code: 'VCD_HEADER_UNTERMINATED',
  },
  {
    name: 'header cut in a declaration',
    text: `${START}${HERE}$var wire 1 ! a`,
    code: 'VCD_HEADER_UNTERMINATED',
  },
  {
    name: 'comment never closed',
    text: `${START}${HERE}$comment oops\n$var wire 1 ! a\n#0 0!\n`,
    code: 'VCD_HEADER_UNTERMINATED',
  },
  { name: 'no variable', text: `${START}${HERE}$enddefinitions $end\n#0\n`, code: 'VCD_NO_CHANNELS' },
  { name: 'no variable and no $enddefinitions', text: `${START}${HERE}#0\n0!\n`, code: 'VCD_NO_CHANNELS' },
  {
    name: 'nothing but reals',
    text: `${START}$var real 64 ! r $end ${HERE}$enddefinitions $end\n#0 r1 !\n`,
    code: 'VCD_NO_CHANNELS',
  },
  {
    name: 'unit of time unknown',
    text: `$timescale ${HERE}1 fortnight $end\n$var wire 1 ! a $end ${TAIL}`,
    code: 'VCD_TIMESCALE_MALFORMED',
  },
  {
    name: 'time scale of zero',
    text: `$timescale ${HERE}0 ns $end\n$var wire 1 ! a $end ${TAIL}`,
    code: 'VCD_TIMESCALE_MALFORMED',
  },
  {
    name: 'time scale without a unit',
    text: `$timescale ${HERE}10 $end\n$var wire 1 ! a $end ${TAIL}`,
    code: 'VCD_TIMESCALE_MALFORMED',
  },
  {
    name: 'time scale not closed',
    text: `$timescale 1 ns\n${HERE}$scope module top $end $var wire 1 ! a $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'variable not closed',
    text: `${START}$var wire 1 ! a\n${HERE}$var wire 1 " b $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'variable without a name',
    text: `${START}${HERE}$var wire 1 ! $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'variable without anything',
    text: `${START}${HERE}$var $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'size in words',
    text: `${START}$var wire ${HERE}one ! a $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'size below zero',
    text: `${START}$var wire ${HERE}-1 ! a $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'size and code glued so that nobody can tell',
    text: `${START}${HERE}$var wire 10 a $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'code beyond ASCII',
    text: `${START}$var wire 1 ${HERE}\xe9 a $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'declaration without end',
    text: `${START}${HERE}$scope module${' x'.repeat(300)} $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'name without end',
    text: `${START}${HERE}$var wire 1 ! ${'n'.repeat(5000)} $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'scopes without end',
    text: `${START}${'$scope module a $end '.repeat(1024)}${HERE}$scope module a $end ${TAIL}`,
    code: 'VCD_DECLARATION_MALFORMED',
  },
  {
    name: 'code too long in the header',
    text: `${START}$var wire 1 ${HERE}${'c'.repeat(257)} a $end ${TAIL}`,
    code: 'VCD_IDENTIFIER_TOO_LONG',
  },
  {
    name: 'word among declarations',
    text: `${START}${HERE}oops $var wire 1 ! a $end ${TAIL}`,
    code: 'VCD_TOKEN_UNEXPECTED',
  },
  { name: 'word among value changes', text: `${HEAD}#0\n0!\n${HERE}oops\n`, code: 'VCD_TOKEN_UNEXPECTED' },
  { name: 'digit that is no level', text: `${HEAD}#0\n0!\n${HERE}2!\n`, code: 'VCD_TOKEN_UNEXPECTED' },
  {
    name: 'byte beyond ASCII among value changes',
    text: `${HEAD}#0\n0!\n${HERE}\xff\n`,
    code: 'VCD_TOKEN_UNEXPECTED',
  },
  {
    name: 'second header',
    text: `${HEAD}#0\n0!\n${HERE}$var wire 1 ! a $end\n`,
    code: 'VCD_TOKEN_UNEXPECTED',
  },
  {
    name: 'second end of the header',
    text: `${HEAD}#0\n0!\n${HERE}$enddefinitions $end\n`,
    code: 'VCD_TOKEN_UNEXPECTED',
  },
  { name: 'level without a code', text: `${HEAD}#0\n${HERE}1\n0!\n`, code: 'VCD_VALUE_MALFORMED' },
  {
    name: 'level without a code, CRLF',
    text: `${HEAD}#0\r\n0!\r\n${HERE}1\r\n`,
    code: 'VCD_VALUE_MALFORMED',
  },
  { name: 'vector without a code', text: `${HEAD}#0\n${HERE}b101\n0!\n`, code: 'VCD_VALUE_MALFORMED' },
  { name: 'vector with a decimal digit', text: `${HEAD}#0\n${HERE}b102 !\n`, code: 'VCD_VALUE_MALFORMED' },
  { name: 'vector without a digit', text: `${HEAD}#0\n0!\nb ${HERE}!\n`, code: 'VCD_VALUE_MALFORMED' },
  {
    name: 'code beyond ASCII in a change',
    text: `${HEAD}#0\n0!\n${HERE}1!\xe9\n`,
    code: 'VCD_VALUE_MALFORMED',
  },
  {
    name: 'delete character in a change',
    text: `${HEAD}#0\n0!\n${HERE}1abc\x7f\n`,
    code: 'VCD_VALUE_MALFORMED',
  },
  { name: 'port state unknown', text: `${HEAD}#0\n${HERE}pQ 6 0 !\n`, code: 'VCD_VALUE_MALFORMED' },
  { name: 'port strength unknown', text: `${HEAD}#0\n${HERE}pD 9 0 !\n`, code: 'VCD_VALUE_MALFORMED' },
  { name: 'port without a strength', text: `${HEAD}#0\n${HERE}pD 6\n0!\n`, code: 'VCD_VALUE_MALFORMED' },
  { name: 'real without a code', text: `${HEAD}#0\n${HERE}r1.5\n0!\n`, code: 'VCD_VALUE_MALFORMED' },
  {
    name: 'code too long in a change',
    text: `${HEAD}#0\n${HERE}1${'c'.repeat(257)}\n`,
    code: 'VCD_IDENTIFIER_TOO_LONG',
  },
  {
    name: 'code too long in a vector change',
    text: `${HEAD}#0\nb1 ${HERE}${'c'.repeat(257)}\n`,
    code: 'VCD_IDENTIFIER_TOO_LONG',
  },
  {
    name: 'no code of the header',
    text: `${HEAD}#0\n${HERE}1x\n0y\n#5\n1x\n`,
    code: 'VCD_IDENTIFIER_UNKNOWN',
  },
  { name: 'time without digits', text: `${HEAD}${HERE}#\n0!\n`, code: 'VCD_TIME_MALFORMED' },
  { name: 'time with an exponent', text: `${HEAD}#0\n${HERE}#1e3\n`, code: 'VCD_TIME_MALFORMED' },
  { name: 'time in words', text: `${HEAD}#0\n${HERE}#now\n`, code: 'VCD_TIME_MALFORMED' },
  { name: 'time with two points', text: `${HEAD}#0\n${HERE}#1.2.3\n`, code: 'VCD_TIME_MALFORMED' },
  { name: 'time with two signs', text: `${HEAD}${HERE}#--1\n`, code: 'VCD_TIME_MALFORMED' },
  { name: 'time backward', text: `${HEAD}#88120\n0!\n${HERE}#88100\n1!\n`, code: 'VCD_TIME_BACKWARD' },
  {
    name: 'time backward by a fraction',
    text: `${HEAD}#3.5\n0!\n${HERE}#3.25\n1!\n`,
    code: 'VCD_TIME_BACKWARD',
  },
  { name: 'time backward below zero', text: `${HEAD}#0\n0!\n${HERE}#-1\n1!\n`, code: 'VCD_TIME_BACKWARD' },
  {
    name: 'time beyond 2^53 - 1',
    text: `${HEAD}#0\n0!\n${HERE}#9007199254740992\n1!\n`,
    code: 'VCD_TIME_TOO_LARGE',
  },
  {
    name: 'first time beyond 2^53 - 1',
    text: `${HEAD}${HERE}#9007199254740993\n1!\n`,
    code: 'VCD_TIME_TOO_LARGE',
  },
  { name: 'time of 400 digits', text: `${HEAD}#0\n${HERE}#${'9'.repeat(400)}\n`, code: 'VCD_TIME_TOO_LARGE' },
  { name: 'time far below zero', text: `${HEAD}${HERE}#-9007199254740993\n1!\n`, code: 'VCD_TIME_TOO_LARGE' },
]

describe('malformed VCD', () => {
  test.each(malformed)('$name: $code', ({ text, code }) => {
    const byte = text.indexOf(HERE)
    expect(byte).toBeGreaterThanOrEqual(0)
    const bytes = bytesOf(text.replace(HERE, ''))
    const whole = collectChunks([bytes.slice()])
    expect(whole.error).toMatchObject({ code, byte })
    expect(whole.extent).toBeUndefined()
    expect(collectChunks(cutEvery(bytes, 1))).toEqual(whole)
    expect(collectChunks(cutEvery(bytes, 3))).toEqual(whole)
  })

  it('covers every error code of the format', () => {
    expect([...new Set(malformed.map((row) => row.code))].sort()).toEqual([
      'CAPTURE_EMPTY',
      'VCD_DECLARATION_MALFORMED',
      'VCD_HEADER_UNTERMINATED',
      'VCD_IDENTIFIER_TOO_LONG',
      'VCD_IDENTIFIER_UNKNOWN',
      'VCD_NO_CHANNELS',
      'VCD_TIMESCALE_MALFORMED',
      'VCD_TIME_BACKWARD',
      'VCD_TIME_MALFORMED',
      'VCD_TIME_TOO_LARGE',
      'VCD_TOKEN_UNEXPECTED',
      'VCD_VALUE_MALFORMED',
    ])
  })

  it('says what to do when time runs backward', () => {
    const { error } = collect(`${HEAD}#88120\n0!\n#88100\n1!\n`)
    expect(error!.message).toContain('from #88120 to #88100')
    expect(error!.hint).toContain('cut the file above this line')
  })

  it('lets no control character into a message', () => {
    for (const text of [
      `${START}$var wire \x1b[31m7\x07 ! a $end`,
      `\x1b]0;title\x07\n${HEAD}#0 1!\n`,
      `${HEAD}#0 \x9b31m`,
      `$timescale \x1b[2J $end`,
    ]) {
      const { error, notices } = collect(text)
      const messages = [error?.message ?? '', ...notices.map((notice) => notice.message)]
      expect(messages.join('')).not.toBe('')
      // oxlint-disable-next-line no-control-regex
      expect(messages.join('\n')).not.toMatch(/[\x00-\x09\x0b-\x1f\x7f-\x9f]/)
    }
  })

  it('refuses more identifier codes than it will keep', () => {
    const variables = Array.from({ length: 262_145 }, (_, n) => `$var wire 1 ${n} w $end\n`)
    const { error } = collect(START + variables.join(''))
    expect(error).toMatchObject({ code: 'VCD_TOO_MANY_CHANNELS' })
    expect(error!.byte).toBe(START.length + variables.slice(0, -1).join('').length)
  })
})
