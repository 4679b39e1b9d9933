// The commands in process: answers, exit statuses, words for what is typed wrong.

import { readFileSync } from 'node:fs'
import { PNG } from 'pngjs'
import { afterAll, describe, expect, it, test } from 'vitest'
import { identifySchema } from '../../src/report/identify-schema.ts'
import { modesSchema } from '../../src/report/modes-schema.ts'
import { renderSchema } from '../../src/report/render-schema.ts'
import { smallCapture } from '../support/small-captures.ts'
import { TIMINGS } from '../support/timings.ts'
import { run, TemporaryFolder } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const cga = folder.file('cga.vcd', smallCapture('cga80'))
const slowVga = folder.file('vga.vcd', smallCapture('vga480'))
const unknown = folder.file('unknown.vcd', smallCapture('uncatalogued', { sampleRateHz: 50e6 }))
const plainNames = folder.file(
  'plain.csv',
  smallCapture('cga80', {
    rename: { H: 'D6', V: 'D7', R: 'D3', G: 'D2', B: 'D1', I: 'D0' },
    form: { kind: 'csv', rows: 'per-change', time: 'nanoseconds' },
  }),
)
const pins = folder.file(
  'pins.vcd',
  smallCapture('cga80', {
    rename: { H: 'pin8', V: 'pin9', R: 'pin3', G: 'pin4', B: 'pin5', I: 'pin6' },
  }),
)

interface Identified {
  capture: { channels: { name: string; role: string | null }[]; notices: { code: string }[]; file: string }
  main: {
    hsync: { frequencyHz: { value: number; uncertainty: number } }
    raster: { scanlinesPerFrame: number; dotsPerScanline: number }
    standard: { id: string } | null
  }
}

async function identified(argv: readonly string[]): Promise<Identified> {
  const ran = await run(['identify', ...argv, '--json'])
  expect(ran.stderr).toBe('')
  return JSON.parse(ran.stdout) as Identified
}

const rolesOf = ({ capture }: Identified): Record<string, string | null> =>
  Object.fromEntries(capture.channels.map(({ name, role }) => [name, role]))

describe('identify', () => {
  it('says first what the capture is, and exits with 0', async () => {
    const ran = await run(['identify', cga])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(ran.stdout.split('\n')[0]).toMatch(/^CGA.*\(cga-200\), confidence/)
    expect(ran.stdout).toMatch(/^scanlines per frame +262 +262$/m)
    expect(ran.stdout).toMatch(/^dots per scanline +912 +912$/m)
  })

  it('exits with 1 where no standard fits, and still describes the timing', async () => {
    const ran = await run(['identify', unknown])
    expect(ran).toMatchObject({ status: 1, stderr: '' })
    expect(ran.stdout.split('\n')[0]).toBe('None of the known standards')
    expect(ran.stdout).toMatch(/^scanlines per frame +560$/m)
    expect(ran.stdout).toMatch(/^dots per scanline +792$/m)
  })

  test.each([
    ['a known mode', cga, 0],
    ['a mode in no catalogue', unknown, 1],
    ['a clock that is only assumed', slowVga, 0],
    ['a CSV', plainNames, 0],
  ])('prints one JSON object that keeps the contract: %s', async (_, file, status) => {
    const ran = await run(['identify', file, '--json'])
    expect(ran).toMatchObject({ status, stderr: '' })
    const report = identifySchema.parse(JSON.parse(ran.stdout))
    expect(report.capture.file).toBe(file)
    expect(report.segments).toContainEqual(report.main)
  })

  it('gives the same JSON through standard input, but for the name', async () => {
    const bytes = readFileSync(cga)
    const chunks = [bytes.subarray(0, 1), bytes.subarray(1, 70_001), bytes.subarray(70_001)]
    const piped = await run(['identify', '-', '--json'], { stdin: chunks })
    const named = await run(['identify', cga, '--json'])
    const report = JSON.parse(piped.stdout) as Identified
    expect(report.capture.file).toBe('-')
    report.capture.file = cga
    expect(report).toEqual(JSON.parse(named.stdout))
  })

  it('keeps to 80 columns', async () => {
    const wide = await Promise.all([cga, slowVga, unknown, plainNames].map((file) => run(['identify', file])))
    const lines = wide
      .flatMap(({ stdout }) => stdout.split('\n'))
      .filter((line) => !line.includes(folder.path))
    expect(lines.length).toBeGreaterThan(40)
    expect(lines.filter((line) => line.length > 80)).toEqual([])
  })

  it('marks what is assumed', async () => {
    const { stdout } = await run(['identify', slowVga])
    expect(stdout).toMatch(/^dots per scanline +800 +800 +\(assumed\)$/m)
  })

  it('writes a command that can be pasted, whatever the file is called', async () => {
    const odd = folder.file("it's $HOME.vcd", readFileSync(cga))
    const { stdout } = await run(['identify', odd])
    expect(stdout.replaceAll(/\n +/g, ' ')).toContain(
      `rastertap render '${folder.path}/it'\\''s $HOME.vcd' -o frame.png`,
    )
  })
})

