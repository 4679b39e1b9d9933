// `preview`: pictures written, numbered or animated; what is said of them; what is refused.

import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { PNG } from 'pngjs'
import { afterAll, beforeEach, describe, expect, it, test } from 'vitest'
import { previewSchema, type PreviewReport } from '../../src/index.ts'
import { smallCapture } from '../support/small-captures.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const clean = folder.file('clean.vcd', smallCapture('cga80'))
const ringing = folder.file(
  'ringing.vcd',
  smallCapture('cga80', {
    frames: 4.2,
    ringing: { edge: 'trailing', delaySeconds: 0.3e-6, widthSeconds: 0.2e-6, probability: 0.015 },
  }),
)

let place = ''
let places = 0
beforeEach(() => {
  place = folder.join(`out${places++}`)
  mkdirSync(place)
})

const written = (): string[] => readdirSync(place).sort()
const readPng = (name: string): PNG => PNG.sync.read(readFileSync(`${place}/${name}`))

async function json(file: string, argv: readonly string[]): Promise<PreviewReport> {
  const { status, stdout, stderr } = await run([
    'preview',
    file,
    '-o',
    `${place}/seen.png`,
    ...argv,
    '--json',
  ])
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' })
  const report = previewSchema.parse(JSON.parse(stdout))
  expect(report).toEqual(JSON.parse(stdout))
  return report
}

describe('preview', () => {
  it('with a clock that fits draws what render draws', async () => {
    const report = await json(clean, ['--clock', '157.5M'])
    expect(report.files).toEqual([`${place}/seen.png`])
    expect(report.frames).toMatchObject([{ differentDots: 0, lowByRows: 0 }])
    expect(report).toMatchObject({ count: 'filtered', columnsDiffering: [], standard: 'cga-200' })
    expect((await run(['render', clean, '-o', `${place}/true.png`])).status).toBe(0)
    expect(readPng('seen.png').data.equals(readPng('true.png').data)).toBe(true)
  })

  it('with one that does not, draws bands in the columns that sampling names', async () => {
    const report = await json(clean, ['--clock', '250M', '--clocks-per-dot', '17'])
    expect(report.plan.bands).toBeGreaterThan(5)
    expect(report.columnsDiffering.length).toBeGreaterThan(0)
    const { stdout } = await run(['sampling', clean, '--clock', '250M', '--clocks-per-dot', '17', '--json'])
    expect(JSON.parse(stdout).given.bandColumns).toEqual(report.plan.bandColumns)
  })

  it('numbers its frames, and the masks beside them', async () => {
    const adapter = ['--clock', '157.5M', '--count', 'edges']
    const report = await json(ringing, [...adapter, '--frames', '3', '--mask', `${place}/wrong.png`])
    const names = ['seen-0.png', 'seen-1.png', 'seen-2.png', 'wrong-0.png', 'wrong-1.png', 'wrong-2.png']
    expect(written()).toEqual(names)
    expect([...report.files, ...report.maskFiles]).toEqual(names.map((name) => `${place}/${name}`))
    for (const [n, { differentDots }] of report.frames.entries()) {
      const { data } = readPng(`wrong-${n}.png`)
      let bright = 0
      for (let at = 0; at < data.length; at += 4) if (data[at]! > 200) bright++
      expect(bright).toBe(differentDots)
    }
  })

  it('jumps where every edge counts, and stands still where they are filtered', async () => {
    const argv = ['--clock', '157.5M', '--frames', '3', '--force']
    const edges = await json(ringing, [...argv, '--count', 'edges'])
    expect(new Set(edges.frames.map(({ lowByRows }) => lowByRows)).size).toBeGreaterThan(1)
    const filtered = await json(ringing, [...argv, '--count', 'filtered'])
    expect(filtered.frames.map(({ lowByRows }) => lowByRows)).toEqual([0, 0, 0])
    const screen = await run(['preview', ringing, '-o', `${place}/a.png`, ...argv, '--count', 'edges'])
    expect(screen.stdout).toMatch(
      /^The picture jumps: last row [\d, ]+ off in \d of 3 frames; \d+ % of the dots/,
    )
    expect(screen.stdout).toMatch(/see what a filter changes: --count filtered/)
  })

  it('animates as one file', async () => {
    const report = await json(ringing, [
      '--clock',
      '157.5M',
      '--count',
      'edges',
      '--frames',
      '3',
      '--animate',
    ])
    expect(written()).toEqual(['seen.png'])
    expect(report).toMatchObject({ animated: true, files: [`${place}/seen.png`] })
    const bytes = readFileSync(`${place}/seen.png`)
    expect(bytes.indexOf('acTL')).toBeGreaterThan(0)
    expect(bytes.toString('latin1').match(/fdAT/g)!.length).toBe(2)
    // and is a plain picture too: its first frame
    expect([readPng('seen.png').width, readPng('seen.png').height]).toEqual([640, 200])
  })

  it('takes clock, filter and way of counting from the description', async () => {
    const adapter = folder.file(
      'adapter.json',
      JSON.stringify({ clockHz: 157_500_000, clocksPerDot: 11, sync: { count: 'edges' } }),
    )
    expect(await json(clean, ['--adapter', adapter])).toMatchObject({
      count: 'edges',
      filterSeconds: 0,
      plan: { sampleClockHz: 157.5e6, clocksPerDot: 11 },
    })
    const filtered = folder.file(
      'filtered.json',
      JSON.stringify({ clockHz: 157_500_000, sync: { filterSeconds: 3e-7, holdOffSeconds: 2e-5 } }),
    )
    const report = await json(clean, ['--adapter', filtered, '--force'])
    expect(report.count).toBe('filtered')
    expect(report.filterSeconds).toBeCloseTo(3e-7, 12)
    expect(report.holdOffSeconds).toBeCloseTo(2e-5, 12)
    const pll = ['--adapter', 'fixtures/adapter/pll-rp2040.json', '--force']
    expect((await json(clean, pll)).plan).toMatchObject({ bands: 0, pll: { referenceHz: 12e6 } })
  })

  it('says that the capture holds fewer frames than asked for', async () => {
    const argv = ['preview', clean, '-o', `${place}/seen.png`, '--clock', '157.5M', '--frames', '9']
    const { status, stdout } = await run(argv)
    expect(status).toBe(0)
    expect(stdout).toMatch(/the capture holds no more of\s+the 9/)
    expect(stdout).toMatch(/3\.3 V input/)
    expect(stdout.split('\n').filter((line) => line.length > 80 && !line.includes(place))).toEqual([])
  })
})

