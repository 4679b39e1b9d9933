// Width and height → whether such a picture is drawn: a bound on memory, before any of it is taken.

import { CaptureError } from '../errors.ts'

/** Most pixels of one picture, and of all frames that are drawn at once: some 30 of the largest screens of TTL video. */
export const MAX_PICTURE_PIXELS = 64_000_000

/** @throws {CaptureError} PICTURE_TOO_LARGE above MAX_PICTURE_PIXELS */
export function checkPictureSize(widthPixels: number, heightPixels: number): void {
  if (widthPixels * heightPixels <= MAX_PICTURE_PIXELS) return
  throw new CaptureError(
    'PICTURE_TOO_LARGE',
    `a picture of ${widthPixels} by ${heightPixels} pixels is more than the ${MAX_PICTURE_PIXELS} that are drawn`,
    {},
    { hint: 'draw fewer frames at once, or leave --aspect and --full-raster out' },
  )
}
