// `sampling`: from a capture or from numbers; text, JSON, and what is refused.

import { readFileSync } from 'node:fs'
import { afterAll, describe, expect, it, test } from 'vitest'
import { samplingSchema, type SamplingReport } from '../../src/index.ts'
import { smallCapture } from '../support/small-captures.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const PLL = 'fixtures/adapter/pll-rp2040.json'
const capture = folder.file('ega.vcd', smallCapture('ega350with366', { dotClockErrorPpm: 41 }))

async function json(argv: readonly string[]): Promise<SamplingReport> {
  const { status, stdout, stderr } = await run(['sampling', ...argv, '--json'])
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' })
  const report = samplingSchema.parse(JSON.parse(stdout))
  // nothing is printed that the schema does not know
  expect(report).toEqual(JSON.parse(stdout))
  return report
}

describe('sampling', () => {
  it('tells common practice apart: 270 MHz bands on 16.257 MHz dots, 260 MHz / 16 does not', async () => {
    const numbers = ['--dot-clock', '16.257M', '--active', '640']
    const bad = await json([...numbers, '--clock', '270M'])
    expect(bad.given).toMatchObject({ sampleClockHz: 270e6, rephasingHidesBands: false })
    expect(bad.given!.bands).toBeGreaterThan(10)
    expect(bad.given!.bandColumns.length).toBe(bad.given!.bands)
    const good = await json([...numbers, '--clock', '260.0MHz', '--clocks-per-dot', '16'])
    expect(good.given).toMatchObject({ clocksPerDot: 16, bands: 0, rephasingHidesBands: true })
    expect(good.given!.errorPpm).toBeCloseTo(-430.6, 1)
    expect(good.given!.slipDots).toBeCloseTo(0.28, 2)
    expect(good.dotClockHz).toEqual({ value: 16.257e6, uncertainty: 0 })
  })

  it('uses the dot clock of a capture with its uncertainty, and what jitter is known', async () => {
    const report = await json([capture, '--clock', '260M'])
    expect(report).toMatchObject({ file: capture, activeDots: 640, dotClockAssumed: false })
    const { value, uncertainty } = report.dotClockHz
    expect(uncertainty).toBeGreaterThan(0)
    expect(Math.abs(value - 16.257e6 * (1 + 41e-6))).toBeLessThan(5 * uncertainty)
    expect(report.leadDots).toBeGreaterThan(87.4)
    expect(report.leadDots).toBeLessThan(88.6)
    expect(report.jitter.instrumentRmsSeconds).toBeGreaterThan(0)
    expect(report.jitter.cardRmsSeconds).toBeGreaterThanOrEqual(0)
    // jitter and doubt cost margin that the same numbers by hand do not lose
    const byHand = await json(['--dot-clock', String(value), '--active', '640', '--clock', '260M'])
    expect(report.given!.eyeMarginFraction).toBeLessThan(byHand.given!.eyeMarginFraction)
  })

  it('searches the PLL described: 130 MHz / 8 for the mono card', async () => {
    const report = await json(['--dot-clock', '16.257M', '--active', '720', '--adapter', PLL])
    expect(report).toMatchObject({ given: null, plansFrom: 'pll' })
    expect(report.plans[0]).toMatchObject({ sampleClockHz: 130e6, clocksPerDot: 8, bands: 0 })
    expect(report.plans[0]!.pll).toMatchObject({ referenceHz: 12e6, vcoHz: 1560e6 })
    expect(report.plansTried).toBeGreaterThan(1000)
  })

  test.each([
    { dotClock: '14.318181M', active: '640' },
    { dotClock: '16.000M', active: '720' },
    { dotClock: '25.175M', active: '640' },
    { dotClock: '16.257M', active: '720' },
  ])(
    'finds a plan without bands for $dotClock dots, within the rated clock',
    async ({ dotClock, active }) => {
      const { plans } = await json(['--dot-clock', dotClock, '--active', active, '--adapter', PLL])
      expect(plans[0]!.bands).toBe(0)
      expect(plans[0]!.eyeMarginFraction).toBeGreaterThan(0.1)
      expect(plans[0]!.sampleClockHz).toBeLessThanOrEqual(133e6)
      expect(plans[0]!.clockTolerancePpm).toBeGreaterThan(0)
    },
  )

  it('takes a clock from the command line before the one described', async () => {
    const fixed = folder.file('fixed.json', '{"clockHz": 250000000, "clocksPerDot": 15}')
    const numbers = ['--dot-clock', '16.257M', '--active', '640', '--adapter', fixed]
    expect((await json(numbers)).given).toMatchObject({ sampleClockHz: 250e6, clocksPerDot: 15 })
    expect((await json([...numbers, '--clock', '260M', '--clocks-per-dot', '16'])).given).toMatchObject({
      sampleClockHz: 260e6,
      clocksPerDot: 16,
    })
  })

  it('says what a person wants to know first, and warns', async () => {
    const clock = ['--clock', '270M', '--clocks-per-dot', '17']
    const { status, stdout } = await run(['sampling', capture, ...clock, '--adapter', PLL])
    expect(status).toBe(0)
    expect(stdout).toMatch(/^270 MHz \/ 17: 16 bands, \d+ % of the columns disturbed\n/)
    expect(stdout).toMatch(/Where the bands fall, by column\n {2}\d+ \(\d+-\d+\), /)
    expect(stdout).toMatch(/16\.608 clocks a dot, not 17/)
    expect(stdout).toMatch(/run 130 MHz \/ 8 instead/)
    expect(stdout).toMatch(/3\.3 V input/)
    const long = stdout.split('\n').filter((line) => line.length > 80 && !line.includes(folder.path))
    expect(long).toEqual([])
  })

  it('marks what the capture does not show', async () => {
    const slow = folder.file('slow.vcd', smallCapture('cga80', { sampleRateHz: 6e6 }))
    const report = await json([slow])
    expect(report.dotClockAssumed).toBe(true)
    const { stdout } = await run(['sampling', slow])
    expect(stdout).toContain('(assumed)')
    expect(stdout).toMatch(/dot clock is assumed: capture at a higher sample rate/)
  })
})

