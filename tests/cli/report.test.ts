// `report` in process: one page that stands alone, says what the other commands say, and can be made again.

import { createHash } from 'node:crypto'
import { existsSync, readFileSync } from 'node:fs'
import { gzipSync } from 'node:zlib'
import { afterAll, describe, expect, it, test } from 'vitest'
import { smallCapture } from '../support/small-captures.ts'
import type { TimingKey } from '../support/timings.ts'
import { run, TemporaryFolder, type Ran } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

/** A channel that a careless page would run. */
const EVIL = '<script>alert(1)</script>'
const MAP = ['--map', `blue=${EVIL}`]
const bytes = smallCapture('cga80', {
  rename: { B: EVIL },
  ringing: { edge: 'trailing', delaySeconds: 0.3e-6, widthSeconds: 0.2e-6, probability: 0.02 },
  missingHsync: [{ frame: 1, scanline: 90 }],
})
const capture = folder.file('ringing.vcd', bytes)

let pages = 0

async function made(argv: readonly string[], stdin: Uint8Array[] = []): Promise<{ page: string; ran: Ran }> {
  const output = folder.join(`page-${pages++}.html`)
  const ran = await run(['report', ...argv, '-o', output], { stdin })
  expect(ran).toMatchObject({ status: 0, stderr: '' })
  return { page: readFileSync(output, 'utf8'), ran }
}

const { page, ran } = await made([capture, ...MAP])

/** Table rows by their heading; each cell's number where it has one. */
function rowsOf(caption: string): { head: string; cells: (number | string)[] }[] {
  const from = page.indexOf(`aria-label="${caption}"`)
  expect(from).toBeGreaterThan(0)
  const table = page.slice(from, page.indexOf('</table>', from))
  return [...table.matchAll(/<tr><th scope="row">(.*?)<\/th>(.*?)<\/tr>/gs)].map(([, head, rest]) => ({
    head: head!,
    cells: [...rest!.matchAll(/<td[^>]*>(.*?)<\/td>/gs)].map(([, cell]) => valueOf(cell!) ?? cell!),
  }))
}

function valueOf(markup: string): number | undefined {
  const value = /<data value="([^"]*)"/.exec(markup)?.[1]
  return value === undefined ? undefined : Number(value)
}

async function json<T>(...argv: string[]): Promise<T> {
  return JSON.parse((await run([...argv, capture, ...MAP, '--json'])).stdout) as T
}

