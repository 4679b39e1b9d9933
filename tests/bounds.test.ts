// Every bound on what a file may ask for, at the bound and past it: what still passes, and the code of what does not.

import { gzipSync } from 'node:zlib'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it, test } from 'vitest'
import { JsonPlaces } from '../src/adapter/json-places.ts'
import { MAX_CHANNELS, MAX_NAME_CHARACTERS } from '../src/capture/capture-header.ts'
import { MAX_ROW_BYTES } from '../src/capture/csv-dialect.ts'
import { MAX_COLUMNS } from '../src/capture/csv-layout.ts'
import { MAX_NUMBER_DIGITS } from '../src/capture/vcd-scan.ts'
import { MAX_DECLARED_BYTES } from '../src/capture/vcd-header.ts'
import { MAX_IDENTIFIER_BYTES } from '../src/capture/vcd-identifier.ts'
import { MAX_FRAMES } from '../src/cli/commands/render.ts'
import { MAX_DOTS } from '../src/dots/dot-clock.ts'
import { isFrameTooLarge } from '../src/dots/frame-raster.ts'
import { MAX_DOTS_IN_FRAME, MAX_SCANLINES_IN_FRAME } from '../src/dots/sample-dots.ts'
import { CaptureMeasurer, type CaptureMeasurement } from '../src/measure.ts'
import { MAX_SEGMENTS } from '../src/measuring-pass.ts'
import { measureSegment, type CaptureContext } from '../src/measure-segment.ts'
import { NoticeList, type Notice } from '../src/notices.ts'
import { openCapture } from '../src/open-capture.ts'
import { enlarge } from '../src/picture/aspect-scale.ts'
import { contactSheet } from '../src/picture/contact-sheet.ts'
import { checkPictureSize, MAX_PICTURE_PIXELS } from '../src/picture/picture-size.ts'
import { renderFrame } from '../src/render-frame.ts'
import { MAX_FAULTS_LISTED } from '../src/sync/fault-list.ts'
import { MAX_FRAMES_LISTED } from '../src/sync/frame-list.ts'
import { SegmentSync } from '../src/sync/segment-sync.ts'
import { readCsv } from './capture/csv-collect.ts'
import { collect, collectChunks, cutEvery, noticeCounts } from './capture/vcd-collect.ts'
import { run, TemporaryFolder } from './cli/run-main.ts'
import { measureBytes } from './support/measured-card.ts'
import { smallCapture } from './support/small-captures.ts'

const folder = new TemporaryFolder()
afterAll(folder.remove)

const HEAD = '$timescale 1 ns $end\n$var wire 1 ! a $end\n$var wire 2 v v $end\n$enddefinitions $end\n'
const vcdCode = (text: string): string | undefined => collect(text).error?.code
const csvCode = (text: string): string | undefined => readCsv(text).error?.code
/** Wires of one name each, numbered in base 36. What is declared by too many codes stands in bad-input.test.ts. */
const wires = (count: number): string =>
  Array.from({ length: count }, (_, n) => `$var wire 1 ${n.toString(36)} w $end\n`).join('')

describe('channels', () => {
  it('beyond the most there are, are left out with a notice', () => {
    const header = (count: number): string =>
      `$timescale 1 ns $end\n${wires(count)}$enddefinitions $end\n#0\n`
    expect(collect(header(MAX_CHANNELS)).header?.channels).toHaveLength(MAX_CHANNELS)
    expect(noticeCounts(collect(header(MAX_CHANNELS)))).toEqual({})
    const more = collect(header(MAX_CHANNELS + 1))
    expect(more.header?.channels).toHaveLength(MAX_CHANNELS)
    expect(noticeCounts(more)).toEqual({ CHANNELS_IGNORED: 1 })
  })

  it('in declarations longer than may be are an error', () => {
    // what stands between keyword and $end is counted, with what parts it
    const scope = `$scope module ${'m'.repeat(4078)} $end $upscope $end\n`
    const counted = 'module '.length + 4079
    const times = Math.floor(MAX_DECLARED_BYTES / counted) - 1
    const room = MAX_DECLARED_BYTES - times * counted - 'wire 1 ! '.length
    const part = Math.floor(room / 2)
    const fitting = `$var real 1 ! ${'n'.repeat(part - 1)} ${'n'.repeat(room - part - 1)} $end\n`
    const text = `${scope.repeat(times)}${fitting}$upscope $end\n$scope m $end\n`
    // the word that fills the room passes, the next one does not
    expect(collect(text).error).toMatchObject({
      code: 'VCD_TOO_MANY_CHANNELS',
      byte: text.lastIndexOf('$scope'),
    })
  }, 60_000)

  it('in more columns than there may be are an error', () => {
    const table = (count: number): string =>
      `${'0,'.repeat(count - 1)}1\n${'1,'.repeat(count - 1)}1\n`.repeat(3)
    expect(csvCode(table(MAX_COLUMNS))).toBeUndefined()
    expect(csvCode(table(MAX_COLUMNS + 1))).toBe('CSV_TOO_MANY_CHANNELS')
  })
})

