// Every screen for builders shows the cautions that belong to it, as text and as data, and stays within 80 columns.

import { mkdirSync, writeFileSync } from 'node:fs'
import { afterAll, describe, expect, test } from 'vitest'
import { cautionsFor, type CautionPlace } from '../../src/index.ts'
import { smallCapture } from '../support/small-captures.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const capture = folder.file('card.vcd', smallCapture('cga80'))
const monitor = folder.file('monitor.vcd', smallCapture('vga480', { sampleRateHz: 100e6 }))
let pictures = 0
const picture = (): string => folder.join(`seen${pictures++}.png`)

const screens: { name: string; argv: () => string[]; place: CautionPlace; status?: number }[] = [
  { name: 'sampling of a capture', argv: () => ['sampling', capture, '--clock', '250M'], place: 'capture' },
  {
    name: 'sampling of numbers',
    argv: () => ['sampling', '--dot-clock', '16M', '--active', '720'],
    place: 'capture',
  },
  { name: 'preview', argv: () => ['preview', capture, '-o', picture(), '--clock', '250M'], place: 'capture' },
  { name: 'resistors', argv: () => ['resistors'], place: 'resistors' },
  { name: 'resistors, rgbi', argv: () => ['resistors', '--network', 'rgbi'], place: 'resistors' },
  { name: 'output of a capture', argv: () => ['output', capture], place: 'output' },
  { name: 'output of a mode', argv: () => ['output', '--mode', 'mda-350'], place: 'output' },
  {
    name: 'output, nothing fits',
    argv: () => ['output', '--mode', 'mda-350', '--ram', '9K'],
    place: 'output',
    status: 1,
  },
  { name: 'output, checked', argv: () => ['output', monitor, '--check', 'vga-480-60'], place: 'output' },
  {
    name: 'output, checked and wrong',
    argv: () => ['output', capture, '--check', 'vga-480-60'],
    place: 'output',
    status: 1,
  },
]

describe('cautions', () => {
  test.each(screens)('$name', async ({ argv, place, status = 0 }) => {
    const screen = await run(argv())
    expect({ status: screen.status, stderr: screen.stderr }).toEqual({ status, stderr: '' })
    const words = screen.stdout.replace(/\s+/g, ' ')
    for (const { text } of cautionsFor(place)) expect(words).toContain(text)
    // names of files may be longer
    const long = screen.stdout.split('\n').filter((line) => line.length > 80 && !line.includes(folder.path))
    expect(long).toEqual([])
    const json = await run([...argv(), '--json'])
    expect(json.status).toBe(status)
    expect(JSON.parse(json.stdout).cautions).toEqual(cautionsFor(place))
  })
})

const hasControl = (text: string): boolean => text.includes('\u001b') || text.includes('\u202e')

describe('names of files', () => {
  test('never reach the terminal raw', async () => {
    const odd = folder.join('odd\u001b[31m\u202e.vcd')
    mkdirSync(folder.join('pictures'))
    writeFileSync(odd, smallCapture('cga80'))
    const screens = [
      ['sampling', odd],
      ['preview', odd, '-o', folder.join('pictures/a\u001b[2J.png'), '--clock', '157.5M', '--frames', '1'],
      ['output', odd],
      ['output', odd, '--check', 'vga-480-60'],
    ]
    for (const argv of screens) {
      const { stdout, stderr } = await run(argv)
      expect(stdout.length).toBeGreaterThan(100)
      for (const said of [stdout, stderr]) expect(hasControl(said)).toBe(false)
      const json = await run([...argv, '--json', ...(argv[0] === 'preview' ? ['--force'] : [])])
      expect(hasControl(json.stdout)).toBe(false)
    }
  })

  test('that need it are quoted in commands to paste', async () => {
    const spaced = folder.file('my card.vcd', smallCapture('cga80'))
    expect((await run(['output', spaced])).stdout).toContain(`'${spaced}'`)
  })
})
