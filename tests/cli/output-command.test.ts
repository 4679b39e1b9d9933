// `output`: what to send to the monitor, and whether an adapter sends it. Files that commands write: output.test.ts.

import { afterAll, describe, expect, it, test } from 'vitest'
import { outputSchema, STANDARDS, type OutputReport } from '../../src/index.ts'
import { smallCapture } from '../support/small-captures.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const ega = folder.file('ega.vcd', smallCapture('ega350with366'))

async function json(argv: readonly string[], expected = 0): Promise<OutputReport> {
  const { status, stdout, stderr } = await run(['output', ...argv, '--json'])
  expect({ status, stderr }).toEqual({ status: expected, stderr: '' })
  const report = outputSchema.parse(JSON.parse(stdout))
  expect(report).toEqual(JSON.parse(stdout))
  return report
}

describe('output', () => {
  test('200 lines at 15.7 kHz double to 31.4 kHz with a scanline buffer', async () => {
    const { choices, input } = await json(['--mode', 'cga-200'])
    expect(input).toMatchObject({ standard: 'cga-200', activeDots: 640, activeScanlines: 200 })
    expect(choices[0]).toMatchObject({
      id: 'vga-480-60',
      scanlineRepeat: 2,
      lineBufferOnly: true,
      frameRateBeatHz: 0,
      bufferBytes: 1280,
    })
    expect(choices[0]!.hsyncHz / 1e3).toBeCloseTo(31.4, 1)
  })

  test('640x350 at a byte a dot needs 224 000 bytes', async () => {
    const { choices, input } = await json([ega, '--bits-per-dot', '8', '--ram', '224000'])
    expect(input).toMatchObject({ standard: 'ega-350', activeDots: 640, activeScanlines: 350 })
    expect(choices[0]).toMatchObject({ id: 'vga-350-70', bufferBytes: 224_000, fits: true })
    expect(choices[0]!.frameRateBeatHz).toBeCloseTo(25.175e6 / 800 / 449 - input!.vsyncHz, 6)
  })

  it('exits with 1 where nothing fits, and still tells what there is', async () => {
    const { choices } = await json([ega, '--ram', '100K'], 1)
    expect(choices.length).toBeGreaterThan(0)
    expect(choices.some(({ fits }) => fits)).toBe(false)
    const { status, stdout } = await run(['output', ega, '--ram', '100K'])
    expect(status).toBe(1)
    expect(stdout).toMatch(/^Nothing fits: the smallest buffer is 224000 bytes, the adapter has 102400\n/)
    // packed at 3 bits a dot it does
    expect((await run(['output', ega, '--ram', '100K', '--bits-per-dot', '3'])).status).toBe(0)
  })

  it('counts every mode of the catalogue that a monitor can be sent, whatever the card', async () => {
    for (const { id } of STANDARDS) {
      const { status, stdout } = await run(['output', '--mode', id, '--json'])
      const { choices, whyNotDirect } = outputSchema.parse(JSON.parse(stdout))
      expect(status).toBe(choices.some(({ fits }) => fits) ? 0 : 1)
      expect(whyNotDirect.length).toBeGreaterThan(0)
      const screen = (await run(['output', '--mode', id])).stdout
      expect(screen.split('\n').filter((line) => line.length > 80)).toEqual([])
    }
  })

  it('takes memory, bits and clock from the description', async () => {
    const { choices, ramBytes, bitsPerDot } = await json([
      '--mode',
      'ega-350',
      '--adapter',
      'fixtures/adapter/example.json',
    ])
    expect({ ramBytes, bitsPerDot }).toEqual({ ramBytes: 262_144, bitsPerDot: 8 })
    expect(choices[0]!.clock).toMatchObject({ withinTolerance: true })
    expect(choices[0]!.clock!.pll).toMatchObject({ referenceHz: 12e6 })
  })

  it('says first what to send, then the rest, why not a straight cable, and warns', async () => {
    const { stdout } = await run(['output', ega, '--ram', '264K'])
    expect(stdout).toMatch(
      /^Send VGA 640x350 at 70 Hz \(vga-350-70\), each scanline once: a frame of buffer,/,
    )
    expect(stdout).toMatch(/fewest tears: vga-480-60, each scanline once, one every 4\.\d+ s/)
    expect(stdout).toMatch(/21\.85 kHz; most VGA monitors refuse less than 31 kHz/)
    expect(stdout).toMatch(/CRT made for one scanline rate can be damaged/)
    expect(stdout).toMatch(/charge that can kill/)
    expect(stdout.split('\n').filter((line) => line.length > 80)).toEqual([])
  })

  it('marks what a capture does not show', async () => {
    const noVsync = folder.file('no-vsync.vcd', smallCapture('cga80', { omit: ['V'] }))
    const { input } = await json([noVsync])
    expect(input!.assumed).toContain('frame rate')
    expect(input!.vsyncHz).toBeCloseTo(59.92, 1)
  })
})

