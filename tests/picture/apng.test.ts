import { crc32, inflateSync } from 'node:zlib'
import { PNG } from 'pngjs'
import { describe, expect, it, test } from 'vitest'
import { encodeAnimatedPng } from '../../src/picture/apng.ts'
import type { Palette } from '../../src/picture/palette.ts'
import { encodePng, type PngPicture } from '../../src/picture/png.ts'

const COLOURS = 16
const palette: Palette = {
  name: 'custom',
  entries: Uint8Array.from(
    Array.from({ length: 300 }, (_, code) => [code & 255, code >> 8, 255 - (code & 255)]).flat(),
  ),
  note: null,
}

/** A picture in the first `colours` colours of the palette, another for every seed. */
function picture(seed: number, colours: number = COLOURS, widthPixels = 37, heightPixels = 21): PngPicture {
  const codes = Uint16Array.from(
    { length: widthPixels * heightPixels },
    (_, dot) => (dot * 7 + (dot >> 3) * seed + seed) % colours,
  )
  return { widthPixels, heightPixels, codes, palette, pixelAspect: 1.5 }
}

interface Chunk {
  type: string
  contents: Uint8Array
  crc: number
}

/** Chunks in order, read as PNG third edition 5.3 lays them out. */
function chunksOf(bytes: Uint8Array): Chunk[] {
  expect([...bytes.subarray(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10])
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const chunks: Chunk[] = []
  for (let at = 8; at < bytes.length;) {
    const length = view.getUint32(at)
    const type = String.fromCharCode(...bytes.subarray(at + 4, at + 8))
    const contents = bytes.subarray(at + 8, at + 8 + length)
    const stated = view.getUint32(at + 8 + length)
    // zlib's own CRC, over type and contents
    expect(crc32(bytes.subarray(at + 4, at + 8 + length))).toBe(stated)
    chunks.push({ type, contents, crc: stated })
    at += 12 + length
  }
  return chunks
}

function uint32(bytes: Uint8Array, at: number): number {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength).getUint32(at)
}

/** Each frame as a still picture of its own: header and palette of the file, data of the frame. */
function stillsOf(bytes: Uint8Array): Uint8Array[] {
  const chunks = chunksOf(bytes)
  const shared = chunks.filter(({ type }) => ['IHDR', 'PLTE', 'tRNS'].includes(type))
  return chunks
    .filter(({ type }) => type === 'IDAT' || type === 'fdAT')
    .map(({ type, contents }) => {
      const data = type === 'IDAT' ? contents : contents.subarray(4)
      return Buffer.concat([
        bytes.subarray(0, 8),
        ...[...shared, { type: 'IDAT', contents: data }, { type: 'IEND', contents: new Uint8Array() }].map(
          (chunk) => {
            const body = Buffer.concat([Buffer.from(chunk.type), chunk.contents])
            const framed = Buffer.alloc(body.length + 8)
            framed.writeUInt32BE(chunk.contents.length)
            body.copy(framed, 4)
            framed.writeUInt32BE(crc32(body), body.length + 4)
            return framed
          },
        ),
      ])
    })
}

function rgba({ codes }: PngPicture): number[] {
  return [...codes].flatMap((code) => [...palette.entries.subarray(3 * code, 3 * code + 3), 255])
}

describe('an animated PNG', () => {
  // colours that only one of the frames has must not change the palette between them
  const frames = [picture(1, 3), picture(2, 16), picture(5, 7), picture(9, 16)]
  const bytes = encodeAnimatedPng(frames, { frameSeconds: 0.25 })

  it('holds every frame, and each decodes to its picture', () => {
    const stills = stillsOf(bytes)
    expect(stills.length).toBe(frames.length)
    for (const [n, still] of stills.entries()) {
      const read = PNG.sync.read(Buffer.from(still))
      expect([read.width, read.height]).toEqual([37, 21])
      expect([...read.data]).toEqual(rgba(frames[n]!))
    }
  })

  it('shows its first frame to who knows no animation', () => {
    expect([...PNG.sync.read(Buffer.from(bytes)).data]).toEqual(rgba(frames[0]!))
  })

  it('has the chunks in the order that the specification asks for', () => {
    // PNG third edition 5.6: acTL before IDAT; 11.3.6: fcTL before its IDAT or fdAT, one sequence for both
    expect(chunksOf(bytes).map(({ type }) => type)).toEqual([
      'IHDR',
      'acTL',
      'pHYs',
      'PLTE',
      'fcTL',
      'IDAT',
      ...frames.slice(1).flatMap(() => ['fcTL', 'fdAT']),
      'IEND',
    ])
    const sequence = chunksOf(bytes)
      .filter(({ type }) => type === 'fcTL' || type === 'fdAT')
      .map(({ contents }) => uint32(contents, 0))
    expect(sequence).toEqual([0, 1, 2, 3, 4, 5, 6])
  })

  it('states frames, plays, size, place and delay', () => {
    const chunks = chunksOf(encodeAnimatedPng(frames, { frameSeconds: 0.25, plays: 3 }))
    const actl = chunks.find(({ type }) => type === 'acTL')!.contents
    expect([actl.length, uint32(actl, 0), uint32(actl, 4)]).toEqual([8, 4, 3])
    for (const { contents } of chunks.filter(({ type }) => type === 'fcTL')) {
      const [width, height, x, y] = [4, 8, 12, 16].map((at) => uint32(contents, at))
      expect([contents.length, width, height, x, y]).toEqual([26, 37, 21, 0, 0])
      const delay = (contents[20]! << 8) | contents[21]!
      const parts = (contents[22]! << 8) | contents[23]!
      expect(delay / parts).toBe(0.25)
      // dispose none, blend source
      expect([contents[24], contents[25]]).toEqual([0, 0])
    }
  })

  it('of one frame holds the same dots as a still picture', () => {
    const [still] = stillsOf(encodeAnimatedPng([frames[1]!], { frameSeconds: 1 }))
    const plain = encodePng(frames[1]!)
    const dataOf = (of: Uint8Array): Buffer =>
      inflateSync(chunksOf(of).find(({ type }) => type === 'IDAT')!.contents)
    expect(dataOf(still!)).toEqual(dataOf(plain))
  })
})

describe('what cannot be animated', () => {
  const one = picture(1)
  test.each([
    { name: 'nothing', frames: [], seconds: 1 },
    { name: 'sizes that differ', frames: [one, picture(2, 4, 36)], seconds: 1 },
    { name: 'palettes that differ', frames: [one, { ...one, palette: { ...palette } }], seconds: 1 },
    { name: '300 colours', frames: [picture(1, 300)], seconds: 1 },
    { name: 'a delay above the field', frames: [one], seconds: 66 },
    { name: 'a delay below 0', frames: [one], seconds: -1 },
  ])('$name', ({ frames, seconds }) => {
    expect(() => encodeAnimatedPng(frames, { frameSeconds: seconds })).toThrow(RangeError)
  })
})
