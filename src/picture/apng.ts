// Several pictures of one size -> an animated PNG. Chunks acTL, fcTL and fdAT as in the PNG specification, third edition
// (W3C Recommendation, 2025), 11.3.6; a viewer that knows no animation shows the first picture.

import { chunk, indexedData, indexedHeader, joined, SIGNATURE, usedColours, type PngPicture } from './png.ts'

/** How the pictures follow each other. */
export interface Animation {
  /** Seconds that each is shown; at most 65. */
  frameSeconds: number
  /** Times it is played; 0: for ever. */
  plays?: number
}

/** Milliseconds: what the denominator of a delay counts. */
const DELAY_PARTS = 1000
const MOST_DELAY = 65_535

/**
 * @param pictures all of one size and palette, at most 256 colours together
 * @throws {RangeError} no picture, sizes or palettes that differ, more than 256 colours, or a delay out of range
 */
export function encodeAnimatedPng(pictures: readonly PngPicture[], animation: Animation): Uint8Array {
  const [first] = pictures
  if (!first) throw new RangeError('an animation needs a picture')
  const { widthPixels, heightPixels, palette } = first
  for (const picture of pictures)
    if (
      picture.widthPixels !== widthPixels ||
      picture.heightPixels !== heightPixels ||
      picture.palette !== palette ||
      picture.codes.length !== widthPixels * heightPixels
    )
      throw new RangeError('the pictures of an animation must have one size and one palette')
  const delay = Math.round(animation.frameSeconds * DELAY_PARTS)
  if (!(delay >= 0 && delay <= MOST_DELAY)) throw new RangeError(`delay ${animation.frameSeconds} s`)
  const colours = usedColours({ ...first, codes: allCodes(pictures) })
  if (colours === null) throw new RangeError('an animation can have 256 colours at most')

  const [header, ...more] = indexedHeader(first, colours)
  const chunks = [SIGNATURE, header!, control(pictures.length, animation.plays ?? 0), ...more]
  // fcTL and fdAT share one count
  let sequence = 0
  for (const [n, picture] of pictures.entries()) {
    chunks.push(frameControl(sequence++, picture, delay))
    const data = indexedData(picture, colours)
    chunks.push(n === 0 ? chunk('IDAT', data) : chunk('fdAT', joined([uint32(sequence++), data])))
  }
  return joined([...chunks, chunk('IEND', new Uint8Array(0))])
}

/** acTL: how many frames, how often played. */
function control(frames: number, plays: number): Uint8Array {
  return chunk('acTL', joined([uint32(frames), uint32(plays)]))
}

/** fcTL of a frame that replaces all of the one before. */
function frameControl(
  sequence: number,
  { widthPixels, heightPixels }: PngPicture,
  delay: number,
): Uint8Array {
  const contents = new DataView(new ArrayBuffer(26))
  contents.setUint32(0, sequence)
  contents.setUint32(4, widthPixels)
  contents.setUint32(8, heightPixels)
  // offsets of 0, dispose_op 0 (none) and blend_op 0 (source) are what the buffer holds already
  contents.setUint16(20, delay)
  contents.setUint16(22, DELAY_PARTS)
  return chunk('fcTL', new Uint8Array(contents.buffer))
}

function uint32(value: number): Uint8Array {
  const bytes = new DataView(new ArrayBuffer(4))
  bytes.setUint32(0, value)
  return new Uint8Array(bytes.buffer)
}

/** Every code in use, once. */
function allCodes(pictures: readonly PngPicture[]): Uint16Array {
  const isUsed = new Uint8Array(65_536)
  for (const { codes } of pictures) for (let dot = 0; dot < codes.length; dot++) isUsed[codes[dot]!] = 1
  return Uint16Array.from(isUsed.keys()).filter((code) => isUsed[code] === 1)
}
