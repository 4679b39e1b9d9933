// One row per way to break a table: the code, and the byte where the bad cell or row starts.

import { describe, expect, it, test } from 'vitest'
import { bytesOf, codes, cutEvery, readBody, readCsv } from './csv-collect.ts'

interface Case {
  name: string
  code: string
  /** `@` marks the byte that the error must name; it is taken out of the text. */
  text: string
  options?: Parameters<typeof readCsv>[1]
}

const head = 'Time [ns],A,B\n0,0,1\n40,1,1\n'
const samples = 'A,B,C\n0,1,0\n0,1,1\n1,1,0\n'
/** Rows that fill the part of a file from which its columns are found. */
const belowHead = (header: string, row: (n: number) => string): string =>
  `${header}\n${Array.from({ length: 12_000 }, (_, n) => `${row(n)}\n`).join('')}`
const long = 'x'.repeat(33_000)

const broken: readonly Case[] = [
  { name: 'an empty file', code: 'CAPTURE_EMPTY', text: '@' },
  { name: 'nothing but blanks', code: 'CAPTURE_EMPTY', text: '@ \n\r\n\t\n' },
  { name: 'a header and nothing else', code: 'CSV_NO_ROWS', text: '@Time [ns],A,B\n' },
  { name: 'comments and nothing else', code: 'CSV_NO_ROWS', text: '# one\n@# two\n' },
  { name: 'a time that is a word', code: 'CSV_TIME_NOT_NUMBER', text: `${head}@soon,1,0\n90,0,0\n` },
  {
    name: 'a time with two decimal marks',
    code: 'CSV_TIME_NOT_NUMBER',
    text: `${head}@80.5.1,1,0\n90,0,0\n`,
  },
  { name: 'a time with an empty exponent', code: 'CSV_TIME_NOT_NUMBER', text: `${head}@80e,1,0\n90,0,0\n` },
  {
    name: 'a time with a unit of something else',
    code: 'CSV_TIME_NOT_NUMBER',
    text: `${head}@80 kg,1,0\n90,0,0\n`,
  },
  { name: 'a sign without a time', code: 'CSV_TIME_NOT_NUMBER', text: `${head}@-,1,0\n90,0,0\n` },
  {
    name: 'dates with whole seconds for times',
    code: 'CSV_TIME_TOO_COARSE',
    text: 'Time,A,B\n@2020-01-01 10:00:00,0,1\n2020-01-01 10:00:01,1,1\n',
  },
  {
    name: 'days for times',
    code: 'CSV_TIME_NOT_NUMBER',
    text: 'Time,A,B\n@1 January 2020,0,1\n2 January 2020,1,1\n',
  },
  {
    name: 'a time of day among numbers',
    code: 'CSV_TIME_NOT_NUMBER',
    text: `${head}@10:00:00.000080,1,0\n90,0,0\n`,
  },
  {
    name: 'a time in the middle that is a word',
    code: 'CSV_TIME_NOT_NUMBER',
    text: 'A,Time [ns],B\n0,0,1\n1,@q,1\n1,9,0\n',
  },
  { name: 'an empty time', code: 'CSV_TIME_MISSING', text: `${head}@,1,0\n90,0,0\n` },
  { name: 'a time column without a time', code: 'CSV_TIME_MISSING', text: 'Time,A,B\n@,0,1\n,1,1\n,1,0\n' },
  { name: 'time running backward', code: 'CSV_TIME_BACKWARD', text: `${head}@39,1,0\n90,0,0\n` },
  {
    name: 'time running backward in the last column',
    code: 'CSV_TIME_BACKWARD',
    text: 'A,Time [ns]\n0,5\n1,9\n0, @8\n1,10\n',
  },
  { name: 'negative time after positive', code: 'CSV_TIME_BACKWARD', text: `${head}@-41,1,0\n90,0,0\n` },
  {
    name: 'a time beyond 2^53',
    code: 'CSV_TIME_TOO_LARGE',
    text: `${head}@9007199254740993,1,0\n9907199254740993,0,0\n`,
  },
  { name: 'a time with a huge exponent', code: 'CSV_TIME_TOO_LARGE', text: `${head}@1e300,1,0\n1e301,0,0\n` },
  { name: 'times that stand still', code: 'CSV_TIME_STANDS_STILL', text: 'Time,A\n@0,0\n0,1\n0,1\n0,0\n' },
  { name: 'a level that is a word', code: 'CSV_LEVEL_MALFORMED', text: `${head}80,1,@maybe\n90,0,0\n` },
  {
    name: 'a level of 2',
    code: 'CSV_LEVEL_MALFORMED',
    text: `${belowHead('Time [ns],A,B', (n) => `${n},${n & 1},0`)}80000,@2,1\n90000,0,0\n`,
  },
  {
    name: 'a level of 2 among samples',
    code: 'CSV_LEVEL_MALFORMED',
    text: `${belowHead('A,B,C', (n) => `${n & 1},0,1`)}0,@2,1\n0,0,0\n`,
  },
  {
    name: 'a malformed level after spaces',
    code: 'CSV_LEVEL_MALFORMED',
    text: `${head}80,  @q ,1\n90,0,0\n`,
  },
  {
    name: 'a malformed level in the first row',
    code: 'CSV_LEVEL_MALFORMED',
    text: 'Time [ns],A,B\n0,0,@q\n40,1,1\n80,1,0\n',
  },
  {
    name: 'a bus value with too many bits',
    code: 'CSV_LEVEL_MALFORMED',
    text: 'Time [ns],b[3:0]\n0,0x1\n5,0xF\n9,@0x1F\n12,0x0\n',
  },
  {
    name: 'a bus value that is no number',
    code: 'CSV_LEVEL_MALFORMED',
    text: 'Time [ns],b[3:0]\n0,0x1\n5,0xF\n9,@0xG\n12,0x0\n',
  },
  {
    name: 'a voltage that is no number',
    code: 'CSV_LEVEL_MALFORMED',
    text: 'Time [ns],A\n0,0.1\n5,4.9\n9,@4.9.1\n12,0.2\n',
  },
  { name: 'a row with too many cells', code: 'CSV_ROW_LENGTH', text: `${head}80,1,0,@1\n90,0,0\n` },
  { name: 'a row with too few cells', code: 'CSV_ROW_LENGTH', text: `${head}@80,1\n90,0,0\n` },
  {
    name: 'a row with too few cells, then blanks and a comment',
    code: 'CSV_ROW_LENGTH',
    text: `${head}@80,1\n\n# more\n90,0,0\n`,
  },
  { name: 'a short row among samples', code: 'CSV_ROW_LENGTH', text: `${samples}@0,1\n0,0,0\n` },
  {
    name: 'a second header',
    code: 'CSV_TIME_NOT_NUMBER',
    text: `${head}${head}`.replace(/\nTime/, '\n@Time'),
  },
  { name: 'a row without end', code: 'CSV_ROW_TOO_LONG', text: `${head}@80,1,${long}\n90,0,0\n` },
  { name: 'a head without a newline', code: 'CSV_ROW_TOO_LONG', text: `@${'0,'.repeat(40_000)}\n` },
  {
    name: 'a quote inside a cell',
    code: 'CSV_QUOTES_MALFORMED',
    text: '"T [ns]",A\n"0","0"\n"5",@"1"x\n"9","0"\n',
  },
  {
    name: 'a quote that never closes',
    code: 'CSV_QUOTES_MALFORMED',
    text: '"Time [ns]",A\n"0","0"\n@"5,"1"\n"9","0"\n',
  },
  {
    name: 'a quoted level that is a word',
    code: 'CSV_LEVEL_MALFORMED',
    text: '"Time [ns]",A\n"0","0"\n"5", @"maybe"\n"9","0"\n',
  },
  {
    name: 'a quoted time running backward',
    code: 'CSV_TIME_BACKWARD',
    text: '"Time [ns]",A\n"4","0"\n"6","1"\n@"5","1"\n"9","0"\n',
  },
  {
    name: 'a quoted row without end',
    code: 'CSV_ROW_TOO_LONG',
    text: `"Time [ns]",A\n"4","0"\n"6","1"\n@"7","${long}"\n`,
  },
  {
    name: 'results of a decoder',
    code: 'CSV_NOT_A_WAVEFORM',
    text: '@Time [s], Analyzer Name, Decoded Result\n0.1,Serial,a\n0.2,Serial,b\n',
  },
  {
    name: 'a table of words',
    code: 'CSV_NOT_A_WAVEFORM',
    text: '@name,colour\napple,red\nplum,blue\npear,green\n',
  },
  {
    name: 'prose',
    code: 'CSV_NOT_A_WAVEFORM',
    text: '@It was late, and raining.\nNobody came, so we left.\nThe end, at last.\n',
  },
  { name: 'a column of times only', code: 'CSV_NO_CHANNELS', text: 'Time [s]\n@0.1\n0.2\n0.3\n0.4\n' },
  {
    name: 'more columns than any bus',
    code: 'CSV_TOO_MANY_CHANNELS',
    text: `@${'0,'.repeat(5000)}1\n${'1,'.repeat(5000)}1\n${'1,'.repeat(5000)}0\n`,
  },
  {
    name: 'a page',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    text: '@<!DOCTYPE html>\n<html><body>Sign in</body></html>\n',
  },
  { name: 'JSON', code: 'CAPTURE_FORMAT_UNKNOWN', text: '@{"samples": [0, 1]}\n' },
  { name: 'binary', code: 'CAPTURE_FORMAT_UNKNOWN', text: 'Time,A\n0,@\u00001\n' },
  { name: '16-bit text', code: 'CAPTURE_FORMAT_UNKNOWN', text: '@\u00ff\u00feT\u0000i\u0000' },
]

