// Other people's captures, where they lie beside the project: read without a crash, and right where the truth is known.
// What is expected is computed from the register values that come with them.

import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { gunzipSync } from 'node:zlib'

import { describe, expect, it, test } from 'vitest'

import { CaptureError } from '../src/errors.ts'
import type { CaptureMeasurement } from '../src/measure.ts'
import { renderFrame } from '../src/render-frame.ts'
import { measureBytes, NO_FAULTS, noticeCodes } from './support/measured-card.ts'

const FOLDER = fileURLToPath(new URL('../../shared/captures/', import.meta.url))
const isThere = existsSync(FOLDER)
if (!isThere) console.warn('no captures beside the project: nothing of other people’s is read')

/** One entry of TRUTH.json, as far as it is used. */
interface Truth {
  dot_hz: string | number
  dots: number
  lines: number
  vs_lines: number
  hs_dots?: number
  h_pol: '+' | '-'
  v_pol: '+' | '-'
  active?: [number, number]
}

const bytesOf = (path: string): Uint8Array => {
  const bytes = readFileSync(FOLDER + path)
  return path.endsWith('.gz') ? gunzipSync(bytes) : bytes
}

const filesIn = (folder: string): string[] =>
  isThere
    ? readdirSync(FOLDER + folder)
        .filter((file) => /\.(vcd|csv)(\.gz)?$/.test(file))
        .map((file) => `${folder}/${file}`)
    : []

const truths: Record<string, Truth> = isThere
  ? (JSON.parse(readFileSync(`${FOLDER}sim/TRUTH.json`, 'utf8')) as Record<string, Truth>)
  : {}

