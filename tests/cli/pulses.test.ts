// `pulses` in process: what it prints, writes, and answers to a script.

import { existsSync, readFileSync, readdirSync } from 'node:fs'
import { afterAll, describe, expect, it, test } from 'vitest'
import { RowStream, AbandonedError } from '../../src/cli/row-stream.ts'
import { pulsesSchema } from '../../src/report/pulses-schema.ts'
import type { PulsesReport } from '../../src/report/pulses-report.ts'
import { smallCapture } from '../support/small-captures.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const clean = folder.file('clean.vcd', smallCapture('cga80'))
const ringing = { edge: 'leading', delaySeconds: 0.5e-6, widthSeconds: 0.2e-6, probability: 0.05 } as const
const faulty = folder.file(
  'faulty.csv.gz',
  smallCapture('cga80', {
    frames: 3.2,
    ringing,
    missingHsync: [{ frame: 1, scanline: 80 }],
    shiftedHsync: [{ frame: 2, scanline: 90, seconds: 1e-6 }],
    hsyncJitterSeconds: 20e-9,
    form: { kind: 'csv', rows: 'per-change', time: 'nanoseconds', gzip: true },
  }),
)
const oddFrame = folder.file(
  'odd.vcd',
  smallCapture('cga80', { frames: 4.2, droppedScanlines: [{ frame: 2, scanline: 200 }] }),
)
const noVsync = folder.file('no-vsync.vcd', smallCapture('cga80', { omit: ['V'] }))

async function report(argv: readonly string[]): Promise<PulsesReport & { status: number }> {
  const ran = await run(['pulses', ...argv, '--json'])
  expect(ran.stderr).toBe('')
  // strict: the schema's names and no others
  const parsed = pulsesSchema.parse(JSON.parse(ran.stdout))
  expect(parsed).toEqual(JSON.parse(ran.stdout))
  return { ...parsed, status: ran.status }
}

describe('exit status', () => {
  test.each([
    [clean, 0],
    [noVsync, 0],
    [faulty, 1],
    [oddFrame, 1],
  ])('%s: %d', async (file, status) => {
    expect((await run(['pulses', file])).status).toBe(status)
    expect((await report([file])).status).toBe(status)
  })

  it('is 2 for what cannot be read, and for a segment that is not there', async () => {
    expect((await run(['pulses', folder.join('nowhere.vcd')])).status).toBe(2)
    const ran = await run(['pulses', clean, '--segment', '7'])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toMatch(/no segment 7.*\n.*has 1/)
    expect((await run(['pulses', clean, '--clock', 'soon'])).status).toBe(2)
  })
})

describe('--json', () => {
  it('is one object, by its schema, with the names that are promised', async () => {
    const found = await report([faulty])
    expect(found.format).toBe('rastertap.pulses/1')
    expect(found.faultCounts).toMatchObject({ missing: 1, late: 1, early: 0, short: 0, width: 0 })
    expect(found.faultCounts.extra).toBeGreaterThan(20)
    expect(found.faults.length).toBe(found.faultCounts.extra + 2)
    expect(Object.keys(found.faults[0]!).sort()).toEqual(
      [
        ['kind', 'channel', 'timeSeconds', 'frame', 'scanline', 'offsetSeconds', 'widthSeconds', 'cause'],
        'lineCountError',
      ]
        .flat()
        .sort(),
    )
    expect(found.frames.map(({ frame }) => frame)).toEqual([0, 1])
    for (const { frame, scanlines, countedEdges } of found.frames) {
      const errors = found.faults.filter((fault) => fault.frame === frame)
      expect(countedEdges).toBe(
        scanlines + errors.reduce((sum, { lineCountError }) => sum + lineCountError, 0),
      )
    }
    expect(found.jitter).toMatchObject({ belowResolution: false })
    expect(found.remedy!.holdOffSeconds!.min).toBeGreaterThan(0.7e-6)
  })

  it('has null where nothing was to be found', async () => {
    expect(await report([clean])).toMatchObject({ faults: [], remedy: null, vsyncRemedy: null, oddFrames: 0 })
    expect(await report([noVsync])).toMatchObject({ faults: [], frames: [], usualScanlines: null })
  })
})

