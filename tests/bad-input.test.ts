// Malformed and hostile input through the whole command line: the code, the place, and nothing else. What each reader
// refuses, row by row, is in tests/capture/malformed-*.test.ts; here is what a person sees of it.

import { existsSync } from 'node:fs'
import { gzipSync } from 'node:zlib'
import { afterAll, expect, it, test } from 'vitest'
import { cutEvery } from './capture/csv-collect.ts'
import { run, TemporaryFolder } from './cli/run-main.ts'
import { smallCapture } from './support/small-captures.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

/** Marks where the bad token begins; taken out before reading. */
const HERE = '\u00a7'

interface Bad {
  name: string
  code: string
  /** Text with the place marked, or bytes; a place beside bytes is `line:column` and the byte. */
  input: string | Uint8Array
  at?: { place: string; byte: number }
  /** `render` and `-o` are put in front where an option is render's. */
  argv?: readonly string[]
}

const latin1 = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text, 'latin1'))
const utf16 = (text: string): Uint8Array => Uint8Array.from(Buffer.from(`\ufeff${text}`, 'utf16le'))

const vcdHead = '$timescale 1 ns $end\n$var wire 1 ! H $end\n$var wire 1 " V $end\n'
const vcd = `${vcdHead}$enddefinitions $end\n#0\n0!\n0"\n`
const csvHead = 'Time [ns],H,V\n0,0,1\n40,1,1\n'
/** Pulses of channel H every 60 us, as many as asked for. */
const pulses = (count: number): string =>
  Array.from({ length: count }, (_, n) => `#${(n + 1) * 60_000}\n1!\n#${(n + 1) * 60_000 + 5000}\n0!\n`).join(
    '',
  )
/** Level changes without any rhythm. */
const noise = Array.from({ length: 400 }, (_, n) => `#${1000 * n * n + 17 * (n % 7)}\n${n & 1}!\n`).join('')

/** An identifier code of its own for every number. */
const identifier = (n: number): string => n.toString(36)

const noPicture = smallCapture('cga80', { picture: 'rectangle', omit: ['R', 'G', 'B', 'I'] })
const good = smallCapture('cga80', { picture: 'rectangle' })
const goodCsv = smallCapture('cga80', {
  picture: 'rectangle',
  form: { kind: 'csv', rows: 'per-change', time: 'nanoseconds' },
})

/** Puts a line, with its mark, in the place of text line `line` (from 1) of a good capture. */
function replaced(capture: Uint8Array, line: number, by: string): string {
  const lines = Buffer.from(capture).toString().split('\n')
  lines[line - 1] = by
  return lines.join('\n')
}