/** `sim/sampled/cga_80x25_24MHz_persample.csv.gz` has the truth of `cga_80x25.vcd`. */
const truthOf = (path: string): Truth => {
  const name = path.replace(/^.*\//, '').replace(/(_\d+MHz.*)?(\.vcd|\.csv)(\.gz)?$/, '')
  const truth = truths[`${name}.vcd`] ?? truths[`${name}.vcd.gz`]
  if (!truth) throw new Error(`no truth for ${path}`)
  return truth
}

const hertz = (value: string | number): number => {
  const [numerator, denominator = '1'] = String(value).split('/')
  return Number(numerator) / Number(denominator)
}

const POLARITY = { '+': 'positive', '-': 'negative' } as const

/** By the beginning of the file's name. */
const STANDARDS: readonly [string, string][] = [
  ['cga', 'cga-200'],
  ['mda', 'mda-350'],
  ['hgc', 'mono-348'],
  ['ega_640x350', 'ega-350'],
  ['ega_640x200', 'ega-200'],
  ['vga_640x350', 'vga-350-70'],
  ['vga_640x480', 'vga-480-60'],
  ['vga_720x400', 'vga-text-400-70'],
  ['ghdl', 'vga-480-60'],
  ['verilator', 'vga-480-60'],
]

function expectTruth(path: string, { main }: CaptureMeasurement): void {
  const truth = truthOf(path)
  const dotHz = hertz(truth.dot_hz)
  const name = path.replace(/^.*\//, '')
  expect(main.classification.standard?.id).toBe(STANDARDS.find(([start]) => name.startsWith(start))![1])
  expect(Math.abs((main.hsync.frequencyHz.value * truth.dots) / dotHz - 1)).toBeLessThan(1e-6)
  expect(main.hsync.polarity).toBe(POLARITY[truth.h_pol])
  expect(main.vsync?.polarity).toBe(POLARITY[truth.v_pol])
  expect(Math.round(main.vsync!.widthScanlines)).toBe(truth.vs_lines)
  expect(main.raster).toMatchObject({ scanlinesPerFrame: truth.lines, dotsPerScanline: truth.dots })
  if (truth.hs_dots !== undefined)
    expect(Math.round(main.hsync.widthSeconds.value * dotHz)).toBe(truth.hs_dots)
  if (truth.active) expect([main.active!.dots, main.active!.scanlines]).toEqual(truth.active)
  expect(main.faults).toEqual(NO_FAULTS)
}

describe.skipIf(!isThere)('simulated cards, and what an analyzer with its own clock made of them', () => {
  test.each([...filesIn('sim'), ...filesIn('sim/sampled')])('%s', { timeout: 30_000 }, (path) => {
    const measurement = measureBytes(bytesOf(path))
    expectTruth(path, measurement)
    const { active, raster } = measurement.main
    expect(renderFrame(measurement)).toMatchObject({
      widthPixels: active!.dots,
      heightPixels: active!.scanlines,
      whole: true,
    })
    const is24 = path.includes('24MHz')
    expect(noticeCodes(measurement).includes('TIME_STEP_TRUNCATED')).toBe(is24 && path.includes('time_dedup'))
    if (path.includes('vga_640x480_24MHz')) expect(raster.dotClockFrom).toBe('standard')
  })

  it('shows brown and the border where the card has them', () => {
    const border = measureBytes(bytesOf('sim/cga_320x200.vcd.gz')).main
    expect(border.raster).toMatchObject({ dotsPerScanline: 912, pictureDotsPerScanline: 456 })
    // blue is the third channel of R G B I
    expect(border.picture!.lit.borderCode).toBe(0b0100)
    const rgbi = renderFrame(measureBytes(bytesOf('sim/ega_640x200.vcd.gz')))
    expect(rgbi.palette.name).toBe('rgbi')
    expect(renderFrame(measureBytes(bytesOf('sim/ega_640x350.vcd.gz'))).palette.name).toBe('rgbrgb')
  })

  it('sees the controller rewritten at power-up', () => {
    const { segments } = measureBytes(bytesOf('sim/cga_powerup_modeswitch.vcd.gz'))
    const dotHz = hertz(truthOf('sim/cga_powerup_modeswitch.vcd').dot_hz)
    expect(segments.map(({ hsync }) => Math.round(hsync.widthSeconds.value * dotHz))).toEqual([160, 80])
    expect(segments[1]!.startSeconds).toBeCloseTo(0.04, 3)
  })

  it('places the picture where the hardware description counts it', () => {
    const { active } = measureBytes(bytesOf('sim/verilator_vga.vcd.gz')).main
    // dots 144 to 783 from hsync's leading edge
    expect(active).toMatchObject({
      dots: 640,
      from: 'measured',
      hBackPorchDots: 144 - 96,
      hFrontPorchDots: 800 - 784,
    })
  })
})

describe.skipIf(!isThere)('a real card', () => {
  // 912 dots of 157.5/11 MHz; the label on the instrument was 0.227 % low
  const scanlineHz = 157.5e6 / 11 / 912
  const files = [
    ['cga_crtc_true_rate.vcd', 1, 4],
    ['cga_crtc_label_rate.vcd', 1.00227, 4],
    ['cga_crtc_truncated_time.csv', 1.00227, 4],
    ['cga_crtc_per_sample.csv.gz', 1.00227, 2],
  ] as const
  test.each(files)('%s', (file, timesTooLong, wholeFrames) => {
    const measurement = measureBytes(bytesOf(`real/${file}`))
    const { main, segments } = measurement
    expect(Math.abs((main.hsync.frequencyHz.value * timesTooLong) / scanlineHz - 1)).toBeLessThan(3e-5)
    expect(main).toMatchObject({
      wholeFrames,
      oddFrames: 0,
      hsync: { polarity: 'positive' },
      vsync: { polarity: 'positive' },
      raster: { scanlinesPerFrame: 262, dotsPerScanline: 912, dotClockFrom: 'standard' },
    })
    expect(main.vsync!.widthScanlines).toBeCloseTo(16, 1)
    expect(main.classification.standard?.id).toBe('cga-200')
    expect(noticeCodes(measurement).includes('RATE_OFF_STANDARD')).toBe(timesTooLong !== 1)
    if (wholeFrames < 4) return
    // a program rewrites the controller, and in the end two clean frames follow
    expect(segments.length).toBeGreaterThan(2)
    expect(segments.at(-1)).toMatchObject({ wholeFrames: 2, raster: { scanlinesPerFrame: 262 } })
  })
})

describe.skipIf(!isThere)('what the pictures show', () => {
  // each was looked at; colours that the card shows, and its palette
  const looked: [file: string, colours: number, palette: string][] = [
    ['cga_320x200', 4, 'rgbi'],
    ['cga_640x200', 2, 'rgbi'],
    ['cga_80x25', 16, 'rgbi'],
    ['cga_powerup_modeswitch', 16, 'rgbi'],
    ['ega_640x200', 16, 'rgbi'],
    ['ega_640x350', 16, 'rgbrgb'],
    ['ghdl_vga_25mhz', 8, 'rgb'],
    ['hgc_720x348', 2, 'mono'],
    ['mda_80x25', 3, 'mono'],
    ['verilator_vga', 1, 'rgbrgb'],
    ['vga_640x350', 16, 'rgbrgb'],
    ['vga_640x480', 16, 'rgbrgb'],
    ['vga_720x400_text', 16, 'rgbrgb'],
  ]
  test.each(looked)('%s: %d colours of palette %s', { timeout: 60_000 }, (file, colours, palette) => {
    const frame = renderFrame(measureBytes(bytesOf(`sim/${file}.vcd.gz`)))
    expect(frame.palette.name).toBe(palette)
    expect(new Set(frame.codes).size).toBe(colours)
  })

  it('are dot for dot the same where an analyzer samples fast enough', { timeout: 60_000 }, () => {
    for (const [card, rate] of [
      ['cga_80x25', '24MHz'],
      ['mda_80x25', '24MHz'],
    ]) {
      const whole = renderFrame(measureBytes(bytesOf(`sim/${card}.vcd.gz`)))
      for (const form of ['.vcd.gz', '_persample.csv.gz', '_time_dedup.csv.gz']) {
        const sampled = renderFrame(measureBytes(bytesOf(`sim/sampled/${card}_${rate}${form}`)))
        expect(sampled.codes).toEqual(whole.codes)
      }
    }
  })

  it('lie at one place in the raster, however they were sampled', { timeout: 60_000 }, () => {
    // the window cannot be measured at less than a sample a dot, and the card is half a character early
    const { active } = measureBytes(bytesOf('sim/vga_640x480.vcd.gz')).main
    const slow = measureBytes(bytesOf('sim/sampled/vga_640x480_24MHz.vcd.gz')).main
    expect(Math.abs(slow.active!.hBackPorchDots - active!.hBackPorchDots)).toBeLessThanOrEqual(1)
  })

  it('are refused where display enable is all that was probed', () => {
    expect(() => renderFrame(measureBytes(bytesOf('real/cga_crtc_true_rate.vcd')))).toThrow(
      expect.objectContaining({ code: 'VIDEO_NOT_FOUND' }),
    )
  })
})

describe.skipIf(!isThere)('files of other writers', () => {
  /** What keeps a file from being measured; nothing in it behaves like sync where it is not listed. */
  const reasons: Readonly<Record<string, string>> = {
    'vcd/cut_header.vcd': 'VCD_HEADER_UNTERMINATED',
    'vcd/sim_event.vcd': 'VCD_NO_CHANNELS',
    'vcd/vhdl_string.vcd': 'VCD_NO_CHANNELS',
    'csv/refuse_decoder_table.csv': 'CSV_NOT_A_WAVEFORM',
    'csv/refuse_decoder_table_2.csv': 'CSV_NOT_A_WAVEFORM',
  }
  /** The one file among them that holds video: 74 scanlines of 801 clocks of 20 ns, without a frame's end. */
  const video = 'vcd/hdl_python_vga.vcd.gz'
  const others = [...filesIn('vcd'), ...filesIn('csv')]

  test('are all there', () => {
    for (const path of [...Object.keys(reasons), video]) expect(others).toContain(path)
    expect(others).toHaveLength(56)
  })

  test.each(others.filter((path) => path !== video))(
    '%s: refused for the true reason',
    { timeout: 30_000 },
    (path) => {
      const code = reasons[path] ?? 'SYNC_NOT_FOUND'
      let refusal: unknown
      try {
        measureBytes(bytesOf(path))
      } catch (error) {
        refusal = error
      }
      expect(refusal).toBeInstanceOf(CaptureError)
      const { message, hint, ...rest } = refusal as CaptureError
      expect(rest.code).toBe(code)
      expect(message.length).toBeGreaterThan(10)
      expect(hint).toBeDefined()
    },
  )

  test('scanlines without a frame', { timeout: 30_000 }, () => {
    const measurement = measureBytes(bytesOf(video))
    expect(measurement.main.hsync.frequencyHz.value).toBeCloseTo(1 / (801 * 20e-9), 1)
    expect(measurement.main.raster.scanlinesPerFrame).toBeNull()
    expect(measurement.main.classification.standard).toBeNull()
  })
})