describe('the text', () => {
  it('says first whether the sync is clean', async () => {
    expect((await run(['pulses', clean])).stdout).toMatch(/^No sync faults\n/)
    const ran = await run(['pulses', faulty])
    expect(ran.stdout).toMatch(/^\d+ sync faults: \d+ extra, 1 missing, 1 late\n/)
    expect(ran.stdout.replace(/\s+/g, ' ')).toMatch(/counter of sync edges gains \d+ and loses 1 /)
    expect(ran.stdout.replace(/\s+/g, ' ')).toMatch(/- ringing \(\d+\): [^-]*series resistor/)
    expect(ran.stdout).toMatch(/^ +0 +262 +\d+ +\+?-?\d+$/m)
    const odd = await run(['pulses', oddFrame])
    expect(odd.stdout).toMatch(/^1 frame of unusual length\n/)
    expect(odd.stdout).toMatch(/^ +1 +261 +261 +0$/m)
  })

  it('gives filters in clocks of the adapter too', async () => {
    const { remedy } = await report([faulty])
    const without = (await run(['pulses', faulty])).stdout
    expect(without).not.toContain('clocks')
    const { stdout } = await run(['pulses', faulty, '--clock', '20M'])
    const [from, to] = [remedy!.holdOffSeconds!.min, remedy!.holdOffSeconds!.max].map(
      (seconds) => seconds * 20e6,
    )
    expect(stdout.replace(/\s+/g, ' ')).toContain(`(${Math.ceil(from!)} to ${Math.floor(to!)} clocks)`)
    const slow = (await run(['pulses', faulty, '--clock', '10k'])).stdout
    expect(slow.replace(/\s+/g, ' ')).toContain('(no whole number of clocks)')
  })

  it('stays within 80 columns, with colours and without, chart included', async () => {
    for (const file of [clean, faulty, oddFrame, noVsync]) {
      const plain = await run(['pulses', file, '--plot', '--clock', '125M'], { env: { NO_COLOR: '1' } })
      const chart = plain.stdout.split('\n').filter((line) => /[\u2800-\u28ff]/.test(line))
      expect(chart.length).toBe(6)
      for (const line of plain.stdout.split('\n')) expect([...line].length).toBeLessThanOrEqual(80)
      // eslint-disable-next-line no-control-regex
      expect(plain.stdout).not.toMatch(/\u001b/)
      // a chart of blanks shows nothing
      expect(chart.some((line) => /[\u2801-\u28ff]/.test(line))).toBe(true)
      expect((await run(['pulses', file])).stdout).not.toMatch(/[\u2800-\u28ff]/)
    }
  })
})

it('prints what the README shows', async () => {
  const readme = readFileSync(new URL('../../README.md', import.meta.url), 'utf8')
  const command = 'rastertap pulses fixtures/demo/tide-board.vcd.gz --clock 125M'
  const shown = readme
    .split(`    ${command}\n\n`)[1]!
    .split(/\n(?=[^ \n])/)[0]!
    .trimEnd()
    .replace(/^ {4}/gm, '')
  const { stdout, status } = await run(command.split(' ').slice(1))
  expect(status).toBe(1)
  expect(shown.split('\n').length).toBeGreaterThan(15)
  expect(stdout.startsWith(`${shown}\n`)).toBe(true)
})