describe('the page', () => {
  it('is announced with its size and the verdict', () => {
    const said = ran.stdout.replaceAll(/\s+/g, ' ')
    expect(said).toContain('.html: ')
    expect(said).toMatch(/\d+ kB\. This is CGA.*; its sync has \d+ extra and 1 missing pulses, so/)
  })

  it('fetches nothing', () => {
    expect(page).not.toMatch(/<(?:link|iframe|object|embed|base|form)\b/)
    const sources = [...page.matchAll(/\b(?:src|href|action|data)="([^"]*)"/g)].map(([, url]) => url!)
    expect(sources.length).toBeGreaterThan(8)
    expect(sources.filter((url) => !url.startsWith('#') && !url.startsWith('data:image/png'))).toEqual([])
    const [, style] = /<style>([^]*?)<\/style>/.exec(page)!
    expect(style).not.toMatch(/url\(|@import/)
  })

  it('lets only its own two scripts run', () => {
    const [, policy] = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(page)!
    const scripts = [...page.matchAll(/<script>([^]*?)<\/script>/g)].map(([, source]) => source!)
    expect(scripts).toHaveLength(2)
    const digests = scripts.map((source) => createHash('sha256').update(source).digest('base64'))
    expect(policy!.replaceAll('&#39;', "'")).toBe(
      `default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src ` +
        `${digests.map((digest) => `'sha256-${digest}'`).join(' ')}; base-uri 'none'; form-action 'none'`,
    )
    expect(page).not.toMatch(/<[^>]* on[a-z]+=/)
  })

  it('shows a channel named like a script as that', () => {
    expect(page).not.toContain(EVIL)
    expect(page).toContain('<span class="strong">&lt;script&gt;alert(1)&lt;/script&gt;</span> blue')
  })

  it('is the same when made again', async () => {
    const again = await made([capture, ...MAP])
    const named = (text: string): string => text.replaceAll(/page-\d+\.html/g, 'page.html')
    expect(named(again.page)).toBe(named(page))
  })

  it('says how it was made', () => {
    expect(page).toContain(createHash('sha256').update(bytes).digest('hex'))
    expect(page).toContain(`${bytes.length} bytes`)
    expect(page).toContain('rastertap 0.1.0')
    const command = `rastertap report ${capture} --map '${MAP[1]}' -o ${folder.join('page-0.html')}`
    expect(page).toContain(
      `<code>${command.replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll("'", '&#39;')}</code>`,
    )
  })

  it('keeps every part named in the contents', () => {
    const targets = [...page.matchAll(/<li><a href="#(\w+)">/g)].map(([, id]) => id!)
    expect(targets).toHaveLength(10)
    for (const id of targets) expect(page).toContain(`<section id="${id}" aria-labelledby="${id}-title">`)
  })
})

describe('the numbers are those of the other commands', () => {
  it('identify', async () => {
    const { main } = await json<{
      main: {
        hsync: { frequencyHz: { value: number }; widthSeconds: { value: number } }
        vsync: { frequencyHz: { value: number }; widthScanlines: number }
        raster: { scanlinesPerFrame: number; dotsPerScanline: number; dotClockHz: { value: number } }
      }
    }>('identify')
    const measured = Object.fromEntries(
      rowsOf('Timing, measured against nominal').map(({ head, cells }) => [head, cells[0]]),
    )
    expect(measured).toMatchObject({
      'scanline rate': main.hsync.frequencyHz.value,
      'frame rate': main.vsync.frequencyHz.value,
      'scanlines per frame': main.raster.scanlinesPerFrame,
      'dots per scanline': main.raster.dotsPerScanline,
      'dot clock': main.raster.dotClockHz.value,
      hsync: main.hsync.widthSeconds.value,
      vsync: main.vsync.widthScanlines,
    })
  })

  it('pulses', async () => {
    const pulses = await json<{
      faults: Record<
        'timeSeconds' | 'offsetSeconds' | 'widthSeconds' | 'scanline' | 'lineCountError',
        number
      >[]
      jitter: { periodRmsSeconds: number; cycleToCycleRmsSeconds: number; resolutionSeconds: number }
    }>('pulses')
    const rows = rowsOf('Sync faults one by one')
    expect(rows).toHaveLength(pulses.faults.length)
    expect(rows.length).toBeGreaterThan(4)
    for (const [i, { head, cells }] of rows.entries()) {
      const fault = pulses.faults[i]!
      expect([cells[1], Number(cells[3]), cells[4]]).toEqual([
        fault.timeSeconds,
        fault.scanline,
        fault.offsetSeconds,
      ])
      expect(cells[5]).toBe(head === 'missing' ? '–' : fault.widthSeconds)
      expect(Number(cells[7])).toBe(fault.lineCountError)
    }
    const jitter = rowsOf('Jitter of the scanlines')
    expect(jitter[0]!.cells).toEqual([pulses.jitter.periodRmsSeconds, pulses.jitter.resolutionSeconds])
    expect(jitter[2]!.cells[0]).toBe(pulses.jitter.cycleToCycleRmsSeconds)
  })

  it('sampling and output', async () => {
    const { plans } = await json<{ plans: Record<string, number>[] }>('sampling')
    const rows = rowsOf('Sampling clocks and their bands')
    for (const [i, plan] of plans.slice(0, 4).entries()) {
      expect(valueOf(rows[i]!.head)).toBe(plan.sampleClockHz)
      const { clocksPerDot, errorPpm, slipDots, bands, eyeMarginFraction, clockTolerancePpm } = plan
      expect(rows[i]!.cells.slice(0, 6)).toEqual([
        clocksPerDot,
        errorPpm,
        slipDots,
        bands,
        eyeMarginFraction,
        clockTolerancePpm,
      ])
    }
    const { choices } = await json<{
      choices: { id: string; hsyncHz: number; vsyncHz: number; bufferBytes: number; beatSeconds: number }[]
    }>('output')
    for (const [i, { head, cells }] of rowsOf('Output modes that hold the picture').entries()) {
      const choice = choices[i]!
      expect(head).toBe(choice.id)
      expect(cells.slice(3, 5)).toEqual([choice.hsyncHz, choice.vsyncHz])
      expect(Number(cells[5])).toBe(choice.bufferBytes)
    }
  })
})

describe('every fault is drawn', () => {
  it('with all channels, wherever in the capture it is', async () => {
    const { faults } = await json<{ faults: unknown[] }>('pulses')
    const drawings = page.match(/<svg class="drawing waveform"[^]*?<\/svg>/g)!
    expect(drawings).toHaveLength(Math.min(24, faults.length))
    for (const drawing of drawings) expect(drawing.match(/class="wave"/g)).toHaveLength(6)
  })

  it('late in a long capture too', async () => {
    const long = folder.file(
      'long.vcd',
      smallCapture('cga80', { picture: 'rectangle', frames: 9, missingHsync: [{ frame: 8, scanline: 50 }] }),
    )
    const { page: text } = await made([long])
    expect(text).toContain('frame 7, scanline 50')
    expect(text.match(/<svg class="drawing waveform"/g)).toHaveLength(1)
  })
})

describe('what it is given', () => {
  it('may come through standard input, packed: the digest is that of what came', async () => {
    const packed = gzipSync(bytes)
    const { page: text } = await made(['-', ...MAP], [packed.subarray(0, 9), packed.subarray(9)])
    expect(text).toContain(createHash('sha256').update(packed).digest('hex'))
    expect(text).toContain('standard input')
  })

  const others: readonly [string, TimingKey, Parameters<typeof smallCapture>[1], RegExp][] = [
    ['no colours', 'cga80', { omit: ['R', 'G', 'B', 'I'] }, /id="picture"[^]*this page: no colour channel/],
    ['no vsync', 'cga80', { omit: ['V'] }, /Not on this page: no two vsync pulses/],
    ['a mode of no catalogue', 'uncatalogued', { sampleRateHz: 50e6 }, /This is none of the known standards/],
    ['samples too coarse for dots', 'cga80', { sampleRateHz: 10e6 }, /“Assumed” is what the capture/],
    ['two fields', 'interlaced', { frames: 3.2, sampleRateHz: 100e6 }, /<h3>One field<\/h3>/],
    ['one wire for both syncs', 'cga80', { composite: { kind: 'xor', polarity: 'negative' } }, />csync, /],
    ['a dark picture', 'cga80', { picture: 'dark' }, /id="eye"[^]*Not on this page/],
  ]
  test.each(others)('makes a page of a capture with %s', async (name, key, options, expected) => {
    const file = folder.file(`${name}.vcd`, smallCapture(key, options))
    const { page: text } = await made([file])
    // a page is too long to be printed where it does not match
    expect({ name, matches: expected.test(text) }).toEqual({ name, matches: true })
    const said = text.replaceAll(/<script>[^]*?<\/script>/g, '')
    expect(/.{0,40}(?:NaN|undefined|Infinity|\[object).{0,40}/.exec(said)?.[0]).toBeUndefined()
  })

  it('stays below 2 MB for ten frames of the busiest picture, with more faults than are drawn', async () => {
    const busy = folder.file(
      'busy.vcd',
      smallCapture('ega350with366', {
        picture: 'dither',
        frames: 10.2,
        sampleRateHz: 50e6,
        ringing: { edge: 'trailing', delaySeconds: 0.3e-6, widthSeconds: 0.2e-6, probability: 0.05 },
      }),
    )
    const { page: text } = await made([busy])
    expect(text.match(/<svg class="drawing waveform"/g)).toHaveLength(24)
    expect(Buffer.byteLength(text)).toBeLessThan(2e6)
  }, 30_000)

  it('answers about the clock, the adapter and the memory that are named', async () => {
    const { page: text } = await made([capture, ...MAP, '--clock', '125M', '--ram', '16K'])
    expect(text).toMatch(/<p class="lead">125 MHz \/ \d+: \d+ bands/)
    expect(text).toContain('asked about')
    expect(text).toMatch(/<th scope="col">fits<\/th>/)
    const { page: described } = await made([capture, ...MAP, '--adapter', 'fixtures/adapter/pll-rp2040.json'])
    expect(described).toContain('that the described PLL can make')
  })
})

describe('what goes wrong', () => {
  it('leaves an existing file alone unless forced', async () => {
    const there = folder.file('there.html', 'mine')
    expect(await run(['report', capture, '-o', there])).toMatchObject({ status: 2, stdout: '' })
    expect(readFileSync(there, 'utf8')).toBe('mine')
    expect(await run(['report', capture, '-o', there, '--force'])).toMatchObject({ status: 0 })
    expect(readFileSync(there, 'utf8')).toMatch(/^<!doctype html>/)
  })

  test.each([
    ['a capture that is none', [folder.file('none.vcd', 'hello'), '-o', 'x.html'], /CSV_NO_ROWS/],
    ['no output', [capture], /output/],
    ['a palette of no name', [capture, '-o', folder.join('x.html'), '--palette', 'sepia'], /sepia/],
    [
      'an adapter that is not there',
      [capture, '-o', folder.join('x.html'), '--adapter', 'nowhere.json'],
      /nowhere/,
    ],
  ])('says so and writes nothing: %s', async (_, argv, expected) => {
    const ended = await run(['report', ...argv])
    expect(ended).toMatchObject({ status: 2, stdout: '' })
    expect(ended.stderr).toMatch(expected)
    expect(existsSync(folder.join('x.html'))).toBe(false)
  })
})