describe('refused', () => {
  const broken = folder.file('broken.json', '{\n  "clockHz": 1,\n  "pll": {\n    "multiplyer": 3\n  }\n}\n')
  const huge = folder.file(
    'huge.json',
    JSON.stringify({
      pll: {
        referenceHz: 1e6,
        referenceDivider: { min: 1, max: 64 },
        multiplier: { min: 1, max: 4096 },
        vcoHz: { min: 1, max: 1e12 },
        postDividerStages: [
          { min: 1, max: 64 },
          { min: 1, max: 64 },
        ],
      },
    }),
  )
  test.each([
    { argv: [], said: 'a capture is wanted, or --dot-clock with --active' },
    { argv: ['--dot-clock', '16M'], said: '--dot-clock and --active are wanted together' },
    { argv: [capture, '--active', '640'], said: 'exclude each other' },
    {
      argv: ['--dot-clock', '16M', '--active', '640', '--clocks-per-dot', '8'],
      said: '--clocks-per-dot is wanted with a clock',
    },
    { argv: ['--dot-clock', 'fast', '--active', '640'], said: 'a frequency is wanted' },
    { argv: ['--dot-clock', '16M', '--active', '0'], said: 'a whole number from 1' },
    { argv: ['--dot-clock', '16M', '--active', '640', '--adapter', 'no.json'], said: 'no such file' },
    { argv: ['--dot-clock', '16M', '--active', '640', '--adapter', broken], said: 'line 3: pll' },
    { argv: ['--dot-clock', '16M', '--active', '640', '--adapter', huge], said: 'more than can be tried' },
  ])('$said', async ({ argv, said }) => {
    const ran = await run(['sampling', ...argv])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(said)
    expect(ran.stderr).not.toMatch(/^\s+at /m)
  })

  it('names the file of a broken description', async () => {
    const { stderr } = await run(['sampling', '--dot-clock', '16M', '--active', '9', '--adapter', broken])
    expect(stderr).toContain(broken)
    expect(stderr).toContain('[ADAPTER_MALFORMED]')
  })

  it('a capture without dots, with the numbers to give by hand as a hint', async () => {
    const sync = folder.file(
      'sync.vcd',
      smallCapture('uncatalogued', { omit: ['R', 'G', 'B'], picture: 'dark' }),
    )
    const ran = await run(['sampling', sync])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toMatch(/DOT_CLOCK_UNKNOWN/)
    expect(ran.stderr).toMatch(/--dot-clock HZ --active DOTS/)
  })

  it('keeps the shipped descriptions in the examples of the screens', () => {
    expect(JSON.parse(readFileSync(PLL, 'utf8'))).toHaveProperty('pll')
  })
})