describe('--csv', () => {
  it('writes one row for each pulse, in columns that a spreadsheet reads', async () => {
    const table = folder.join('table.csv')
    const found = await report([faulty, '--csv', table])
    const [head, ...rows] = readFileSync(table, 'utf8').trimEnd().split('\n')
    expect(head).toBe('kind,channel,time_s,scanline,offset_s,width_s')
    const cells = rows.map((row) => row.split(','))
    for (const row of cells) {
      expect(row.length).toBe(6)
      expect(['hsync', 'vsync']).toContain(row[1])
      for (const [column, cell] of row.entries())
        if (column > 1 && cell !== '') expect(Number.isFinite(Number(cell))).toBe(true)
    }
    for (const kind of ['extra', 'missing', 'late'] as const) {
      const told = cells.filter(([name]) => name === kind)
      expect(told.length).toBe(found.faultCounts[kind])
      const times = found.faults.filter((fault) => fault.kind === kind).map(({ timeSeconds }) => timeSeconds)
      told.forEach((row, i) => expect(Number(row[2])).toBeCloseTo(times[i]!, 9))
    }
    const vsyncs = cells.filter(([, channel]) => channel === 'vsync')
    expect(vsyncs.length).toBe(3)
    // nothing came before the first; the others keep to the frame
    expect(
      vsyncs.map(([kind, , , , offset]) => [kind, offset === '' ? NaN : Math.abs(Number(offset)) < 0.2e-6]),
    ).toEqual([
      ['true', NaN],
      ['true', true],
      ['true', true],
    ])
    // true pulses carry their own offset: as much as the card jitters
    const offsets = cells
      .filter(([kind, channel]) => kind === 'true' && channel === 'hsync')
      .map((row) => Number(row[4]))
    const rms = Math.sqrt(offsets.reduce((sum, off) => sum + off * off, 0) / offsets.length)
    expect(rms).toBeGreaterThan(15e-9)
    expect(rms).toBeLessThan(40e-9)
    // 3.2 frames of scanlines, but for the missing one, the late one, and the ends
    const scanlines = cells.filter(([kind, channel]) => kind === 'true' && channel === 'hsync').length
    expect(Math.abs(scanlines - (3.2 * 262 - 2))).toBeLessThan(2)
    expect(cells.find(([kind]) => kind === 'missing')![5]).toBe('')
  })

  it('leaves nothing behind where the capture cannot be measured', async () => {
    const broken = folder.file(
      'broken.vcd',
      `${readFileSync(clean, 'latin1').slice(0, 40_000)}\nnonsense here\n`,
    )
    const table = folder.join('never.csv')
    for (const argv of [[broken], [clean, '--segment', '3'], [folder.join('nowhere')]]) {
      const ran = await run(['pulses', ...argv, '--csv', table])
      expect(ran).toMatchObject({ status: 2, stdout: '' })
      expect(ran.stderr).not.toMatch(/rows end early|bug/)
      expect(existsSync(table)).toBe(false)
    }
    expect(readdirSync(folder.path).filter((name) => name.endsWith('.part'))).toEqual([])
  })

  it('keeps an existing file unless told otherwise, and never the capture', async () => {
    const table = folder.file('there.csv', 'mine')
    expect(await run(['pulses', clean, '--csv', table])).toMatchObject({ status: 2, stdout: '' })
    expect(readFileSync(table, 'utf8')).toBe('mine')
    expect((await run(['pulses', clean, '--csv', table, '--force'])).status).toBe(0)
    expect(readFileSync(table, 'utf8')).toMatch(/^kind,/)
    expect((await run(['pulses', clean, '--csv', clean, '--force'])).status).toBe(2)
    expect((await run(['pulses', clean, '--csv', folder.join('no/such/folder.csv')])).status).toBe(2)
  })
})

describe('rows as they are written', () => {
  const row = `${'x'.repeat(99)}\n`

  it('wait for the disk: no more than a few blocks are held', async () => {
    const rows = new RowStream()
    const seen: number[] = []
    const reader = (async () => {
      let bytes = 0
      for await (const block of rows) {
        await new Promise((resolve) => setTimeout(resolve, 1))
        bytes += block.length
        seen.push(block.length)
      }
      return bytes
    })()
    let held = 0
    for (let i = 0; i < 20_000; i++) {
      rows.add(row)
      if (i % 100 === 0) await rows.flush()
      held = Math.max(held, 100 * (i + 1) - seen.reduce((sum, length) => sum + length, 0))
    }
    rows.end()
    expect(await reader).toBe(20_000 * 100)
    expect(held).toBeLessThan(600_000)
    expect(Math.max(...seen)).toBeLessThan(70_000)
  })

  it('end with an error where they are abandoned, and say so to their maker where nobody reads on', async () => {
    const abandoned = new RowStream()
    abandoned.add(row)
    abandoned.abandon()
    await expect(abandoned[Symbol.asyncIterator]().next()).rejects.toThrow(AbandonedError)

    const unread = new RowStream()
    for (let i = 0; i < 5000; i++) unread.add(row)
    for await (const block of unread) {
      expect(block.length).toBeGreaterThan(0)
      break
    }
    await expect(unread.flush()).rejects.toThrow(AbandonedError)
  })
})
