// `render --merge` on the command line: what it prints, and what it refuses.

import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PNG } from 'pngjs'
import { beforeAll, describe, expect, it, vi } from 'vitest'
import { renderSchema } from '../../src/report/render-schema.ts'
import { drawSignal } from '../support/draw-signal.ts'
import { drawPicture } from '../support/pictures.ts'
import { playFrames } from '../support/play-frames.ts'
import { sampleSignal } from '../support/sample-signal.ts'
import { TIMINGS } from '../support/timings.ts'
import { writeCapture } from '../support/write-capture.ts'
import { run } from './run-main.ts'

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 })

const folder = mkdtempSync(join(tmpdir(), 'rastertap-merge-'))
const capture = join(folder, 'slow.vcd')
const inStep = join(folder, 'in-step.vcd')
const timing = TIMINGS.cga80
const still = drawPicture('text', timing)

beforeAll(() => {
  const block = { ...still, codes: still.codes.slice() }
  for (let row = 96; row < 104; row++) block.codes.fill(12, row * 640 + 320, row * 640 + 328)
  const options = { frames: 7.3, startFrames: 0.9 }
  const signals = [still, block].map((picture) => drawSignal(timing, picture, options))
  const blinking = playFrames(signals, (stretch) => stretch % 2)
  const instrument = { sampleRateHz: 10e6, phase: 0.2, clockErrorPpm: 10 }
  writeFileSync(capture, writeCapture(sampleSignal(blinking, instrument), { kind: 'vcd' }))
  const sampleRateHz = (timing.dotClockHz * 2) / 3
  writeFileSync(inStep, writeCapture(sampleSignal(signals[0]!, { sampleRateHz }), { kind: 'vcd' }))
})

describe('render --merge', () => {
  it('draws every dot of what is still, and lists what is not', async () => {
    const output = join(folder, 'merged.png')
    const ran = await run(['render', capture, '--merge', '-o', output])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(ran.stdout).toMatch(/: 7 frames merged, 640 x 200 dots,\s+cga-200,\s+palette rgbi\n/)
    expect(ran.stdout).toMatch(/912 dots per scanline, 14\.318\d+ MHz ± \S+ ppm \(measured\)/)
    expect(ran.stdout).toMatch(/\nblinks +32\d +9\d +8 x 8 +\d+\.\d+ Hz ± /)
    const { data } = PNG.sync.read(readFileSync(output))
    // outside the block, black where the text is not
    const dark = still.codes.reduce((sum, code, dot) => sum + (code === 0 && data[4 * dot] === 0 ? 1 : 0), 0)
    expect(dark).toBeGreaterThanOrEqual(still.codes.filter((code) => code === 0).length - 64)
  })

  it('prints JSON that keeps the contract', async () => {
    const output = join(folder, 'merged-json.png')
    const ran = await run(['render', capture, '--merge', '7', '-o', output, '--json'])
    const report = renderSchema.parse(JSON.parse(ran.stdout))
    expect(report).toMatchObject({ standard: 'cga-200', dotsWithoutSample: 0, widthPixels: 640 })
    expect(report.merge).toMatchObject({
      frames: 7,
      moreFrames: 0,
      dotsPerScanline: 912,
      dotClockFrom: 'measured',
      otherDotsPerScanline: [],
      sampleGridMoves: true,
      partsNotListed: 0,
    })
    expect(report.merge!.parts).toHaveLength(1)
    expect(report.merge!.parts[0]).toMatchObject({ kind: 'blinking' })
    expect(report.dotsInDispute).toBe(report.merge!.parts[0]!.dotsInDispute)
  })

  it('says how many more frames would do, and when none would', async () => {
    const few = await run(['render', capture, '--merge', '1', '-o', join(folder, 'few.png')])
    expect(few.stdout.replaceAll(/\s+/g, ' ')).toMatch(
      /[1-9]\d* dots of the picture without a sample .*\d more frames? would show them all/,
    )
    const standing = await run(['render', inStep, '--merge', '-o', join(folder, 'in-step.png')])
    expect(standing.stdout.replaceAll(/\s+/g, ' ')).toMatch(/is commensurate with the frame rate/)
  })

  it('begins with the frame that is asked for', async () => {
    const args = ['render', capture, '--merge', '3', '--frame', '2', '-o', join(folder, 'from.png'), '--json']
    expect(JSON.parse((await run(args)).stdout)).toMatchObject({ frame: 2, merge: { frames: 3 } })
  })

  it.each([
    [['--merge', '0'], 'from 1 to 64'],
    [['--merge', '65'], 'from 1 to 64'],
    [['--merge', '--frame', 'all'], 'one picture of several frames'],
    [['--merge', '--difference', '0,1'], 'one picture of several frames'],
  ])('refuses %j', async (args, message) => {
    const ran = await run(['render', capture, '-o', join(folder, 'no.png'), ...args])
    expect([ran.status, ran.stdout]).toEqual([2, ''])
    expect(ran.stderr).toContain(message)
  })
})
