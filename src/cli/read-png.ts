// PNG bytes → pixels; decoding is pngjs's, bounds and errors are ours.

import { PNG } from 'pngjs'
import { CaptureError } from '../errors.ts'
import type { PixelPicture } from '../signal/map-picture.ts'

/** A bound on memory, far above any mode's picture. */
const MAX_PIXELS = 16_000_000
/** ISO/IEC 15948:2004, 5.2 and 11.2.2: signature, then IHDR with width and height as its first two numbers. */
const SIGNATURE = [137, 80, 78, 71, 13, 10, 26, 10] as const
const WIDTH_AT = 16
const HEADER_BYTES = 24

/** @throws {CaptureError} PICTURE_NOT_READABLE for what is no PNG, is damaged or has more than 16 million pixels */
export function readPng(bytes: Uint8Array): PixelPicture {
  if (bytes.length < HEADER_BYTES || SIGNATURE.some((byte, i) => bytes[i] !== byte)) {
    throw notReadable('it is no PNG', 'save it as PNG')
  }
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const [widthPixels, heightPixels] = [view.getUint32(WIDTH_AT), view.getUint32(WIDTH_AT + 4)]
  if (widthPixels * heightPixels > MAX_PIXELS) {
    throw notReadable(`it has ${widthPixels} by ${heightPixels} pixels`, 'scale it to the size of the mode')
  }
  try {
    const { width, height, data } = PNG.sync.read(Buffer.from(bytes))
    return { widthPixels: width, heightPixels: height, rgba: new Uint8Array(data) }
  } catch (cause) {
    const reason = cause instanceof Error ? cause.message : String(cause)
    throw notReadable(`the PNG is damaged (${reason})`, 'save it once more', cause)
  }
}

function notReadable(reason: string, hint: string, cause?: unknown): CaptureError {
  const more = cause === undefined ? { hint } : { hint, cause }
  return new CaptureError('PICTURE_NOT_READABLE', `the picture cannot be read: ${reason}`, {}, more)
}
