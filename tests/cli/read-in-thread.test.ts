// Reading in a thread of its own against reading in this one: the same measurement, the same error.

import { gzipSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest'
import { CaptureError } from '../../src/errors.ts'
import { CaptureMeasurer, type CaptureMeasurement, type MeasureOptions } from '../../src/measure.ts'
import { smallCapture } from '../support/small-captures.ts'
import { buildTool } from './built-tool.ts'
import { TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

type Reading = typeof import('../../src/cli/read-in-thread.ts')
type Measuring = typeof import('../../src/measure.ts')
let measureInThread: Reading['measureInThread']
let TransitionMeasurer: Measuring['TransitionMeasurer']

beforeAll(async () => {
  buildTool()
  // the compiled form: a thread starts from a file
  const compiled = (path: string): Promise<unknown> =>
    import(new URL(`../../dist/${path}`, import.meta.url).href)
  ;({ measureInThread } = (await compiled('cli/read-in-thread.js')) as Reading)
  ;({ TransitionMeasurer } = (await compiled('measure.js')) as Measuring)
}, 120_000)

function inThread(file: string, options: MeasureOptions = {}): Promise<CaptureMeasurement> {
  const { timeUnit, sampleRateHz } = options
  return measureInThread(file, new TransitionMeasurer(options), { timeUnit, sampleRateHz })
}

function inOne(bytes: Uint8Array, options: MeasureOptions = {}): CaptureMeasurement {
  const measurer = new CaptureMeasurer(options)
  measurer.write(bytes)
  return measurer.end()
}

describe('a thread that reads', () => {
  const vcd = smallCapture('cga80')
  const long = smallCapture('ega350with366', { frames: 24, sampleRateHz: 100e6, picture: 'dither' })
  const csv = smallCapture('mda', { form: { kind: 'csv', rows: 'per-change' } })
  test.each<[string, string, Uint8Array, MeasureOptions]>([
    ['a VCD', 'a.vcd', vcd, {}],
    ['a VCD of more rows than the threads hold between them', 'long.vcd', long, {}],
    ['a CSV', 'a.csv', csv, {}],
    ['with a channel mapped by hand', 'b.vcd', vcd, { map: [{ role: 'red', channel: 'G' }] }],
  ])('gives the same measurement: %s', async (_, name, bytes, options) => {
    const file = folder.file(name, bytes)
    expect(await inThread(file, options)).toEqual(inOne(bytes, options))
  })

  it('unpacks, and tells of a capture that breaks off', async () => {
    const packed = gzipSync(vcd)
    const whole = await inThread(folder.file('c.vcd.gz', packed))
    expect(whole).toEqual(inOne(vcd))
    const cut = await inThread(folder.file('d.vcd.gz', packed.subarray(0, (packed.length * 3) >> 2)))
    expect(cut.notices.map(({ code }) => code)).toContain('CAPTURE_GZIP_CUT_SHORT')
  })

  test.each<[string, (bytes: Buffer) => Buffer, MeasureOptions]>([
    [
      'a capture that breaks its format far in',
      (bytes) => Buffer.concat([bytes, Buffer.from('#0\n1!\n')]),
      {},
    ],
    ['one that is none', () => Buffer.from('neither of them'), {}],
    ['an empty one', () => Buffer.alloc(0), {}],
    ['one without sync', () => smallHead('$var wire 1 ! A $end\n', '#0 0! #5 1! #9 0!\n'), {}],
    ['a map that names no channel', (bytes) => bytes, { map: [{ role: 'hsync', channel: 'NOWHERE' }] }],
  ])('fails with the same error: %s', async (_, change, options) => {
    const bytes = change(Buffer.from(vcd))
    const expected = caught(() => inOne(bytes, options))
    const found: unknown = await inThread(folder.file('bad', bytes), options).catch((error: unknown) => error)
    const { name, message, code, at, hint } = expected
    expect(found).toMatchObject({ name, message, code, at, hint })
  })

  it('says of a file that is gone that it is', async () => {
    await expect(inThread(folder.join('nowhere.vcd'))).rejects.toMatchObject({ code: 'CAPTURE_NOT_READABLE' })
  })
})

function smallHead(declarations: string, body: string): Buffer {
  return Buffer.from(`$timescale 1 ns $end\n${declarations}$enddefinitions $end\n${body}`)
}

function caught(run: () => unknown): CaptureError {
  try {
    run()
  } catch (error) {
    if (error instanceof CaptureError) return error
    throw error
  }
  throw new Error('nothing was thrown')
}
