// Dots -> PNG bytes; the only file that knows pngjs and zlib. Chunks as in ISO/IEC 15948:2004 (PNG, second edition).

import { deflateSync } from 'node:zlib'
import { PNG } from 'pngjs'
import type { Palette } from './palette.ts'
import { paintDots } from './raster.ts'

export interface PngPicture {
  widthPixels: number
  heightPixels: number
  /** Dot codes row by row, widthPixels * heightPixels of them. */
  codes: Uint16Array
  palette: Palette
  /** Width over height of one pixel on the screen. */
  pixelAspect: number
  /** Code drawn fully transparent, such as "no sample here"; it needs no palette entry. */
  transparentCode?: number
}

export const SIGNATURE: Uint8Array = Uint8Array.of(137, 80, 78, 71, 13, 10, 26, 10)
/** Length of signature and IHDR chunk together: a chunk is 12 bytes more than its contents, IHDR holds 13. */
const AFTER_HEADER = 8 + 12 + 13

const COLOUR_TYPE_TRUECOLOUR_ALPHA = 6
const COLOUR_TYPE_INDEXED = 3

/** Most colours an indexed PNG can have (11.2.3, PLTE). */
const MOST_COLOURS = 256

/** Numerator and denominator of a pixel aspect stay below this. */
const MOST_ASPECT_PARTS = 10_000

/**
 * A PNG of the picture, indexed where at most 256 colours are in use. The same picture always gives the same bytes
 * on one build of zlib. The pixel aspect goes into a pHYs chunk, which viewers may ignore.
 *
 * @throws {RangeError} codes do not fill the picture, a code has no colour, or the aspect is not a positive number
 */
export function encodePng(picture: PngPicture): Uint8Array {
  const { widthPixels, heightPixels, codes, pixelAspect } = picture
  if (!(widthPixels > 0 && heightPixels > 0) || codes.length !== widthPixels * heightPixels) {
    throw new RangeError(`${codes.length} dots do not make a picture of ${widthPixels} by ${heightPixels}`)
  }
  if (!(pixelAspect > 0 && Number.isFinite(pixelAspect))) throw new RangeError(`pixel aspect ${pixelAspect}`)
  const colours = usedColours(picture)
  return colours === null ? encodeTruecolour(picture) : encodeIndexed(picture, colours)
}

export interface UsedColours {
  /** Index into `rgb` by dot code; only codes in use are set. */
  indexOfCode: Uint16Array
  rgb: number[]
  /** The transparent colour, if in use, is index 0: tRNS then needs one byte. */
  transparent: boolean
}

/** Colours in use, in the order of their codes; null when there are more than an indexed PNG can have. */
export function usedColours({ codes, palette, transparentCode }: PngPicture): UsedColours | null {
  const isUsed = new Uint8Array(65_536)
  for (let dot = 0; dot < codes.length; dot++) isUsed[codes[dot]!] = 1
  const indexOfCode = new Uint16Array(65_536)
  const indexOfColour = new Map<number, number>()
  const rgb: number[] = []
  const transparent = transparentCode !== undefined && isUsed[transparentCode] === 1
  if (transparent) rgb.push(0, 0, 0)
  for (let code = 0; code < isUsed.length; code++) {
    if (!isUsed[code] || code === transparentCode) continue
    const red = palette.entries[3 * code]
    const green = palette.entries[3 * code + 1]
    const blue = palette.entries[3 * code + 2]
    if (red === undefined || green === undefined || blue === undefined) {
      throw new RangeError(`dot code ${code} has no colour in palette ${palette.name}`)
    }
    const key = (red << 16) | (green << 8) | blue
    let index = indexOfColour.get(key)
    if (index === undefined) {
      index = rgb.length / 3
      if (index === MOST_COLOURS) return null
      indexOfColour.set(key, index)
      rgb.push(red, green, blue)
    }
    indexOfCode[code] = index
  }
  return { indexOfCode, rgb, transparent }
}

/** pngjs writes no palettes, so an indexed picture is put together here. */
function encodeIndexed(picture: PngPicture, colours: UsedColours): Uint8Array {
  return joined([
    SIGNATURE,
    ...indexedHeader(picture, colours),
    chunk('IDAT', indexedData(picture, colours)),
    chunk('IEND', new Uint8Array(0)),
  ])
}

/** Bits of one index, in the smallest form that holds them all. */
function depthFor(colours: UsedColours): number {
  const count = colours.rgb.length / 3
  return count <= 2 ? 1 : count <= 4 ? 2 : count <= 16 ? 4 : 8
}