describe('a name', () => {
  const names = ['n'.repeat(MAX_NAME_CHARACTERS), 'n'.repeat(MAX_NAME_CHARACTERS + 1)] as const
  test.each([
    [
      'a VCD',
      (name: string) =>
        vcdCode(`$timescale 1 ns $end\n$var wire 1 ! ${name} $end\n$enddefinitions $end\n#0\n0!\n`),
    ],
    [
      'a VCD vector',
      (name: string) =>
        vcdCode(`$timescale 1 ns $end\n$var wire 9 ! ${name} [8:0] $end\n$enddefinitions $end\n#0\n`),
    ],
    ['a CSV', (name: string) => csvCode(`Time [ns],${name}\n0,0\n5,1\n9,0\n`)],
    ['a CSV bus', (name: string) => csvCode(`Time [ns],${name}\n0,0x1\n5,0x3\n9,0xf\n`)],
  ])('in %s', (_, codeOf) => {
    expect(names.map(codeOf)).toEqual([undefined, 'CHANNEL_NAME_TOO_LONG'])
  })

  it('with its scopes', () => {
    const text = (length: number): string =>
      `$scope module ${'s'.repeat(length)} $end $var wire 1 ! a $end $upscope $end $var wire 1 b a $end $enddefinitions $end #0\n`
    expect(vcdCode(text(MAX_NAME_CHARACTERS - 2))).toBeUndefined()
    expect(vcdCode(text(MAX_NAME_CHARACTERS - 1))).toBe('CHANNEL_NAME_TOO_LONG')
  })
})

it('an identifier code', () => {
  const text = (length: number): string =>
    `$timescale 1 ns $end\n$var wire 1 ${'c'.repeat(length)} a $end\n$enddefinitions $end\n#0\n1${'c'.repeat(length)}\n`
  expect(collect(text(MAX_IDENTIFIER_BYTES)).rows).toEqual([[0, 'a', 1]])
  expect(vcdCode(text(MAX_IDENTIFIER_BYTES + 1))).toBe('VCD_IDENTIFIER_TOO_LONG')
})

describe('digits of a number', () => {
  const digits = (count: number): string => '0'.repeat(count)
  test.each([
    ['a time', (count: number) => `#0\n#${digits(count - 1)}7\n1!\n`, 'VCD_TIME_TOO_LARGE'],
    ['decimals', (count: number) => `#0\n#7.${digits(count - 1)}\n1!\n`, 'VCD_TIME_TOO_LARGE'],
    ['a vector', (count: number) => `#0\n#7\nb${digits(count - 1)}1 v\n`, 'VCD_VALUE_MALFORMED'],
    ['a vector with x', (count: number) => `#0\n#7\nbx${digits(count - 2)}1 v\n`, 'VCD_VALUE_MALFORMED'],
    ['a port', (count: number) => `#0\n#7\np${'D'.repeat(count - 1)}U 0 0 v\n`, 'VCD_VALUE_MALFORMED'],
  ])('in %s', (_, body, code) => {
    const sound = collect(HEAD + body(MAX_NUMBER_DIGITS))
    expect(sound.error).toBeUndefined()
    expect(sound.rows.at(-1)?.[2]).toBe(1)
    const bytes = Buffer.from(HEAD + body(MAX_NUMBER_DIGITS + 1))
    for (const length of [bytes.length, 65_536]) {
      const { error } = collectChunks(cutEvery(bytes, length))
      expect(error).toMatchObject({ code, byte: HEAD.length + 3 + (code === 'VCD_VALUE_MALFORMED' ? 3 : 0) })
    }
  })

  it('in a time: up to 2^53 - 1 ticks', () => {
    const most = String(Number.MAX_SAFE_INTEGER)
    const past = String(2 ** 53)
    expect(collect(`${HEAD}#${most}\n1!\n`).extent?.lastTick).toBe(Number.MAX_SAFE_INTEGER)
    expect(vcdCode(`${HEAD}#${past}\n1!\n`)).toBe('VCD_TIME_TOO_LARGE')
    expect(vcdCode(`${HEAD}#-${past}\n1!\n`)).toBe('VCD_TIME_TOO_LARGE')
    const table = (time: string): string => `Time [ns],A\n0,0\n5,1\n9,0\n${time},1\n`
    expect(readCsv(table(most)).extent?.lastTick).toBe(Number.MAX_SAFE_INTEGER)
    expect(csvCode(table(past))).toBe('CSV_TIME_TOO_LARGE')
  })
})

