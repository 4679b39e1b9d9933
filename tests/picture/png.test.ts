import { decode } from 'fast-png'
import fc from 'fast-check'
import { PNG } from 'pngjs'
import { describe, expect, it, test } from 'vitest'
import type { Palette } from '../../src/picture/palette.ts'
import { choosePalette } from '../../src/picture/palette.ts'
import { encodePng, type PngPicture } from '../../src/picture/png.ts'
import { paintDots } from '../../src/picture/raster.ts'

/** A palette of arbitrary different colours. */
function manyColours(count: number): Palette {
  const entries = new Uint8Array(3 * count)
  for (let code = 0; code < count; code++)
    entries.set([code & 255, (code >> 8) * 7, 255 - (code & 255)], 3 * code)
  return { name: 'custom', entries, note: null }
}

function pictureOf(
  widthPixels: number,
  heightPixels: number,
  colours: number,
  more: Partial<PngPicture> = {},
): PngPicture {
  const codes = Uint16Array.from(
    { length: widthPixels * heightPixels },
    (_, dot) => (dot * 31 + (dot >> 4)) % colours,
  )
  return { widthPixels, heightPixels, codes, palette: manyColours(colours), pixelAspect: 1, ...more }
}

/** The same picture by the slow way: every dot looked up, one after the other. */
function expectedRgba({ codes, palette, transparentCode }: PngPicture): number[] {
  return [...codes].flatMap((code) =>
    code === transparentCode ? [0, 0, 0, 0] : [...palette.entries.subarray(3 * code, 3 * code + 3), 255],
  )
}

/** Chunks of a PNG by type. */
function chunksOf(bytes: Uint8Array): { type: string; contents: Uint8Array }[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const chunks = []
  for (let at = 8; at < bytes.length;) {
    const length = view.getUint32(at)
    const type = String.fromCharCode(...bytes.subarray(at + 4, at + 8))
    chunks.push({ type, contents: bytes.subarray(at + 8, at + 8 + length) })
    at += 12 + length
  }
  return chunks
}

describe('indexed pictures', () => {
  // PNG 11.2.2: depth 1, 2, 4 or 8 holds 2, 4, 16 or 256 colours; odd widths leave a row's last byte part empty
  test.each([
    { colours: 1, depth: 1 },
    { colours: 2, depth: 1 },
    { colours: 3, depth: 2 },
    { colours: 4, depth: 2 },
    { colours: 5, depth: 4 },
    { colours: 16, depth: 4 },
    { colours: 17, depth: 8 },
    { colours: 256, depth: 8 },
  ])('$colours colours take $depth bits and come back', ({ colours, depth }) => {
    const picture = pictureOf(37, 29, colours)
    const bytes = encodePng(picture)
    const { contents } = chunksOf(bytes)[0]!
    expect([contents[8], contents[9]]).toEqual([depth, 3])
    const read = PNG.sync.read(Buffer.from(bytes))
    expect([read.width, read.height]).toEqual([37, 29])
    expect([...read.data]).toEqual(expectedRgba(picture))
  })

  it('means the same to a second reader', () => {
    const picture = pictureOf(40, 30, 40)
    const read = decode(encodePng(picture), { checkCrc: true })
    expect([read.width, read.height, read.depth]).toEqual([40, 30, 8])
    const rgba = [...read.data].flatMap((index) => [...read.palette![index]!, 255])
    expect(rgba).toEqual(expectedRgba(picture))
  })

  it('comes back whatever the size and colours', () => {
    const sizes = fc.record({
      width: fc.integer({ min: 1, max: 40 }),
      height: fc.integer({ min: 1, max: 12 }),
    })
    fc.assert(
      fc.property(
        sizes,
        fc.integer({ min: 1, max: 300 }),
        fc.nat(299),
        ({ width, height }, colours, clear) => {
          const picture = pictureOf(width, height, colours, { transparentCode: clear })
          expect([...PNG.sync.read(Buffer.from(encodePng(picture))).data]).toEqual(expectedRgba(picture))
        },
      ),
      { numRuns: 60 },
    )
  })

  it('leaves a code clear without touching a dot of the same colour', () => {
    const palette: Palette = { name: 'custom', entries: new Uint8Array(6), note: null }
    const codes = Uint16Array.of(0, 1, 9, 0)
    const bytes = encodePng({
      widthPixels: 2,
      heightPixels: 2,
      codes,
      palette,
      pixelAspect: 1,
      transparentCode: 9,
    })
    const { data } = PNG.sync.read(Buffer.from(bytes))
    expect([3, 7, 11, 15].map((alpha) => data[alpha])).toEqual([255, 255, 0, 255])
  })

  it('counts colours, not codes', () => {
    // 4096 codes of 12 channels, of which only three matter
    const roles = ['red', 'green', 'blue', ...Array<null>(9).fill(null)] as const
    const codes = Uint16Array.from({ length: 64 * 64 }, (_, dot) => dot)
    const palette = choosePalette(roles, null, 'rgbi')
    const bytes = encodePng({ widthPixels: 64, heightPixels: 64, codes, palette, pixelAspect: 1 })
    expect(chunksOf(bytes).find(({ type }) => type === 'PLTE')!.contents).toHaveLength(3 * 8)
  })
})

