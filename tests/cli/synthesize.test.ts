// `synthesize` on the command line: files that the other commands read, and words for what cannot be made.

import { existsSync, readFileSync, readdirSync } from 'node:fs'
import { gunzipSync } from 'node:zlib'
import { afterAll, describe, expect, it, test } from 'vitest'
import { encodePng } from '../../src/picture/png.ts'
import { paletteByName } from '../../src/picture/palette.ts'
import { synthesizeSchema } from '../../src/report/synthesize-schema.ts'
import { run, TemporaryFolder, type Ran } from './run-main.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

async function made(name: string, ...argv: string[]): Promise<Ran & { file: string }> {
  const file = folder.join(name)
  const ran = await run(['synthesize', '-o', file, '--frames', '2.2', ...argv])
  expect(ran).toMatchObject({ status: 0, stderr: '' })
  return { ...ran, file }
}

interface Identified {
  main: {
    standard: { id: string } | null
    raster: { dotsPerScanline: number; scanlinesPerFrame: number; dotClockHz: { value: number } }
    hsync: { polarity: string }
    vsync: { polarity: string }
    faults: Record<string, number>
  }
  capture: { sampleIntervalSeconds: number }
}

async function identified(file: string): Promise<Identified> {
  const ran = await run(['identify', file, '--json'])
  expect(ran.stderr).toBe('')
  return JSON.parse(ran.stdout) as Identified
}

describe('a capture', () => {
  it('is said in one sentence, with what to do next', async () => {
    const { stdout, file } = await made('plain.vcd', '--mode', 'cga-200')
    expect(stdout.replaceAll('\n', ' ')).toContain('CGA and compatible, 200 lines (cga-200), chart card,')
    expect(stdout).toContain(`rastertap identify ${file}`)
    expect((await identified(file)).main.standard!.id).toBe('cga-200')
  })

  test.each(['a.vcd', 'a.vcd.gz', 'a.csv', 'a.csv.gz', 'A.CSV.GZ'])(
    'has the form that its name tells: %s',
    async (name) => {
      const { file } = await made(name, '--mode', 'cga-200', '--force')
      const bytes = readFileSync(file)
      const text = (/gz$/i.test(name) ? gunzipSync(bytes) : bytes).toString()
      expect(text).toMatch(/vcd/.test(name) ? /^\$version/ : /^Time \[s\],HSYNC,VSYNC,R,G,B,I\n0\.0{9},/)
      expect((await identified(file)).main.standard!.id).toBe('cga-200')
    },
  )

  it('has the form that is asked for, whatever its name', async () => {
    const { file } = await made('b.txt', '--mode', 'cga-200', '--format', 'csv-ns')
    expect(readFileSync(file, 'utf8')).toMatch(/^Time \[ns\],HSYNC,/)
  })

  it('is the same every time, packed too, and says nothing of where it was made', async () => {
    const argv = ['--mode', 'ega-350', '--jitter', 'random=2', '--defect', 'spike:count=3', '--force']
    const first = readFileSync((await made('c.vcd.gz', ...argv)).file)
    const again = readFileSync((await made('c.vcd.gz', ...argv)).file)
    expect(first.equals(again)).toBe(true)
    // RFC 1952: magic, deflate, no name, no time; the compressor's own mark; unknown system
    expect([...first.subarray(0, 8)]).toEqual([0x1f, 0x8b, 8, 0, 0, 0, 0, 0])
    expect(first[9]).toBe(255)
    const other = readFileSync((await made('c.vcd.gz', ...argv, '--seed', '2')).file)
    expect(gunzipSync(other).equals(gunzipSync(first))).toBe(false)
  })

  it('tells itself as JSON', async () => {
    const { stdout, file } = await made(
      'd.vcd',
      ...'--mode mda-350 --chart text --seed 7 --json'.split(' '),
      ...'--defect missing:at=0/100 --defect ringing:share=0.02,edge=leading'.split(' '),
    )
    const report = synthesizeSchema.parse(JSON.parse(stdout))
    expect(report).toMatchObject({
      file,
      mode: 'mda-350',
      sampleRateHz: 24e6,
      frames: 2.2,
      form: 'vcd',
      seed: 7,
      chart: 'text',
      picture: null,
    })
    expect(report.channels.map(({ name }) => name)).toEqual(['HSYNC', 'VSYNC', 'VIDEO', 'I'])
    const missing = report.defects.filter(({ kind }) => kind === 'missing')
    expect(missing).toMatchObject([{ channel: 'HSYNC', frame: 0, scanline: 100 }])
    const { faults } = (await identified(file)).main
    expect(faults).toMatchObject({ missing: 1, extra: report.defects.length - 1 })
    expect(report.defects.length).toBeGreaterThan(4)
  })

  it('may have timings by numbers alone', async () => {
    const { file, stdout } = await made(
      'e.vcd',
      ...'--dot-clock 20M --horizontal 640,30,60,62 --vertical 480,20,4,56'.split(' '),
      ...'--polarity -+ --rate 80M --json'.split(' '),
    )
    expect(synthesizeSchema.parse(JSON.parse(stdout)).mode).toBe(null)
    const { main } = JSON.parse((await run(['identify', file, '--json'])).stdout) as Identified
    expect(main).toMatchObject({
      raster: { dotsPerScanline: 792, scanlinesPerFrame: 560 },
      hsync: { polarity: 'negative' },
      vsync: { polarity: 'positive' },
    })
    expect(main.raster.dotClockHz.value / 20e6).toBeCloseTo(1, 5)
  })

  it('may be a mode with changes', async () => {
    const { file } = await made('f.vcd', '--mode', 'mono-348', '--dot-clock', '16.257M', '--polarity=--')
    const { main } = await identified(file)
    expect(main.raster.dotClockHz.value / 16.257e6).toBeCloseTo(1, 5)
    expect([main.hsync.polarity, main.vsync.polarity]).toEqual(['negative', 'negative'])
  })

  it('is off by as much as its clock is told to be, early or late', async () => {
    const { file } = await made('g.vcd', '--mode', 'cga-200', '--clock-error', '-80')
    const { main } = await identified(file)
    expect((main.raster.dotClockHz.value / (157.5e6 / 11) - 1) * 1e6).toBeCloseTo(-80, 0)
  })

  it('has both syncs on one wire where that is asked for', async () => {
    const plain = await made('h.vcd', '--mode', 'cga-200', '--composite', '--json')
    expect(synthesizeSchema.parse(JSON.parse(plain.stdout)).channels[0]!.name).toBe('CSYNC')
    expect((await identified(plain.file)).main.standard!.id).toBe('cga-200')
  })

  it('is sampled fast enough for the mode unless told otherwise', async () => {
    const { file } = await made('i.vcd', '--mode', 'vga-480-60', '--frames', '1.1')
    expect((await identified(file)).capture.sampleIntervalSeconds * 50e6).toBeCloseTo(1, 3)
  })
})