test.each(broken)('$name is $code', ({ code, text, options }) => {
  const byte = text.indexOf('@')
  const bytes = bytesOf(text.replace('@', ''))
  const read = readCsv([bytes], options)
  expect(read.error).toMatchObject({ code, byte })
  expect(read.error?.hint ?? 'none needed').not.toBe(read.error?.message)
  expect(read.extent).toBeUndefined()
  // However it is cut, above the scanners and in them.
  expect(readCsv(cutEvery(bytes, 7), options)).toEqual(read)
  if (read.header) {
    expect(readBody(bytes, (body) => cutEvery(body, 1), true, options).error).toEqual(read.error)
    expect(readBody(bytes, (body) => [body.slice()], false, options).error).toEqual(read.error)
  }
})

it('covers every code that a CSV can fail with', () => {
  const covered = new Set(broken.map(({ code }) => code).filter((code) => code.startsWith('CSV_')))
  expect([...covered].sort()).toEqual(
    [
      'CSV_NO_ROWS',
      'CSV_NO_CHANNELS',
      'CSV_TOO_MANY_CHANNELS',
      'CSV_NOT_A_WAVEFORM',
      'CSV_TIME_MISSING',
      'CSV_TIME_NOT_NUMBER',
      'CSV_TIME_BACKWARD',
      'CSV_TIME_TOO_LARGE',
      'CSV_TIME_STANDS_STILL',
      'CSV_TIME_TOO_COARSE',
      'CSV_LEVEL_MALFORMED',
      'CSV_ROW_LENGTH',
      'CSV_ROW_TOO_LONG',
      'CSV_QUOTES_MALFORMED',
    ].sort(),
  )
})