describe('more than 256 colours', () => {
  it('makes a truecolour picture that comes back, with its pixel aspect', () => {
    const picture = pictureOf(64, 48, 1000, { pixelAspect: 5 / 6, transparentCode: 17 })
    const bytes = encodePng(picture)
    expect(chunksOf(bytes)[0]!.contents[9]).toBe(6)
    expect([...PNG.sync.read(Buffer.from(bytes)).data]).toEqual(expectedRgba(picture))
    const read = decode(bytes, { checkCrc: true })
    expect(read.resolution).toEqual({ x: 6, y: 5, unit: 0 })
  })
})

describe('pixel aspect', () => {
  test.each([
    // 4:3 over 640x200, 640x350, 720x350, 720x348, 640x480; the ratio of pixels per unit is the inverse
    { dots: 640, scanlines: 200, x: 12, y: 5 },
    { dots: 640, scanlines: 350, x: 48, y: 35 },
    { dots: 720, scanlines: 350, x: 54, y: 35 },
    { dots: 720, scanlines: 348, x: 45, y: 29 },
    { dots: 640, scanlines: 480, x: 1, y: 1 },
  ])('of $dots x $scanlines at 4:3 is $x : $y', ({ dots, scanlines, x, y }) => {
    const pixelAspect = 4 / 3 / (dots / scanlines)
    expect(decode(encodePng(pictureOf(4, 4, 2, { pixelAspect }))).resolution).toEqual({ x, y, unit: 0 })
  })

  it('stays near what was asked for, for any ratio a screen can have', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 100, noNaN: true }), (pixelAspect) => {
        const { x, y } = decode(encodePng(pictureOf(1, 1, 1, { pixelAspect }))).resolution!
        expect(Math.abs(y / x / pixelAspect - 1)).toBeLessThan(1e-3)
      }),
    )
  })
})

it('writes the same bytes for the same picture', () => {
  const picture = pictureOf(50, 50, 16)
  expect(encodePng(picture)).toEqual(encodePng({ ...picture, codes: picture.codes.slice() }))
})

describe('what is not a picture', () => {
  test.each([
    { what: 'too few dots', more: { heightPixels: 5 } },
    { what: 'no width', more: { widthPixels: 0 } },
    { what: 'a code without colour', more: { codes: new Uint16Array(16).fill(3) } },
    { what: 'an aspect of zero', more: { pixelAspect: 0 } },
    { what: 'an aspect that is no number', more: { pixelAspect: Number.NaN } },
  ])('$what is refused', ({ more }) => {
    expect(() => encodePng(pictureOf(4, 4, 2))).not.toThrow()
    expect(() => encodePng({ ...pictureOf(4, 4, 2), ...more })).toThrow(RangeError)
  })
})

it('paints the same dots as RGBA', () => {
  const picture = pictureOf(9, 7, 11, { transparentCode: 4 })
  expect([...paintDots(picture.codes, picture.palette, 4)]).toEqual(expectedRgba(picture))
  expect(() => paintDots(Uint16Array.of(11), picture.palette)).toThrow(RangeError)
})
