// What random inputs found, as kinds: each of these took minutes, broke its own promise, or was not told in words.

import { existsSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it, test } from 'vitest'
import { readCsv } from '../capture/csv-collect.ts'
import { collect } from '../capture/vcd-collect.ts'
import { run } from '../cli/run-main.ts'
import { measureCard } from '../support/measured-card.ts'
import { identifyReport } from '../../src/report/identify-report.ts'
import { identifySchema } from '../../src/report/identify-schema.ts'
import { smallCapture } from '../support/small-captures.ts'
import { timeAllowed, workedMs } from './finding.ts'

const ROWS = 'Time,A\n0,0\n1,1\n2,0\n3,1\n'
const LONG = 20_000
const spaces = ' '.repeat(LONG)
/** Patterns that can match one run in many ways take a time that grows with its square or cube. */
const hostileTables: Readonly<Record<string, string>> = {
  'spaces after a rate': `sample rate${spaces}x\n${ROWS}`,
  'spaces and quotes after a rate': `sample rate${' "'.repeat(LONG / 2)}x\n${ROWS}`,
  'spaces after an interval': `x incr${spaces}x\n${ROWS}`,
  'spaces on both sides of a unit': `x${spaces}units${spaces}1\n${ROWS}`,
  'spaces in a bracket': `Time,A[${' '.repeat(500)}x${' '.repeat(400)}\t)x\n0,0\n1,1\n2,0\n`,
  'the same word in a heading': `Time,${'time '.repeat(200)}!\n0,0\n1,1\n2,0\n`,
  'brackets in a heading': `Time,A${'['.repeat(1000)}\n0,0\n1,1\n2,0\n`,
  'quotes that never close': `Time,A\n0,${'"a,'.repeat(LONG / 3)}\n1,1\n2,0\n`,
  'spaced quotes': `Time,A\n0,${' "'.repeat(LONG / 2)}\n1,1\n2,0\n`,
  'groups of digits': `Time,A\n0,${'123 '.repeat(LONG / 4)}x\n1,1\n2,0\n`,
  'hex without end': `Time,A\n0,${'a'.repeat(LONG)}!\n1,1\n2,0\n`,
  'rows of one letter': 'a\n'.repeat(LONG / 2),
}

test.each(Object.entries(hostileTables))('a table with %s takes no longer than others', (_, text) => {
  const began = workedMs()
  readCsv(text)
  expect(workedMs() - began).toBeLessThan(timeAllowed(text.length))
})

const variables = (count: number, from: number): string =>
  Array.from({ length: count }, (_, n) => `$var wire 1 ${(from + n).toString(36)}x a $end\n`).join('')
const scopes = (depth: number): string => '$scope module m $end\n'.repeat(depth)
const closed = (depth: number): string => '$upscope $end\n'.repeat(depth)
const hostileHeaders: Readonly<Record<string, string>> = {
  'one name deep in two scopes': [
    '$scope module p $end\n', scopes(1000), variables(256, 1000), closed(1001),
    '$scope module q $end\n', scopes(1000), variables(256, 2000),
  ].join(''), // prettier-ignore
  'hundreds of aliases deep in a scope':
    scopes(1000) + Array.from({ length: 16 }, () => variables(512, 1000)).join(''),
  'a time scale of a hundred thousand digits': `$timescale ${`${'1'.repeat(4000)} `.repeat(25)}$end\n${variables(1, 1)}`,
}

test.each(Object.entries(hostileHeaders))('a header with %s takes no longer than others', (_, header) => {
  const text = `${header}$enddefinitions $end\n#0\n`
  const began = workedMs()
  collect(text)
  expect(workedMs() - began).toBeLessThan(timeAllowed(text.length))
})

