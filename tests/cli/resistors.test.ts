// `resistors`: needs no capture; text, JSON, and what is refused.

import { afterAll, describe, expect, it, test } from 'vitest'
import { resistorsSchema, type ResistorsReport } from '../../src/index.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

async function json(argv: readonly string[]): Promise<ResistorsReport> {
  const { status, stdout, stderr } = await run(['resistors', ...argv, '--json'])
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' })
  const report = resistorsSchema.parse(JSON.parse(stdout))
  expect(report).toEqual(JSON.parse(stdout))
  return report
}

describe('resistors', () => {
  it('gives the ideal values of common practice: 278.6 in parallel, 417.9 and 835.7 ohm', async () => {
    const { ideal, picked } = await json(['--bits', '2', '--series', 'E96'])
    expect(ideal.parallelOhms).toBeCloseTo(278.57, 2)
    expect(ideal.resistorsOhms.map((ohms) => Number(ohms.toFixed(1)))).toEqual([417.9, 835.7])
    // 2/3 of full scale at the monitor (common practice: 0.46 to 0.47 V)
    expect(picked.levels[2]!.volts).toBeGreaterThan(0.46)
    expect(picked.levels[2]!.volts).toBeLessThan(0.47)
    expect(picked.resistorsOhms).toEqual([422, 825])
  })

  test.each([
    { argv: [], network: 'weighted', bits: 2, resistors: 2, levels: 4, pins: 2 },
    { argv: ['--bits', '1'], network: 'weighted', bits: 1, resistors: 1, levels: 2, pins: 1 },
    { argv: ['--bits', '3'], network: 'weighted', bits: 3, resistors: 3, levels: 8, pins: 3 },
    { argv: ['--bits', '4'], network: 'weighted', bits: 4, resistors: 4, levels: 16, pins: 4 },
    { argv: ['--network', 'rgbi'], network: 'rgbi', bits: null, resistors: 2, levels: 4, pins: 4 },
    { argv: ['--network', 'MONO'], network: 'mono', bits: null, resistors: 2, levels: 4, pins: 2 },
  ])('$argv: every level, pin and part', async ({ argv, network, bits, ...counts }) => {
    const report = await json(argv)
    expect(report).toMatchObject({ network, bits, series: 'E24', tolerancePercent: 5 })
    const { picked } = report
    expect([picked.resistorsOhms.length, picked.levels.length, picked.pins.length]).toEqual([
      counts.resistors,
      counts.levels,
      counts.pins,
    ])
    expect(report.brown === null).toBe(network !== 'rgbi')
    const screen = (await run(['resistors', ...argv])).stdout
    for (const ohms of picked.resistorsOhms) expect(screen).toContain(`${ohms} ohm`)
    expect(screen.split('\n').every((line) => line.length <= 80)).toBe(true)
    expect(screen).toMatch(/data sheets of the\n? *parts/)
  })

  it('takes every number, and half an ohm of cable lowers the levels a little', async () => {
    const report = await json(
      '--supply 5 --load 75.5 --full-scale 1 --pin-ohms 25 --tolerance 2% --series e48 --bits 1'.split(' '),
    )
    expect(report).toMatchObject({
      supplyVolts: 5,
      loadOhms: 75.5,
      fullScaleVolts: 1,
      pinOhms: 25,
      tolerancePercent: 2,
      series: 'E48',
    })
    expect(report.ideal.parallelOhms).toBeCloseTo(75.5 * 4, 9)
    expect(report.ideal.resistorsOhms[0]).toBeCloseTo(75.5 * 4 - 25, 9)
  })

  it('comes nearer with two resistors for one', async () => {
    const [one, two] = [await json(['--bits', '3']), await json(['--bits', '3', '--combinations'])]
    expect(two.picked.worstErrorVolts).toBeLessThan(one.picked.worstErrorVolts / 4)
    expect(two.picked.parts.some(({ values }) => values.length === 2)).toBe(true)
    expect((await run(['resistors', '--bits', '3', '--combinations'])).stdout).toMatch(/ \+ | \|\| /)
  })

  it('reads the description, warns of its limits, and lets options win', async () => {
    const weak = folder.file(
      'weak.json',
      JSON.stringify({
        output: {
          network: 'mono',
          maxPinMilliamps: 12,
          maxTotalMilliamps: 20,
          series: 'E96',
          tolerancePercent: 0.5,
        },
      }),
    )
    const described = await json(['--adapter', weak])
    expect(described).toMatchObject({ network: 'mono', series: 'E96', tolerancePercent: 0.5 })
    expect(described.warnings.join()).toMatch(/pin "video" carries up to .* its limit is 12 mA/)
    expect(described.warnings.join()).toMatch(/all pins together .* the limit is 20 mA/)
    const other = await json(['--adapter', weak, '--bits', '1', '--series', 'E12'])
    expect(other).toMatchObject({ network: 'weighted', series: 'E12', tolerancePercent: 10 })
    const { stdout } = await run(['resistors', '--adapter', weak])
    expect(stdout).toMatch(/What to mind\n(.*\n)*? {2}- pin "video"/)
    expect(stdout).not.toContain('let --adapter do it')
  })

  it('warns plainly where a corner exceeds full scale', async () => {
    const { stdout } = await run(['resistors', '--tolerance', '5'])
    expect(stdout).toMatch(/parts at the end of their tolerance reach 0\.7\d+ V, [\d.]+ % above full scale/)
  })

  it('explains brown', async () => {
    const { stdout } = await run(['resistors', '--network', 'rgbi'])
    expect(stdout).toMatch(/dark yellow/)
    expect(stdout).toMatch(/show brown/)
  })
})

describe('refused', () => {
  test.each([
    { argv: ['--bits', '5'], said: 'a whole number from 1 to 4' },
    { argv: ['--bits', '2', '--network', 'rgbi'], said: 'exclude each other' },
    { argv: ['--network', 'cmyk'], said: 'one of rgbi, mono' },
    { argv: ['--series', 'E13'], said: 'one of E12, E24, E48, E96' },
    { argv: ['--supply', '0'], said: 'a number above 0' },
    { argv: ['--supply', '0.5'], said: 'full scale of 0.7 V is not below the supply of 0.5 V' },
    { argv: ['--tolerance', '100'], said: 'a percentage below 100' },
    { argv: ['--pin-ohms', '-3'], said: 'a number is wanted' },
    { argv: ['stray'], said: 'too many arguments' },
  ])('$argv', async ({ argv, said }) => {
    const ran = await run(['resistors', ...argv])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(said)
  })
})