const bad: readonly Bad[] = [
  // no capture at all
  { name: 'no byte', code: 'CAPTURE_EMPTY', input: HERE },
  { name: 'blanks', code: 'CAPTURE_EMPTY', input: `${HERE}\n \t\r\n` },
  { name: 'a packed nothing', code: 'CAPTURE_EMPTY', input: gzipSync(''), at: { place: '1:1', byte: 0 } },
  { name: 'a page', code: 'CAPTURE_FORMAT_UNKNOWN', input: `${HERE}<!DOCTYPE html>\n<html><body>Sign in` },
  { name: 'an XML file', code: 'CAPTURE_FORMAT_UNKNOWN', input: `${HERE}<?xml version="1.0"?>\n<a/>` },
  { name: 'JSON', code: 'CAPTURE_FORMAT_UNKNOWN', input: `${HERE}{"samples": [0, 1]}\n` },
  {
    name: 'UTF-16',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    input: utf16('Time [s],H\r\n0,1\r\n'),
    at: { place: '1:1', byte: 0 },
  },
  {
    name: 'a ZIP archive',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    input: latin1('PK\u0003\u0004\u0014\u0000\u0000\u0000'),
    at: { place: '1:1', byte: 0 },
  },
  {
    name: 'a PNG picture',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    input: latin1('\u0089PNG\r\n\u001a\n\u0000\u0000\u0000\rIHDR'),
    at: { place: '3:1', byte: 8 },
  },
  {
    name: 'a program',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    input: latin1('\u007fELF\u0002\u0001\u0001'),
    at: { place: '1:1', byte: 0 },
  },
  {
    name: 'zeros',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    input: new Uint8Array(100_000),
    at: { place: '1:1', byte: 0 },
  },
  {
    name: 'something packed twice',
    code: 'CAPTURE_FORMAT_UNKNOWN',
    input: gzipSync(gzipSync(vcd)),
    at: { place: '1:1', byte: 0 },
  },
  { name: 'half a gzip header', code: 'CAPTURE_GZIP_BROKEN', input: gzipSync(vcd).subarray(0, 6) },
  {
    name: 'damaged gzip data',
    code: 'CAPTURE_GZIP_BROKEN',
    input: Buffer.concat([gzipSync(vcd).subarray(0, 10), Buffer.alloc(40, 0xff)]),
  },
  {
    name: 'prose',
    code: 'CSV_NOT_A_WAVEFORM',
    input: `${HERE}It was late, and raining.\nWe left, all of us.\nThe end, at last.\n`,
  },

  // VCD headers
  { name: 'a header that ends early', code: 'VCD_HEADER_UNTERMINATED', input: `${vcdHead}${HERE}` },
  {
    name: 'a comment without end',
    code: 'VCD_HEADER_UNTERMINATED',
    input: `$timescale 1 ns $end\n${HERE}$comment ${'for ever and '.repeat(50_000)}`,
  },
  {
    name: 'no variable',
    code: 'VCD_NO_CHANNELS',
    input: `$timescale 1 ns $end\n${HERE}$enddefinitions $end\n#0\n`,
  },
  {
    name: 'a time scale of no unit',
    code: 'VCD_TIMESCALE_MALFORMED',
    input: `$timescale ${HERE}1 fortnight $end\n${vcd}`,
  },
  {
    name: 'a variable of no size',
    code: 'VCD_DECLARATION_MALFORMED',
    input: `$timescale 1 ns $end\r\n  $var wire ${HERE}one ! H $end\r\n`,
  },
  {
    name: 'a quarter of a million variables',
    code: 'VCD_TOO_MANY_CHANNELS',
    input: `${Array.from({ length: 262_144 }, (_, n) => `$var wire 1 ${identifier(n)} n $end\n`).join('')}${HERE}$var wire 1 one-more n $end\n`,
  },
  {
    name: 'nothing but a vector of a million bits',
    code: 'VCD_NO_CHANNELS',
    input: `$timescale 1 ns $end\n$var wire 1000000 ! H $end\n${HERE}$enddefinitions $end\n#0\n`,
  },
  {
    name: 'a code of a kilobyte',
    code: 'VCD_IDENTIFIER_TOO_LONG',
    input: `$var wire 1 ${HERE}${'x'.repeat(1024)} H $end\n`,
  },
  {
    name: 'a name of a megabyte',
    code: 'VCD_DECLARATION_MALFORMED',
    input: `${HERE}$var wire 1 ! ${'n'.repeat(1024 * 1024)} $end\n`,
  },

  // VCD bodies
  { name: 'a word among changes', code: 'VCD_TOKEN_UNEXPECTED', input: `${vcd}${pulses(3)}${HERE}oops\n` },
  {
    name: 'a change spoilt deep inside a good capture',
    code: 'VCD_TOKEN_UNEXPECTED',
    input: replaced(good, 2000, `${HERE}%`),
  },
  {
    name: 'two captures in one file',
    code: 'VCD_TOKEN_UNEXPECTED',
    input: `${vcd}${pulses(2)}${HERE}$var wire 1 ! H $end\n`,
  },
  { name: 'a level without a code', code: 'VCD_VALUE_MALFORMED', input: `${vcd}#9\n${HERE}1\n0!\n` },
  { name: 'a vector of other digits', code: 'VCD_VALUE_MALFORMED', input: `${vcd}#9\n${HERE}b012 !\n` },
  {
    name: 'changes of other wires',
    code: 'VCD_IDENTIFIER_UNKNOWN',
    input: `${vcdHead}$enddefinitions $end\n#0\n${HERE}1%\n#5\n0%\n`,
  },
  { name: 'no time', code: 'VCD_TIME_MALFORMED', input: `${vcd}${HERE}#soon\n1!\n` },
  { name: 'a time below 0', code: 'VCD_TIME_BACKWARD', input: `${vcd}${HERE}#-5\n1!\n` },
  {
    name: 'time running backward',
    code: 'VCD_TIME_BACKWARD',
    input: `${vcd}#88120\n1!\n${HERE}#88100\n0!\n`,
  },
  {
    name: 'a time beyond 2^53',
    code: 'VCD_TIME_TOO_LARGE',
    input: `${vcd}${HERE}#9007199254740993\n1!\n`,
  },

  // CSV
  { name: 'a header alone', code: 'CSV_NO_ROWS', input: `${HERE}Time [s],H,V\n` },
  { name: 'times alone', code: 'CSV_NO_CHANNELS', input: `Time [s]\n${HERE}0.1\n0.2\n0.3\n0.4\n` },
  {
    name: 'columns without end',
    code: 'CSV_TOO_MANY_CHANNELS',
    input: `${HERE}${'0,'.repeat(5000)}1\n${'1,'.repeat(5000)}1\n${'1,'.repeat(5000)}0\n`,
  },
  { name: 'a row without end', code: 'CSV_ROW_TOO_LONG', input: `${HERE}${'0,'.repeat(40_000)}\n` },
  {
    name: 'a time that is a word',
    code: 'CSV_TIME_NOT_NUMBER',
    input: `${csvHead}${HERE}soon,1,0\n90,0,0\n`,
  },
  {
    name: 'a time spoilt deep inside a good capture',
    code: 'CSV_TIME_NOT_NUMBER',
    input: replaced(goodCsv, 1500, `${HERE}4x2,0,0,0,0,0,0`),
  },
  { name: 'a time left out', code: 'CSV_TIME_MISSING', input: `${csvHead}${HERE},1,0\n90,0,0\n` },
  {
    name: 'time running backward in a table',
    code: 'CSV_TIME_BACKWARD',
    input: `${csvHead}${HERE}39,1,0\n90,0,0\n`,
  },
  {
    name: 'a time beyond 2^53 in a table',
    code: 'CSV_TIME_TOO_LARGE',
    input: `${csvHead}${HERE}1e300,1,0\n1e301,0,0\n`,
  },
  {
    name: 'times of day in milliseconds',
    code: 'CSV_TIME_TOO_COARSE',
    input: `Time,H\n${HERE}10:00:00.000,0\n10:00:00.001,1\n10:00:00.002,0\n`,
  },
  {
    name: 'a clock that stands',
    code: 'CSV_TIME_STANDS_STILL',
    input: `Time,H\n${HERE}0,0\n0,1\n0,1\n0,0\n`,
  },
  {
    name: 'a level that is a word',
    code: 'CSV_LEVEL_MALFORMED',
    input: `${csvHead}80,1,${HERE}maybe\n90,0,0\n`,
  },
  {
    name: 'a level behind letters of two bytes',
    code: 'CSV_LEVEL_MALFORMED',
    input: `Time [ns],gr\u00fcn,H\u00f6he\n0,0,1\n40,1,1\n80,1,${HERE}\u00fcber\n90,0,0\n`,
  },
  { name: 'a cell too many', code: 'CSV_ROW_LENGTH', input: `${csvHead}80,1,0,${HERE}1\n90,0,0\n` },
  {
    name: 'a quote never closed',
    code: 'CSV_QUOTES_MALFORMED',
    input: `"Time [ns]",H\n"0","0"\n${HERE}"5,"1"\n"9","0"\n`,
  },
  {
    name: 'results of a decoder',
    code: 'CSV_NOT_A_WAVEFORM',
    input: `${HERE}Time [s], Analyzer Name, Decoded Result\n0.1,Serial,a\n0.2,Serial,b\n`,
  },

  // well-formed, yet not to be measured
  {
    name: 'no change at all',
    code: 'CAPTURE_NO_TRANSITIONS',
    input: `${vcdHead}$enddefinitions $end\n#0\n#1000\n`,
  },
  { name: 'levels that stay', code: 'SYNC_NOT_FOUND', input: `Time [ns],H,V\n0,0,1\n40,0,1\n80,0,1\n` },
  {
    name: 'changes without rhythm',
    code: 'SYNC_NOT_FOUND',
    input: `${vcd.replace(' H ', ' data ')}${noise}`,
  },
  {
    name: 'two pulses',
    code: 'HSYNC_TOO_FEW_EDGES',
    input: `${vcd}${pulses(2)}`,
    argv: ['--map', 'hsync=H'],
  },
  {
    name: 'samples of nobody knows what length',
    code: 'TIMEBASE_UNKNOWN',
    input: smallCapture('cga80', {
      picture: 'rectangle',
      frames: 1.1,
      form: { kind: 'csv', rows: 'per-sample', rateComment: false },
    }),
  },
  { name: 'an unknown channel', code: 'CHANNEL_NOT_FOUND', input: good, argv: ['--map', 'red=D9'] },
  { name: 'an unknown role', code: 'CHANNEL_ROLE_UNKNOWN', input: good, argv: ['--map', 'mauve=R'] },
  { name: 'a role twice', code: 'CHANNEL_ROLE_TWICE', input: good, argv: ['--map', 'red=R,red=G'] },
  { name: 'no such stretch', code: 'SEGMENT_NOT_FOUND', input: good, argv: ['--segment', '7'] },
  { name: 'no such frame', code: 'FRAME_NOT_FOUND', input: good, argv: ['--frame', '7'] },
  { name: 'no such palette', code: 'PALETTE_UNKNOWN', input: good, argv: ['--palette', 'sepia'] },
  { name: 'no picture', code: 'VIDEO_NOT_FOUND', input: noPicture, argv: ['--full-raster'] },
  {
    name: 'dots too fast for the instrument, in an unknown mode',
    code: 'DOT_CLOCK_UNKNOWN',
    input: smallCapture('uncatalogued', { sampleRateHz: 10e6 }),
    argv: ['--full-raster'],
  },
]