it('tells names apart by their scopes, and numbers those that are alike in all that are looked at', () => {
  const text = `$scope module p $end\n${scopes(3)}${variables(1, 1)}${closed(4)}$scope module q $end\n${scopes(3)}${variables(1, 2)}`
  expect(collect(`${text}$enddefinitions $end\n#0\n`).header!.channels.map(({ name }) => name)).toEqual([
    'p.m.m.m.a',
    'q.m.m.m.a',
  ])
  const deeper = text.replaceAll(scopes(3), scopes(30)).replaceAll(closed(4), closed(31))
  const names = collect(`${deeper}$enddefinitions $end\n#0\n`).header!.channels.map(({ name }) => name)
  expect(new Set(names).size).toBe(2)
  expect(names[1]).toBe(`${names[0]}#2`)
})

describe('statements above a table', () => {
  test.each([
    ['Sample Rate,100 MS/s', 100e6],
    ['"Sample Rate"   "100 MS/s"', 100e6],
    ['Sample   Rate\t:\t 24 MHz', 24e6],
    ['"Sample Interval","4.0E-9"', 250e6],
    ['Sampling rate [kHz] = 500', 500e3],
    ['Sample rate (Hz);CH1: 1000000', 1e6],
  ])('%s', (row, hertz) => {
    expect(readCsv(`${row}\nA,B\n0,1\n1,1\n0,0\n`).header?.statedRateHz).toBeCloseTo(hertz, 3)
  })
})

describe('brackets in a heading', () => {
  test.each([
    ['Time [ns]', 1e-9, 'A'],
    ['Time (delay) [ us ]', 1e-6, 'A'],
    ['Time(ms)', 1e-3, 'A'],
  ])('%s', (heading, secondsOfUnit) => {
    const { header, extent } = readCsv(`${heading},A\n0,0\n10,1\n20,0\n`)
    expect(header!.secondsPerTick! * extent!.lastTick).toBeCloseTo(20 * secondsOfUnit, 15)
  })

  it('stay part of a name where they hold no unit', () => {
    const { header } = readCsv('Time [ns],pins[3],a [b] (c)\n0,0,1\n10,1,1\n20,0,0\n')
    expect(header?.channels.map(({ name }) => name)).toEqual(['pins[3]', 'a [b] (c)'])
  })
})

it('quotes in the head are undone as csv-parse undoes them in the body', () => {
  const { header, error } = readCsv('"Time [ns]","a ""b""", "c,d" ,e\n"0","0","1",0\n"5","1","1",1\n')
  expect(error).toBeUndefined()
  expect(header?.channels.map(({ name }) => name)).toEqual(['a "b"', 'c,d', 'e'])
})

it('a table of nothing but a bus that is too wide has no channels', () => {
  const wide = (digit: string): string => `0${digit.repeat(600)}`
  expect(readCsv(`Time [ns],bus\n0,${wide('0')}\n5,${wide('1')}\n9,${wide('0')}\n`).error?.code).toBe(
    'CSV_NO_CHANNELS',
  )
})

it('the porches of an interlaced field may end in mid-scanline, and the schema says so', () => {
  const { measurement } = measureCard('interlaced', 'text-full', 50e6, { draw: { frames: 3.2 } })
  const report = identifyReport(measurement, 'capture.vcd')
  expect(report.main.active!.vFrontPorchScanlines! % 1).toBe(0.5)
  expect(identifySchema.safeParse(report).error).toBeUndefined()
})

test.each(['1e-300', '1e300'])(
  'a sample rate of %s Hz is refused, not carried into infinity',
  async (rate) => {
    const ran = await run(['identify', '-', '--rate', rate, '--time-unit', 'samples'], {
      stdin: [smallCapture('cga80', { form: { kind: 'csv', rows: 'per-sample' } })],
    })
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain('[TIMEBASE_UNKNOWN]')
  },
)

it('frames that cannot be compared are an error with a code', async () => {
  const output = join(tmpdir(), 'rastertap-never.png')
  const argv = ['render', '-', '-o', output, '--difference', '0,50']
  const ran = await run(argv, { stdin: [smallCapture('cga80', {})] })
  expect(ran).toMatchObject({ status: 2, stdout: '' })
  expect(ran.stderr).toContain('[FRAME_NOT_FOUND]')
  expect(existsSync(output)).toBe(false)
})