describe('a picture', () => {
  const palette = paletteByName('rgbi', ['red', 'green', 'blue', 'intensity'])
  const codes = Uint16Array.from({ length: 640 * 200 }, (_, i) => ((i % 640) + 7 * Math.floor(i / 640)) % 16)
  const png = folder.file(
    'in.png',
    encodePng({ widthPixels: 640, heightPixels: 200, codes, palette, pixelAspect: 1 }),
  )

  it('comes back out of `render`, pixel for pixel', async () => {
    const { file, stdout } = await made('j.vcd', '--mode', 'cga-200', '--picture', png, '--json')
    expect(synthesizeSchema.parse(JSON.parse(stdout)).picture).toEqual({
      file: png,
      scaled: false,
      dotsChanged: 0,
    })
    const out = folder.join('out.png')
    expect((await run(['render', file, '-o', out])).status).toBe(0)
    const colours = (path: string): Buffer => readFileSync(path)
    const { readPng } = await import('../../src/cli/read-png.ts')
    expect(readPng(colours(out)).rgba).toEqual(readPng(colours(png)).rgba)
  })

  it('is scaled and recoloured where it must be, and that is said', async () => {
    const { stdout } = await made('k.vcd', '--mode', 'mda-350', '--picture', png)
    expect(stdout).toContain('it was scaled')
    expect(stdout).toMatch(/\d+ dots had a\s+colour that the mode does not have/)
  })

  test.each([
    ['no PNG', Buffer.from('GIF89a and then some more bytes'), 'it is no PNG'],
    ['a damaged one', readFileSync(png).subarray(0, 200), 'the PNG is damaged'],
    [
      'one of a gigapixel',
      Buffer.concat([
        readFileSync(png).subarray(0, 16),
        Buffer.of(0, 1, 0, 0, 0, 0, 64, 0),
        readFileSync(png).subarray(24),
      ]),
      'it has 65536 by 16384 pixels',
    ],
  ])('is refused: %s', async (_, bytes, message) => {
    const bad = folder.file('bad.png', bytes)
    const ran = await run(['synthesize', '--mode', 'cga-200', '-o', folder.join('no.vcd'), '--picture', bad])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(message)
    expect(ran.stderr).toMatch(/^hint: \S/m)
    expect(existsSync(folder.join('no.vcd'))).toBe(false)
  })
})