describe('refused, with nothing written', () => {
  test.each([
    { argv: [], said: 'a sampling clock is wanted' },
    { argv: ['--clock', '157.5M', '--count', 'none'], said: 'one of edges, filtered' },
    { argv: ['--clock', '157.5M', '--frames', '0'], said: 'a whole number from 1 to 60' },
    { argv: ['--clock', '157.5M', '--frames', '61'], said: 'a whole number from 1 to 60' },
    { argv: ['--clock', '0'], said: 'a frequency is wanted' },
  ])('$said', async ({ argv, said }) => {
    const ran = await run(['preview', clean, '-o', `${place}/seen.png`, ...argv])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(said)
    expect(written()).toEqual([])
  })

  it('where picture and mask would be one file', async () => {
    const name = `${place}/seen.png`
    const ran = await run(['preview', clean, '-o', name, '--mask', name, '--clock', '157.5M'])
    expect(ran.status).toBe(2)
    expect(existsSync(name)).toBe(false)
  })

  it('where one of the files exists already', async () => {
    await json(clean, ['--clock', '157.5M', '--frames', '1'])
    expect(written()).toEqual(['seen-0.png'])
    const ran = await run(['preview', clean, '-o', `${place}/seen.png`, '--clock', '157.5M', '--frames', '2'])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain('seen-0.png exists already')
    expect(written()).toEqual(['seen-0.png'])
  })

  it('where there is no picture or no vsync in the capture', async () => {
    const noColours = folder.file('sync.vcd', smallCapture('cga80', { omit: ['R', 'G', 'B', 'I'] }))
    const noVsync = folder.file('no-vsync.vcd', smallCapture('cga80', { omit: ['V'] }))
    for (const [file, code] of [
      [noColours, 'VIDEO_NOT_FOUND'],
      [noVsync, 'FRAME_NOT_FOUND'],
    ] as const) {
      const ran = await run(['preview', file, '-o', `${place}/seen.png`, '--clock', '157.5M'])
      expect(ran).toMatchObject({ status: 2, stdout: '' })
      expect(ran.stderr).toContain(code)
      expect(ran.stderr).toContain(file)
    }
    expect(written()).toEqual([])
  })
})
