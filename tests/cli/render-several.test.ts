// `render` of several frames: numbered files, a contact sheet, the difference of two, the terminal, square pixels.

import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PNG } from 'pngjs'
import { beforeAll, expect, it } from 'vitest'
import { drawSignal } from '../support/draw-signal.ts'
import { drawPicture } from '../support/pictures.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import { TIMINGS } from '../support/timings.ts'
import { writeCapture } from '../support/write-capture.ts'
import { run } from './run-main.ts'

const folder = mkdtempSync(join(tmpdir(), 'rastertap-several-'))
const capture = join(folder, 'three.vcd')
const timing = TIMINGS.cga80

beforeAll(() => {
  const signal = drawSignal(timing, drawPicture('text-full', timing), { frames: 3.3, startFrames: 0.9 })
  writeFileSync(
    capture,
    writeCapture(sampleSignal(signal, { sampleRateHz: 50e6, phase: 0.2 }), { kind: 'vcd' }),
  )
})

const png = (name: string): PNG => PNG.sync.read(readFileSync(join(folder, name)))

it('writes one numbered file for each whole frame, all alike for a still picture', async () => {
  const { status } = await run(['render', capture, '--frame', 'all', '-o', join(folder, 'f.png')])
  expect(status).toBe(0)
  expect(readdirSync(folder).filter((name) => name.startsWith('f-'))).toEqual([
    'f-0.png',
    'f-1.png',
    'f-2.png',
  ])
  expect(png('f-1.png').data.equals(png('f-0.png').data)).toBe(true)
})

it('puts them on one sheet', async () => {
  const { status } = await run(['render', capture, '--frame', 'all', '--sheet', '-o', join(folder, 's.png')])
  expect(status).toBe(0)
  expect([png('s.png').width, png('s.png').height]).toEqual([2 * 640 + 8, 2 * 200 + 8])
})

it('finds no difference between two frames of a still picture', async () => {
  const { status, stdout } = await run([
    'render',
    capture,
    '--difference',
    '0,2',
    '-o',
    join(folder, 'd.png'),
  ])
  expect([status, stdout.includes('frames 0 and 2 differ in 0 dots')]).toEqual([0, true])
})

it('says which frames there are when one is not', async () => {
  const { status, stderr } = await run([
    'render',
    capture,
    '--difference',
    '0,9',
    '-o',
    join(folder, 'e.png'),
  ])
  expect(status).toBe(2)
  expect(stderr).toContain('whole frames are 0, 1, 2')
})

it('makes blocks of square pixels in the shape of the monitor', async () => {
  const { status } = await run(['render', capture, '--aspect', '-o', join(folder, 'a.png')])
  expect(status).toBe(0)
  // 640x200 on a 4:3 monitor (common practice): two pixels across and five down come nearest
  expect([png('a.png').width, png('a.png').height]).toEqual([1280, 1000])
})

it('draws into the terminal without a file', async () => {
  const { status, stdout } = await run(['render', capture, '--terminal'])
  expect(status).toBe(0)
  expect(stdout.split('\n').length).toBeGreaterThan(20)
})

it('wants a file or the terminal', async () => {
  const { status, stderr } = await run(['render', capture])
  expect([status, stderr.includes('-o FILE.png')]).toEqual([2, true])
})

it('draws the timing to scale in 80 columns', async () => {
  const { stdout } = await run(['identify', capture, '--timing'])
  expect(stdout).toContain('One scanline: 912 dots')
  expect(Math.max(...stdout.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80)
})