describe('a last row that is cut', () => {
  const cuts = ['80', '80,', '80,1', '80,1,', '80,1,q', '80,1,"1']
  test.each(cuts)('%s is left out, with a notice', (tail) => {
    const read = readCsv(head + tail)
    expect(read.error).toBeUndefined()
    if (tail === '80,1,') {
      // All cells are there, the last one empty: unchanged.
      expect(read.extent?.lastTick).toBe(80)
      expect(codes(read)).toEqual(['CSV_CELL_EMPTY'])
    } else {
      expect(read.extent?.lastTick).toBe(40)
      expect(
        read.notices.find(({ code }) => code === 'CSV_ROW_CUT_SHORT')?.firstAtByte,
      ).toBeGreaterThanOrEqual(head.length)
    }
  })

  it('may have its newline', () => {
    expect(codes(readCsv(`${head}80,1\n\n`))).toEqual(['CSV_ROW_CUT_SHORT'])
  })
})

describe('rows that leave their last cells out as a habit', () => {
  it('repeat the levels before', () => {
    const rows = Array.from({ length: 20 }, (_, n) =>
      n % 3 === 0 ? `${n},${n & 1},1\n` : `${n},${n & 1}\n`,
    ).join('')
    const read = readCsv(`Time [ns],A,B\n${rows}`)
    expect(read.error).toBeUndefined()
    expect(read.rows.filter(([, channel]) => channel === 1)).toEqual([[0, 1, 1]])
    expect(read.notices.find(({ code }) => code === 'CSV_CELL_EMPTY')?.count).toBe(13)
  })
})

it('keeps control characters of the file out of messages', () => {
  const read = readCsv('Time [ns],A\n0,0\n5,1\n9,q\u007f\u009b31m\n12,1\n')
  expect(read.error?.code).toMatch(/CSV_LEVEL_MALFORMED|CAPTURE_FORMAT_UNKNOWN/)
  expect(read.error?.message).not.toMatch(/\p{Cc}/u)
})