describe('colour', () => {
  // oxlint-disable-next-line no-control-regex -- the marks are control sequences
  const sgr = /\u001b\[/

  it('is there on a terminal', async () => {
    for (const argv of [['identify', cga], ['modes']]) {
      expect((await run(argv, { isTTY: true })).stdout).toMatch(sgr)
    }
  })

  it('adds nothing but marks', async () => {
    const coloured = await run(['identify', cga], { isTTY: true })
    const bare = await run(['identify', cga])
    // oxlint-disable-next-line no-control-regex -- the marks are control sequences
    expect(coloured.stdout.replaceAll(/\u001b\[\d+m/g, '')).toBe(bare.stdout)
  })

  test.each([
    ['no terminal', { isTTY: false }],
    ['NO_COLOR', { isTTY: true, env: { NO_COLOR: '1' } }],
    ['a terminal that cannot', { isTTY: true, env: { TERM: 'dumb' } }],
  ])('is not there: %s', async (_, options) => {
    for (const argv of [['identify', cga], ['modes'], ['identify', cga, '--json']]) {
      const ran = await run(argv, options)
      expect(ran.stdout.length).toBeGreaterThan(100)
      expect(ran.stdout).not.toMatch(sgr)
    }
  })

  it('is there where NO_COLOR is set to nothing', async () => {
    expect((await run(['modes'], { isTTY: true, env: { NO_COLOR: '' } })).stdout).toMatch(sgr)
  })

  it('never comes into JSON', async () => {
    expect((await run(['modes', '--json'], { isTTY: true })).stdout).not.toMatch(sgr)
  })
})

describe('options of the capture', () => {
  it('--map gives roles, also when repeated', async () => {
    const one = await identified([
      plainNames,
      '--map',
      'red=D3,hsync=D6,vsync=D7,green=D2,blue=D1,intensity=D0',
    ])
    expect(rolesOf(one)).toEqual({
      D6: 'hsync',
      D7: 'vsync',
      D3: 'red',
      D2: 'green',
      D1: 'blue',
      D0: 'intensity',
    })
    const two = await identified([plainNames, '--map', 'red=D3', '--map', 'green=d2, blue = D1'])
    expect(rolesOf(two)).toMatchObject({ D3: 'red', D2: 'green', D1: 'blue', D6: 'hsync' })
  })

  it('--connector tells what pins carry', async () => {
    expect(rolesOf(await identified([pins, '--connector', 'CGA']))).toEqual({
      pin8: 'hsync',
      pin9: 'vsync',
      pin3: 'red',
      pin4: 'green',
      pin5: 'blue',
      pin6: 'intensity',
    })
    expect(rolesOf(await identified([pins, '--connector', 'ega']))).toMatchObject({ pin6: 'secondary-green' })
    // found by behaviour; colours cannot be
    expect(rolesOf(await identified([pins]))).toMatchObject({ pin8: 'hsync', pin3: null })
  })

  test.each([
    ['24M', 24e6],
    ['24MHz', 24e6],
    ['24 MHz', 24e6],
    ['24e6', 24e6],
    ['24000k', 24e6],
    ['24000 kS/s', 24e6],
    ['0.024G', 24e6],
    ['.024GHz', 24e6],
    ['14.318181MHz', 14_318_181],
    ['270e6', 270e6],
    ['2.7E+8Hz', 270e6],
  ])('--rate %s is what a sample index is divided by', async (text, hertz) => {
    const file = folder.file(
      'samples.csv',
      smallCapture('cga80', {
        frames: 1.3,
        form: { kind: 'csv', rows: 'per-change', time: 'sample', rateComment: false },
      }),
    )
    const { main } = await identified([file, '--rate', text])
    // 24 MS/s in truth
    const { dotClockHz, h } = TIMINGS.cga80
    const scanlineHz = (dotClockHz / h.total) * (hertz / 24e6)
    expect(Math.abs(main.hsync.frequencyHz.value / scanlineHz - 1)).toBeLessThan(5e-6)
  })

  it('--time-unit says what the time column counts', async () => {
    const file = folder.file(
      'nanoseconds.csv',
      smallCapture('cga80', { form: { kind: 'csv', rows: 'per-change', time: 'false-seconds' } }),
    )
    const said = await identified([file, '--time-unit', 'NS'])
    expect(said.main.standard?.id).toBe('cga-200')
    expect(said.capture.notices.map(({ code }) => code)).not.toContain('TIME_UNIT_WRONG')
    const noticed = await identified([file])
    expect(noticed.main.standard?.id).toBe('cga-200')
    expect(noticed.capture.notices.map(({ code }) => code)).toContain('TIME_UNIT_WRONG')
  })
})

describe('render', () => {
  it('writes the picture and says what it is', async () => {
    const output = folder.join('cga.png')
    const ran = await run(['render', cga, '-o', output])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(ran.stdout).toMatch(/: frame 0, 640 x 200 dots,\s+cga-200,\s+palette rgbi\n/)
    const { width, height } = PNG.sync.read(readFileSync(output))
    expect([width, height]).toEqual([640, 200])
  })

  it('prints one JSON object that keeps the contract', async () => {
    const output = folder.join('cga-json.png')
    const ran = await run(['render', cga, '--output', output, '--json'])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(renderSchema.parse(JSON.parse(ran.stdout))).toEqual({
      format: 'rastertap.render/1',
      file: output,
      widthPixels: 640,
      heightPixels: 200,
      standard: 'cga-200',
      palette: 'rgbi',
      frame: 0,
      whole: true,
      dotsWithoutSample: 0,
      dotsInDispute: 0,
      merge: null,
    })
  })

  it('draws sync and porches with --full-raster', async () => {
    const output = folder.join('full.png')
    expect((await run(['render', cga, '-o', output, '--full-raster', '--palette', 'grey'])).status).toBe(0)
    const { width, height } = PNG.sync.read(readFileSync(output))
    expect([width, height]).toEqual([912, 262])
  })

  it('draws an unknown mode too, and exits with 0: nothing was asked that has no for an answer', async () => {
    const output = folder.join('unknown.png')
    expect(await run(['render', unknown, '-o', output])).toMatchObject({ status: 0, stderr: '' })
    const { width, height } = PNG.sync.read(readFileSync(output))
    expect([width, height]).toEqual([656, 516])
  })

  it('draws the frame that is asked for', async () => {
    const file = folder.file('long.vcd', smallCapture('cga80', { frames: 3.4 }))
    const asked = await run(['render', file, '-o', folder.join('1.png'), '--frame', '1', '--json'])
    expect(asked.stderr).toBe('')
    expect(JSON.parse(asked.stdout)).toMatchObject({ frame: 1, whole: true })
  })
})

describe('modes', () => {
  it('lists all of them within 80 columns', async () => {
    const ran = await run(['modes'])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(ran.stdout).toMatch(/^cga-200 +640 x 200 +15\.700 +59\.92 +912 x 262 +14\.318 +\+\+$/m)
    expect(ran.stdout.split('\n').filter((line) => line.length > 80)).toEqual([])
  })

  it('prints one JSON object', async () => {
    const ran = await run(['modes', '--json'])
    expect(ran).toMatchObject({ status: 0, stderr: '' })
    expect(modesSchema.parse(JSON.parse(ran.stdout)).modes.length).toBeGreaterThan(20)
  })
})

describe('help', () => {
  it('gives an example for every command, and for the whole', async () => {
    const all = await run(['--help'])
    expect(all).toMatchObject({ status: 0, stderr: '' })
    const commands = [...all.stdout.matchAll(/^ {2}(\w+) (?:\[options\]|<)/gm)].map((match) => match[1]!)
    expect(commands).toEqual(expect.arrayContaining(['identify', 'render', 'modes']))
    expect(all.stdout).toMatch(/^example:\n {2}rastertap identify /m)
    for (const command of commands.filter((name) => name !== 'help')) {
      const ran = await run([command, '--help'])
      expect(ran).toMatchObject({ status: 0, stderr: '' })
      expect(ran.stdout).toContain(`example:\n  rastertap ${command} `)
    }
  })

  it('knows the version of package.json', async () => {
    const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')) as {
      version: string
    }
    expect(await run(['--version'])).toEqual({ status: 0, stdout: `${version}\n`, stderr: '' })
  })
})

describe('what is typed wrong', () => {
  test.each([
    ['identfy', 'identify'],
    ['rendre', 'render'],
    ['mode', 'modes'],
  ])('%s suggests %s', async (typed, meant) => {
    const ran = await run([typed, cga])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(`unknown command '${typed}'`)
    expect(ran.stderr).toContain(`Did you mean ${meant}?`)
  })

  test.each([
    ['no command', [], 'rastertap identify capture.vcd'],
    ['no capture', ['identify'], "missing required argument 'capture'"],
    ['two captures', ['identify', cga, cga], 'too many arguments'],
    ['an unknown option', ['identify', cga, '--jsno'], 'Did you mean --json?'],
    ['no output', ['render', cga], 'there is nowhere to draw to'],
    ['a role without a channel', ['identify', cga, '--map', 'red='], 'role=channel pairs are wanted'],
    ['a channel without a role', ['identify', cga, '--map', '=D3'], 'role=channel pairs are wanted'],
    ['no pair', ['identify', cga, '--map', 'red'], 'role=channel pairs are wanted'],
    ['a comma too many', ['identify', cga, '--map', 'red=R,'], 'role=channel pairs are wanted'],
    ['an unknown connector', ['identify', cga, '--connector', 'vga'], 'known connectors are mda, cga, ega'],
    [
      'an unknown unit',
      ['identify', cga, '--time-unit', 'min'],
      'known units are s, ms, us, ns, ps, samples',
    ],
    ['a rate of nothing', ['identify', cga, '--rate', '0'], 'a frequency is wanted'],
    ['a rate below nothing', ['identify', cga, '--rate=-24M'], 'a frequency is wanted'],
    ['a rate without end', ['identify', cga, '--rate', '1e999'], 'a frequency is wanted'],
    ['a rate in millihertz', ['identify', cga, '--rate', '24mHz'], 'a frequency is wanted'],
    ['a rate of two numbers', ['identify', cga, '--rate', '24 25'], 'a frequency is wanted'],
    ['a frame below 0', ['render', cga, '-o', 'x.png', '--frame=-1'], 'a number from 0 is wanted'],
    ['half a segment', ['render', cga, '-o', 'x.png', '--segment', '0.5'], 'a number from 0 is wanted'],
  ])('%s', async (_, argv, said) => {
    const ran = await run(argv)
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(said)
    expect(ran.stderr).not.toMatch(/^\s+at /m)
  })

  test.each([
    ['an unknown role', 'purple=R', 'CHANNEL_ROLE_UNKNOWN', 'roles are: hsync'],
    ['an unknown channel', 'red=D9', 'CHANNEL_NOT_FOUND', 'its channels are: H V R G B I'],
    ['one role twice', 'red=R,red=G', 'CHANNEL_ROLE_TWICE', 'once'],
    ['one channel twice', 'red=R,green=R', 'CHANNEL_ROLE_TWICE', 'once'],
  ])('a map with %s', async (_, map, code, hint) => {
    const ran = await run(['identify', cga, '--map', map])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(`[${code}]`)
    expect(ran.stderr).toContain(hint)
  })

  it('does not reach the terminal with what would move its cursor', async () => {
    for (const argv of [
      ['ident\u001b[2Jify'],
      ['identify', '\u001b]0;x\u0007.vcd'],
      ['identify', cga, '--map', 'r\u009b=x'],
    ]) {
      const ran = await run(argv)
      expect(ran.status).toBe(2)
      expect(ran.stderr.replaceAll('\n', '')).not.toMatch(/\p{Cc}/u)
    }
  })
})

describe('progress', () => {
  /** A capture whose second half is long in coming. */
  async function* slowly(): AsyncGenerator<Uint8Array> {
    const bytes = readFileSync(cga)
    yield bytes.subarray(0, 1000)
    await new Promise((resolve) => setTimeout(resolve, 800))
    yield bytes.subarray(1000)
  }

  it('is shown on a terminal when reading takes long, and wiped off', async () => {
    const ran = await run(['identify', '-', '--json'], { stdin: slowly(), isTTY: true })
    expect(ran.status).toBe(0)
    // oxlint-disable-next-line no-control-regex -- wiping is a control sequence
    expect(ran.stderr).toMatch(/^(?:\rread \d+ MB *)+\r\u001b\[K$/)
    expect(JSON.parse(ran.stdout)).toMatchObject({ format: 'rastertap.identify/1' })
  })

  it('is not written anywhere else, however long it takes', async () => {
    expect((await run(['identify', '-'], { stdin: slowly() })).stderr).toBe('')
  })

  it('is not written when reading is quick', async () => {
    expect((await run(['identify', cga], { isTTY: true })).stderr).toBe('')
  })
})