/** Chunks before the picture's data: IHDR, pHYs, PLTE and, where needed, tRNS. */
export function indexedHeader(
  { widthPixels, heightPixels, pixelAspect }: PngPicture,
  colours: UsedColours,
): Uint8Array[] {
  const header = new DataView(new ArrayBuffer(13))
  header.setUint32(0, widthPixels)
  header.setUint32(4, heightPixels)
  header.setUint8(8, depthFor(colours))
  header.setUint8(9, COLOUR_TYPE_INDEXED)
  const chunks = [
    chunk('IHDR', new Uint8Array(header.buffer)),
    physicalSize(pixelAspect),
    chunk('PLTE', Uint8Array.from(colours.rgb)),
  ]
  if (colours.transparent) chunks.push(chunk('tRNS', Uint8Array.of(0)))
  return chunks
}

/** Compressed indices of one picture, as IDAT holds them. */
export function indexedData(picture: PngPicture, colours: UsedColours): Uint8Array {
  const { widthPixels, heightPixels, codes } = picture
  const bitDepth = depthFor(colours)
  // 7.2: samples fill a byte from its high end, each row starts a new byte; filter type 0 goes before each row
  const rowBytes = 1 + Math.ceil((widthPixels * bitDepth) / 8)
  const rows = new Uint8Array(rowBytes * heightPixels)
  for (let y = 0, dot = 0; y < heightPixels; y++) {
    const start = y * rowBytes + 1
    for (let x = 0; x < widthPixels; x++, dot++) {
      const bitAt = x * bitDepth
      const index = colours.indexOfCode[codes[dot]!]!
      const byteAt = start + (bitAt >> 3)
      rows[byteAt] = rows[byteAt]! | (index << (8 - bitDepth - (bitAt & 7)))
    }
  }
  return deflateSync(rows, { level: 9 })
}

function encodeTruecolour(picture: PngPicture): Uint8Array {
  const { widthPixels: width, heightPixels: height, codes, palette, transparentCode } = picture
  const png = new PNG({ width, height, colorType: COLOUR_TYPE_TRUECOLOUR_ALPHA })
  png.data.set(paintDots(codes, palette, transparentCode))
  const bytes = PNG.sync.write(png, { colorType: COLOUR_TYPE_TRUECOLOUR_ALPHA, deflateLevel: 9 })
  return joined([
    bytes.subarray(0, AFTER_HEADER),
    physicalSize(picture.pixelAspect),
    bytes.subarray(AFTER_HEADER),
  ])
}

/** 11.3.5.3 pHYs: pixels per unit across and down; unit 0 says that only their ratio means something. */
function physicalSize(pixelAspect: number): Uint8Array {
  const { width, height } = aspectParts(pixelAspect)
  const contents = new DataView(new ArrayBuffer(9))
  // the wider a pixel, the fewer of them in a unit
  contents.setUint32(0, height)
  contents.setUint32(4, width)
  return chunk('pHYs', new Uint8Array(contents.buffer))
}

/** Whole numbers whose quotient is the aspect, or nearest to it, by continued fraction. */
function aspectParts(aspect: number): { width: number; height: number } {
  let [width, lastWidth, height, lastHeight] = [1, 0, 0, 1]
  for (let rest = aspect, step = 0; step < 32; step++) {
    const whole = Math.floor(rest)
    const nextWidth = whole * width + lastWidth
    const nextHeight = whole * height + lastHeight
    if (nextWidth > MOST_ASPECT_PARTS || nextHeight > MOST_ASPECT_PARTS) break
    ;[lastWidth, width, lastHeight, height] = [width, nextWidth, height, nextHeight]
    // the rest of a fraction computed in floating point is noise from here on
    if (rest - whole < 1e-9 || Math.abs(width / height / aspect - 1) < 1e-12) break
    rest = 1 / (rest - whole)
  }
  // beyond 10 000 to 1 no such pair exists and one part is still zero, which says nothing in a pHYs
  return { width: Math.max(1, width), height: Math.max(1, height) }
}

/** 5.3: length of the contents, type, contents, CRC of type and contents. */
export function chunk(type: string, contents: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(12 + contents.length)
  const view = new DataView(bytes.buffer)
  view.setUint32(0, contents.length)
  for (let i = 0; i < 4; i++) bytes[4 + i] = type.charCodeAt(i)
  bytes.set(contents, 8)
  view.setUint32(8 + contents.length, crc32(bytes.subarray(4, 8 + contents.length)))
  return bytes
}

/** Annex D: CRC-32 with the reflected polynomial EDB88320h. Node's own came with 20.15, later than our floor. */
const CRC_TABLE: Uint32Array = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? 0xedb88320 ^ (crc >>> 1) : crc >>> 1
  return crc >>> 0
})

function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff
  for (let i = 0; i < bytes.length; i++) crc = CRC_TABLE[(crc ^ bytes[i]!) & 255]! ^ (crc >>> 8)
  return (crc ^ 0xffffffff) >>> 0
}

export function joined(parts: readonly Uint8Array[]): Uint8Array {
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0))
  let at = 0
  for (const part of parts) {
    bytes.set(part, at)
    at += part.length
  }
  return bytes
}