it('a row of a table', () => {
  const rows = (length: number): string => `Time [ns],A\n0,0\n${'1'.padEnd(length - 2)},1\n9,0\n`
  expect(readCsv(rows(MAX_ROW_BYTES)).rows).toHaveLength(3)
  expect(csvCode(`Time [ns],A\n${'0,0\n'.replace('0', '1')}${'9'.padEnd(MAX_ROW_BYTES - 1)},1\n12,0\n`)).toBe(
    'CSV_ROW_TOO_LONG',
  )
})

describe('sync', () => {
  /** Pulses of `HSYNC` with a clock probed on `DCLK`. */
  const withClock = (dots: number): Uint8Array => {
    let text =
      '$timescale 1 ns $end\n$var wire 1 h HSYNC $end\n$var wire 1 c DCLK $end\n$var wire 1 v VIDEO $end\n$enddefinitions $end\n'
    for (let scanline = 0; scanline < 24; scanline++) {
      for (let dot = 0; dot < dots; dot++) {
        const tick = (scanline * dots + dot) * 30
        text += `#${tick}\n${dot === 0 ? '1h\n' : dot === 100 ? '0h\n' : ''}${dot === 300 ? '1v\n' : dot === 501 ? '0v\n' : ''}1c\n#${tick + 15}\n0c\n`
      }
    }
    return Buffer.from(text)
  }

  it('dots per scanline: a probed clock with more is not taken for one of dots', () => {
    expect(measureBytes(withClock(MAX_DOTS)).main.raster.dotsPerScanline).toBe(MAX_DOTS)
    const beyond = measureBytes(withClock(MAX_DOTS + 1))
    expect(beyond.main.raster.dotsPerScanline).not.toBe(MAX_DOTS + 1)
    expect(() => renderFrame(beyond)).toThrow(expect.objectContaining({ code: 'DOT_CLOCK_UNKNOWN' }))
  }, 60_000)

  it('scanlines of a frame, and dots', () => {
    expect(isFrameTooLarge(1, MAX_SCANLINES_IN_FRAME)).toBe(false)
    expect(isFrameTooLarge(1, MAX_SCANLINES_IN_FRAME + 1)).toBe(true)
    expect(isFrameTooLarge(2000, MAX_DOTS_IN_FRAME / 2000)).toBe(false)
    expect(isFrameTooLarge(2000, MAX_DOTS_IN_FRAME / 2000 + 1)).toBe(true)
  })

  /** Two frames and a bit of `total` scanlines, with a picture in the first thousand of each. */
  const tall = (total: number): Uint8Array => {
    const variables = ['h HSYNC', 'v VSYNC', 'r R'].map((name) => `$var wire 1 ${name} $end\n`).join('')
    let text = `$timescale 1 ns $end\n${variables}$enddefinitions $end\n#0\n0h\n0v\n0r\n`
    // a dot that no number of ticks divides, or it would be taken for the sample
    const dotTicks = 80.27
    for (let scanline = 0; scanline < 2.2 * total; scanline++) {
      const at = (dot: number): number => Math.ceil(1000 + (scanline * 400 + dot) * dotTicks)
      const row = scanline % total
      text += `#${at(0)}\n1h\n${row === 0 ? '1v\n' : row === 3 ? '0v\n' : ''}#${at(40)}\n0h\n`
      if (row <= 20 || row >= 1000) continue
      for (let edge = 0; edge < 6; edge++) {
        text += `#${at(100 + ((row * 7 + edge * 13) % 37) + edge * 40)}\n${1 - (edge & 1)}r\n`
      }
    }
    return Buffer.from(text)
  }

  it('a frame with more scanlines than are drawn is told as such', () => {
    const drawn = renderFrame(measureBytes(tall(MAX_SCANLINES_IN_FRAME)), { fullRaster: true })
    expect(drawn.heightPixels).toBe(MAX_SCANLINES_IN_FRAME)
    expect(() => renderFrame(measureBytes(tall(MAX_SCANLINES_IN_FRAME + 1)))).toThrow(
      expect.objectContaining({ code: 'PICTURE_TOO_LARGE' }),
    )
  }, 60_000)

  const codesOf = (notices: readonly Notice[]): string[] => notices.map(({ code }) => code)
  const timing = { periodTicks: 1000, widthTicks: 100, polarity: 'positive' as const }

  it('frames kept one by one; further ones are counted, and that is said', () => {
    const context: CaptureContext = {
      timebase: { secondsPerTick: 60e-9 },
      firstTick: 0,
      sampleIntervalTicks: 1,
      placesSync: false,
      planes: [],
      roles: new Set(),
      composite: false,
      probedDotTicks: null,
      timeScaleTrusted: true,
      keepSignal: false,
      notices: new NoticeList(),
    }
    const segment = new SegmentSync(timing, 0)
    for (let n = 0; n < 200; n++) segment.addScanline(n, n * 1000, 100, true, 100)
    const addVsync = (n: number): unknown => {
      const pulse = { leadTick: n * 10_000, trailTick: n * 10_000 + 2000, longestPieceTicks: 2000 }
      return segment.addVsync({ ...pulse, polarity: 'positive' }, n * 10, n === 0 ? NaN : 10, 1000)
    }
    for (let n = 0; n < MAX_FRAMES_LISTED; n++) addVsync(n)
    measureSegment(segment, undefined, context)
    expect(codesOf(context.notices.list())).not.toContain('FRAMES_NOT_LISTED')
    addVsync(MAX_FRAMES_LISTED)
    expect(segment.frames).toHaveLength(MAX_FRAMES_LISTED)
    expect(segment.wholeFrames).toBe(MAX_FRAMES_LISTED)
    measureSegment(segment, undefined, context)
    expect(context.notices.list()).toContainEqual(
      expect.objectContaining({ code: 'FRAMES_NOT_LISTED', count: 1 }),
    )
  })

  it('faults kept one by one; further ones are counted', () => {
    const segment = new SegmentSync(timing, 0)
    for (let n = 0; n <= MAX_FAULTS_LISTED; n++) {
      segment.addFault({
        kind: 'late',
        channel: 'hsync',
        tick: n * 1000,
        scanline: n,
        widthTicks: 100,
        offsetTicks: 20,
        lineCountError: 0,
        colourEdgeNear: false,
        rejectWidthTicks: 100,
        sinceTrueTicks: 0,
      } as never)
    }
    expect(segment.faults).toHaveLength(MAX_FAULTS_LISTED)
    expect(segment.faultCounts.late).toBe(MAX_FAULTS_LISTED + 1)
  })

  /** Sync alone, a pulse of 4 us every 60 us, with a false pulse in every third scanline. */
  const faulty = (scanlines: number): CaptureMeasurement => {
    const measurer = new CaptureMeasurer()
    measurer.write(
      Buffer.from('$timescale 1 us $end\n$var wire 1 h HSYNC $end\n$enddefinitions $end\n#0\n0h\n'),
    )
    let text = ''
    for (let scanline = 0; scanline < scanlines; scanline++) {
      const at = 60 * (scanline + 1)
      const extra = scanline % 3 === 1 ? `#${at + 30}\n1h\n#${at + 31}\n0h\n` : ''
      text += `#${at}\n1h\n#${at + 4}\n0h\n${extra}`
      if (text.length < 60_000) continue
      measurer.write(Buffer.from(text))
      text = ''
    }
    measurer.write(Buffer.from(text))
    return measurer.end()
  }
  it('faults that are not kept one by one are said in a notice', () => {
    const faults = faulty(3 * MAX_FAULTS_LISTED + 1)
    expect(faults.main.faults.extra).toBe(MAX_FAULTS_LISTED)
    expect(codesOf(faults.notices)).not.toContain('FAULTS_NOT_LISTED')
    expect(faulty(3 * MAX_FAULTS_LISTED + 7).notices).toContainEqual(
      expect.objectContaining({ code: 'FAULTS_NOT_LISTED', count: 2 }),
    )
  }, 60_000)

  /** A capture whose scanline rate changes `changes` times. */
  const changing = (changes: number): Uint8Array => {
    let text = '$timescale 1 ns $end\n$var wire 1 h HSYNC $end\n$enddefinitions $end\n#0\n0h\n'
    let tick = 1000
    for (let stretch = 0; stretch <= changes; stretch++) {
      for (let scanline = 0; scanline < 200; scanline++) {
        text += `#${tick}\n1h\n#${tick + 4000}\n0h\n`
        tick += stretch % 2 === 0 ? 60_000 : 32_000
      }
    }
    return Buffer.from(text)
  }

  it('segments kept; further ones are counted in a notice', () => {
    const whole = measureBytes(changing(MAX_SEGMENTS - 1))
    expect(whole.segments).toHaveLength(MAX_SEGMENTS)
    expect(whole.notices.map(({ code }) => code)).not.toContain('SEGMENTS_NOT_LISTED')
    const more = measureBytes(changing(MAX_SEGMENTS))
    expect(more.segments).toHaveLength(MAX_SEGMENTS)
    expect(more.notices).toContainEqual(expect.objectContaining({ code: 'SEGMENTS_NOT_LISTED', count: 1 }))
  })
})

