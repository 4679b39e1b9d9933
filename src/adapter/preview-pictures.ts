// A preview -> pictures for the PNG writers: what is shown, and which dots of it are wrong.

import type { Palette } from '../picture/palette.ts'
import type { PngPicture } from '../picture/png.ts'
import { differenceMask, type Preview } from './preview.ts'

/** Right dots dark, wrong ones bright: codes 0 and 1. */
const MASK_PALETTE: Palette = {
  name: 'custom',
  entries: Uint8Array.of(24, 24, 32, 255, 96, 64),
  note: null,
}

/**
 * One picture a frame.
 *
 * @param pixelAspect width over height of one dot
 */
export function previewPictures(preview: Preview, palette: Palette, pixelAspect: number): PngPicture[] {
  const { widthDots: widthPixels, heightScanlines: heightPixels, frames } = preview
  return frames.map(({ codes }) => ({ widthPixels, heightPixels, codes, palette, pixelAspect }))
}

/** One picture a frame, its wrong dots bright. */
export function maskPictures(preview: Preview, pixelAspect: number): PngPicture[] {
  const { widthDots: widthPixels, heightScanlines: heightPixels, frames } = preview
  return frames.map((frame) => ({
    widthPixels,
    heightPixels,
    codes: differenceMask(frame),
    palette: MASK_PALETTE,
    pixelAspect,
  }))
}