describe('what is typed wrong', () => {
  const mode = ['--mode', 'cga-200']
  test.each([
    ['no timing', [], 'neither a mode nor a complete timing'],
    ['a mode that is none', ['--mode', 'cga-2'], 'no mode is called "cga-2"'],
    ['half of a timing', ['--dot-clock', '16M', '--horizontal', '640,1,2,3'], 'neither a mode nor'],
    [
      'three numbers',
      ['--dot-clock', '16M', '--horizontal', '640,1,2', '--vertical', '1,2,3,4'],
      'four numbers',
    ],
    [
      'no numbers',
      ['--dot-clock', '16M', '--horizontal', 'a,b,c,d', '--vertical', '1,2,3,4'],
      '"a" is no number',
    ],
    ['one sign', [...mode, '--polarity', '+'], 'two signs are wanted'],
    ['a chart that is none', [...mode, '--chart', 'stripes'], 'no chart is called "stripes"'],
    ['a picture and a chart', [...mode, '--chart', 'bars', '--picture', 'x.png'], 'both given'],
    ['a picture that is not there', [...mode, '--picture', 'x.png'], 'there is no such file'],
    ['a defect that is none', [...mode, '--defect', 'sparks'], 'no defect is called "sparks"'],
    ['a key that is none', [...mode, '--defect', 'missing:width=3'], 'has no "width"'],
    ['a place that is none', [...mode, '--defect', 'missing:at=here'], 'at=here is no place'],
    ['a place and a count', [...mode, '--defect', 'missing:at=0/1,count=2'], 'not by two of them'],
    ['a place beyond the end', [...mode, '--defect', 'missing:at=50/1'], 'no scanline 1 of frame 50'],
    ['an edge that is none', [...mode, '--defect', 'ringing:edge=upper'], 'edge=upper is no edge'],
    ['a number that is none', [...mode, '--defect', 'spike:width=wide'], '"wide" is no number'],
    ['a key twice', [...mode, '--defect', 'spike:count=1,count=2'], '"count=2" is not what is wanted'],
    ['jitter of no kind', [...mode, '--jitter', '5'], '--jitter 5 is not what is wanted'],
    ['jitter twice', [...mode, '--jitter', 'random=1', '--jitter', 'random=2'], 'random=2 is not what'],
    ['a wander without frequency', [...mode, '--jitter', 'wander=1'], 'wander=1 is not what'],
    ['jitter too large', [...mode, '--jitter', 'random=90000'], 'the jitter is too large'],
    ['skew of nothing', [...mode, '--skew', 'R'], '--skew R is not what is wanted'],
    ['skew of no channel', [...mode, '--skew', 'VIDEO=3'], 'no channel "VIDEO"'],
    ['a start beyond the frame', [...mode, '--start-phase', '1'], 'a start phase of 1 is none'],
    ['too many frames', [...mode, '--frames', '1e9'], '1000000000 frames cannot be made'],
  ])('is told with a hint, and nothing is written: %s', async (_, argv, message) => {
    const ran = await run(['synthesize', '-o', folder.join('wrong.vcd'), ...argv])
    expect(ran).toMatchObject({ status: 2, stdout: '' })
    expect(ran.stderr).toContain(message)
    expect(ran.stderr).toMatch(/^hint: \S/m)
    expect(readdirSync(folder.path).filter((name) => name.includes('wrong'))).toEqual([])
  })

  it('is told where the name says nothing of the form', async () => {
    const ran = await run(['synthesize', ...mode, '-o', folder.join('wrong.txt')])
    expect(ran.status).toBe(2)
    expect(ran.stderr).toMatch(/does not tell the file's format\nhint: /)
  })

  it('leaves a file that is there alone, unless told otherwise', async () => {
    const file = folder.file('there.vcd', 'mine')
    const ran = await run(['synthesize', ...mode, '-o', file])
    expect(ran.status).toBe(2)
    expect(ran.stderr).toContain('exists already')
    expect(readFileSync(file, 'utf8')).toBe('mine')
    expect((await run(['synthesize', ...mode, '-o', file, '--force', '--frames', '0.1'])).status).toBe(0)
    expect(readFileSync(file, 'utf8')).toContain('$version')
  })

  it('does not write over the picture', async () => {
    const file = folder.file('picture.vcd', 'mine')
    const ran = await run(['synthesize', ...mode, '--picture', file, '-o', file, '--force'])
    expect(ran.status).toBe(2)
    expect(ran.stderr).toContain('the output is the picture itself')
    expect(readFileSync(file, 'utf8')).toBe('mine')
  })
})

it('explains charts, defects and jitter in its help', async () => {
  const { stdout, status } = await run(['synthesize', '--help'])
  expect(status).toBe(0)
  for (const word of ['alternation', 'ringing', 'dropped-scanline', 'wander=NS@HZ', 'example:']) {
    expect(stdout).toContain(word)
  }
})