describe('a picture', () => {
  it('of more pixels than are drawn is an error', () => {
    expect(() => checkPictureSize(MAX_PICTURE_PIXELS / 1000, 1000)).not.toThrow()
    const tooLarge = expect.objectContaining({ code: 'PICTURE_TOO_LARGE' })
    expect(() => checkPictureSize(MAX_PICTURE_PIXELS / 1000, 1001)).toThrow(tooLarge)
    const rows = { widthDots: 2000, heightScanlines: 1000, codes: new Uint16Array(2e6) }
    expect(enlarge(rows, { across: 4, down: 4 }).codes).toHaveLength(32e6)
    expect(() => enlarge(rows, { across: 6, down: 6 })).toThrow(tooLarge)
    expect(() =>
      contactSheet(
        Array.from({ length: 40 }, () => rows),
        0,
      ),
    ).toThrow(tooLarge)
  })

  it('of many frames: the first ones are drawn, and that is said', async () => {
    const capture = folder.file(
      'long.vcd',
      smallCapture('cga80', { picture: 'rectangle', frames: MAX_FRAMES + 3.2 }),
    )
    const sheet = await run(['render', capture, '-o', folder.join('sheet.png'), '--frame', 'all', '--sheet'])
    expect(sheet).toMatchObject({ status: 0, stderr: '' })
    expect(sheet.stdout).toContain(`the first ${MAX_FRAMES} of ${MAX_FRAMES + 2} whole frames are drawn`)
  }, 60_000)
})