const RENDER_OPTIONS = new Set(['--segment', '--frame', '--palette', '--full-raster'])

/** `line:column` and byte of the mark, counted here by other means than the tool's. */
function placeOf(marked: string): { place: string; byte: number } | undefined {
  const [before, after] = marked.split(HERE)
  if (after === undefined) return undefined
  const lines = before!.split('\n')
  return { place: `${lines.length}:${[...lines.at(-1)!].length + 1}`, byte: Buffer.byteLength(before!) }
}

const escaped = (text: string): string => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')

test.each(bad)(
  '$name is $code',
  async ({ name, code, input, at, argv = [] }) => {
    const where = typeof input === 'string' ? placeOf(input) : at
    const contents = typeof input === 'string' ? input.replace(HERE, '') : input
    const file = folder.file(`${name.replace(/\W+/g, '-')}.capture`, contents)
    const output = folder.join('never.png')
    const command = argv.some((word) => RENDER_OPTIONS.has(word))
      ? ['render', file, '-o', output]
      : ['identify', file]
    const ran = await run([...command, ...argv])

    expect(ran.status).toBe(2)
    expect(ran.stdout).toBe('')
    const place = where ? `:${where.place}` : ''
    const byte = where ? ` \\(byte ${where.byte}\\)` : ''
    // one message, perhaps the text and a mark under it, and what to do
    expect(ran.stderr).toMatch(
      new RegExp(
        `^${escaped(file)}${place}: [^\\n]+${byte} \\[${code}\\]\\n(?: {2}[^\\n]+\\n {2} *\\^\\n)?hint: [^\\n]+\\n$`,
      ),
    )
    const [message, ...rest] = ran.stderr.split('\n')
    expect(rest.at(-2)).not.toContain(message)
    expect(ran.stderr.replaceAll('\n', '')).not.toMatch(/\p{Cc}/u)
    expect(ran.stderr).not.toMatch(/^\s+at /m)
    expect(existsSync(output)).toBe(false)

    // through a pipe: the same, but for the name
    const piped = await run([...command.map((word) => (word === file ? '-' : word)), ...argv], {
      stdin: [Buffer.from(contents)],
    })
    expect(piped.stderr).toBe(ran.stderr.replaceAll(file, 'standard input'))

    // in pieces of any size: the same place
    for (const size of contents.length < 4000 ? [1, 7] : [65_537]) {
      const pieces = cutEvery(Buffer.from(contents), size)
      const inPieces = await run(command.map((word) => (word === file ? '-' : word)).concat(argv), {
        stdin: pieces,
      })
      expect(inPieces, `pieces of ${size}`).toEqual(piped)
    }
  },
  30_000,
)

it('holds at least 40 kinds of bad input, and every name once', () => {
  expect(bad.length).toBeGreaterThanOrEqual(40)
  expect(new Set(bad.map(({ name }) => name)).size).toBe(bad.length)
})
