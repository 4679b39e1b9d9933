// Charts and pictures: right colours, right size, and back again through the whole flow.

import { describe, expect, it, test } from 'vitest'
import { CaptureError } from '../../src/errors.ts'
import { paletteByName } from '../../src/picture/palette.ts'
import { paintDots } from '../../src/picture/raster.ts'
import { renderFrame } from '../../src/render-frame.ts'
import { CHART_PURPOSES, type ChartName } from '../../src/signal/choices.ts'
import { mapPicture } from '../../src/signal/map-picture.ts'
import { signalPalette } from '../../src/signal/signal-channels.ts'
import { signalTiming } from '../../src/signal/signal-timing.ts'
import { drawChart } from '../../src/signal/test-charts.ts'
import { made, measured } from './small-signals.ts'

const CHARTS = Object.keys(CHART_PURPOSES) as ChartName[]
const rgbi = paletteByName('rgbi', ['red', 'green', 'blue', 'intensity'])

describe('charts', () => {
  test.each(
    CHARTS.flatMap((chart) => ['cga-200', 'mda-350', 'ega-350'].map((mode) => [chart, mode] as const)),
  )('%s goes through %s unchanged', (chart, mode) => {
    const { chunks, picture } = made(mode, { chart })
    const frame = renderFrame(measured(chunks))
    expect(frame.codes).toEqual(picture.codes)
  })

  it('shows every colour of the mode in bars', () => {
    for (const [mode, colours] of [
      ['cga-200', 16],
      ['ega-350', 64],
      ['mda-350', 4],
      ['pc98-400', 8],
      // six wires, read as four
      ['ega-200', 16],
    ] as const) {
      const timing = signalTiming(mode)
      const palette = signalPalette(timing)
      const { codes } = drawChart('bars', 640, 200, palette)
      const rgba = paintDots(codes, palette)
      const seen = new Set<number>()
      for (let i = 0; i < rgba.length; i += 4) seen.add((rgba[i]! << 16) | (rgba[i + 1]! << 8) | rgba[i + 2]!)
      expect(seen.size).toBe(colours)
    }
  })

  it('alternates dot by dot, scanline by scanline, and both', () => {
    const { codes } = drawChart('alternation', 64, 30, rgbi)
    const lit = (x: number, y: number): boolean => codes[y * 64 + x] !== 0
    for (let x = 2; x < 60; x++) {
      expect(lit(x, 5)).toBe(!lit(x + 1, 5))
      expect(lit(x, 12)).toBe(!lit(x, 13))
      expect(lit(x, 25)).toBe(!lit(x + 1, 25))
      expect(lit(x, 25)).toBe(!lit(x, 26))
    }
  })

  it('has letters that can be told apart', () => {
    const { codes } = drawChart('text', 640, 200, rgbi)
    const glyph = (place: number): string => {
      const rows = Array.from({ length: 7 }, (_, y) =>
        Array.from({ length: 5 }, (__, x) => (codes[(4 + y) * 640 + 4 + 6 * place + x] ? '#' : ' ')).join(''),
      )
      return rows.join('\n')
    }
    const glyphs = Array.from({ length: 40 }, (_, place) => glyph(place))
    // letters, digits, three signs and a space
    expect(new Set(glyphs).size).toBe(40)
    expect(glyphs[0]).toBe(' ##  \n#  # \n#   #\n#   #\n#####\n#   #\n#   #')
  })

  it('lights the border as far as the porches go, and no further', () => {
    const { main } = measured(made('cga-200', { chart: 'border' }).chunks)
    const { lit, content } = main.picture!.lit
    expect(content).toEqual({ left: 192, right: 832, top: 38, bottom: 238 })
    expect(lit).toEqual({ left: 160, right: 864, top: 26, bottom: 250 })
  })

  it('is refused under a wrong name', () => {
    expect(() => drawChart('stripes', 640, 200, rgbi)).toThrow(CaptureError)
  })
})

describe('pictures', () => {
  it('keep colours that the mode has, exactly', () => {
    const codes = Uint16Array.from({ length: 16 }, (_, i) => 15 - i)
    const mapped = mapPicture({ widthPixels: 16, heightPixels: 1, rgba: paintDots(codes, rgbi) }, 16, 1, rgbi)
    expect(mapped.picture.codes).toEqual(codes)
    expect(mapped).toMatchObject({ scaled: false, dotsChanged: 0 })
  })

  it('take the nearest colour where the mode has none', () => {
    // orange lies nearer to brown (AA5500) than to red (AA0000) or yellow (FFFF55)
    const rgba = Uint8Array.of(
      0xc0,
      0x60,
      0x10,
      255,
      0xa8,
      0xa8,
      0xa8,
      255,
      0xf0,
      0xf0,
      0x60,
      255,
      0,
      0,
      20,
      255,
    )
    const { picture, dotsChanged } = mapPicture({ widthPixels: 4, heightPixels: 1, rgba }, 4, 1, rgbi)
    // bits: red 1, green 2, blue 4, intensity 8
    expect([...picture.codes]).toEqual([1 | 2, 1 | 2 | 4, 1 | 2 | 8, 0])
    expect(dotsChanged).toBe(4)
  })

  it('put what is transparent on black', () => {
    const rgba = Uint8Array.of(255, 255, 255, 0)
    expect([...mapPicture({ widthPixels: 1, heightPixels: 1, rgba }, 1, 1, rgbi).picture.codes]).toEqual([0])
  })

  it('are repeated dot by dot where they are smaller', () => {
    const rgba = paintDots(Uint16Array.of(1, 2, 4, 15), rgbi)
    const { picture, scaled } = mapPicture({ widthPixels: 2, heightPixels: 2, rgba }, 4, 4, rgbi)
    expect(scaled).toBe(true)
    expect([...picture.codes]).toEqual([1, 1, 2, 2, 1, 1, 2, 2, 4, 4, 15, 15, 4, 4, 15, 15])
  })

  it('are refused where pixels are missing', () => {
    const rgba = new Uint8Array(7)
    expect(() => mapPicture({ widthPixels: 2, heightPixels: 1, rgba }, 2, 1, rgbi)).toThrow(RangeError)
  })
})