describe('packed data', () => {
  const place = mkdtempSync(join(tmpdir(), 'rastertap-bounds-'))
  afterAll(() => rmSync(place, { recursive: true, force: true }))
  const zeros = gzipSync(Buffer.alloc(64 * 1024 * 1024), { level: 9 })
  /** Four times and a bit the memory that is allowed whatever the ratio, and bytes that do not pack. */
  const file = (noise: number): string => {
    const name = join(place, `${noise}.gz`)
    const rest = Buffer.from(Array.from({ length: noise }, (_, n) => (n * n * 31 + (n >> 3) * 17) & 255))
    writeFileSync(name, Buffer.concat([gzipSync(rest, { level: 0 }), zeros, zeros, zeros, zeros, zeros]))
    return name
  }
  const read = async (name: string): Promise<number> => {
    let bytes = 0
    for await (const chunk of openCapture(name)) bytes += chunk.length
    return bytes
  }

  it('that unpacks to nearly a thousand times its size is read, and what unpacks to more is refused', async () => {
    // 5 x 64 MiB in 5 x 65 kB: 1029 times; with 16 kB that do not pack, 979 times
    expect(await read(file(16_000))).toBe(5 * 64 * 1024 * 1024 + 16_000)
    await expect(read(file(0))).rejects.toMatchObject({ code: 'CAPTURE_GZIP_BROKEN' })
  }, 60_000)
})

it('the depth of an adapter description', () => {
  const nested = (depth: number): string => '['.repeat(depth) + ']'.repeat(depth)
  expect(() => new JsonPlaces(nested(65))).not.toThrow()
  expect(() => new JsonPlaces(nested(66))).toThrow('nested deeper than 64')
})