describe('output --check', () => {
  const sync = { omit: ['R1', 'G1', 'B1', 'R0', 'G0', 'B0'], picture: 'dark', sampleRateHz: 100e6 } as const
  const good = folder.file('good.vcd', smallCapture('vga480', { ...sync, dotClockErrorPpm: 993 }))

  it('passes an output of 252 MHz / 10: +993 ppm, within the 0.5 % of VESA', async () => {
    const { check } = await json([good, '--check', 'vga-480-60'])
    expect(check).toMatchObject({ id: 'vga-480-60', pass: true })
    const rate = check!.findings.find(({ what }) => what === 'scanline rate')!
    expect(rate.deviationPpm).toBeCloseTo(993, -1)
    expect(rate.tolerancePpm).toBeCloseTo(5000, 6)
    expect(check!.findings.find(({ what }) => what === 'dots per scanline')!.pass).toBeNull()
    const { stdout } = await run(['output', good, '--check', 'vga-480-60'])
    expect(stdout).toMatch(/^VGA 640x480 at 60 Hz \(vga-480-60\): pass\n/)
    expect(stdout).toMatch(/1 value not captured and not judged: dots per scanline/)
  })

  it('fails another mode with exit 1, names what is wrong, and warns of the rate', async () => {
    const { check } = await json([good, '--check', 'vga-400-70'], 1)
    const wrong = check!.findings.filter(({ pass }) => pass === false).map(({ what }) => what)
    expect(wrong).toEqual(['frame rate', 'scanlines per frame', 'vsync polarity'])
    const { status, stdout } = await run(['output', good, '--check', 'vga-400-70'])
    expect(status).toBe(1)
    expect(stdout).toMatch(/: fail: frame rate, scanlines per frame, vsync\s+polarity\n/)
    expect(stdout).toMatch(/connect no monitor yet/)
    expect(stdout.split('\n').filter((line) => line.length > 80)).toEqual([])
  })
})

describe('refused', () => {
  test.each([
    { argv: [], said: 'a capture is wanted, or --mode' },
    { argv: [ega, '--mode', 'cga-200'], said: 'exclude each other' },
    { argv: ['--mode', 'cga-201'], said: 'there is no mode cga-201' },
    { argv: ['--mode', 'zzz'], said: '`rastertap modes` lists' },
    { argv: ['--check', 'vga-480-60'], said: '--check wants a capture' },
    { argv: [ega, '--check', 'vga-99'], said: 'there is no mode vga-99' },
    { argv: ['--mode', 'cga-200', '--ram', 'lots'], said: 'bytes are wanted' },
    { argv: ['--mode', 'cga-200', '--bits-per-dot', '0'], said: 'a whole number from 1 to 32' },
  ])('$said', async ({ argv, said }) => {
    const ran = await run(['output', ...argv])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(said)
  })
})
