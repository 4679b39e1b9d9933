// Pixels of any size and colour → a picture that the mode can show: its size, its colours.

import type { Palette } from '../picture/palette.ts'
import { nearestCode } from './code-colours.ts'
import type { SignalPicture } from './signal-picture.ts'

/** Pixels as picture files hold them. */
export interface PixelPicture {
  widthPixels: number
  heightPixels: number
  /** Red, green, blue, alpha of each pixel, row by row. */
  rgba: Uint8Array
}

/** A mapped picture and what the mapping had to change. */
export interface MappedPicture {
  picture: SignalPicture
  /** True where the pixels were not as many as the mode's dots. */
  scaled: boolean
  /** Dots whose colour the mode does not have: they have the nearest one. */
  dotsChanged: number
}

/**
 * Gives every dot the colour of the palette nearest to its pixel. Pixels are repeated or left out, never mixed, where
 * the size differs; what is transparent lies on black.
 *
 * @param widthDots size of the mode's active area
 * @throws {RangeError} `rgba` does not fill the picture
 */
export function mapPicture(
  pixels: PixelPicture,
  widthDots: number,
  heightScanlines: number,
  palette: Palette,
): MappedPicture {
  const { widthPixels, heightPixels, rgba } = pixels
  if (!(widthPixels > 0 && heightPixels > 0) || rgba.length !== 4 * widthPixels * heightPixels) {
    throw new RangeError(`${rgba.length} bytes do not make a picture of ${widthPixels} by ${heightPixels}`)
  }
  const codes = new Uint16Array(widthDots * heightScanlines)
  const known = new Map<number, { code: number; exact: boolean }>()
  let dotsChanged = 0
  for (let y = 0; y < heightScanlines; y++) {
    const row = Math.floor(((y + 0.5) * heightPixels) / heightScanlines)
    for (let x = 0; x < widthDots; x++) {
      const at = 4 * (row * widthPixels + Math.floor(((x + 0.5) * widthPixels) / widthDots))
      const alpha = rgba[at + 3]! / 255
      const red = Math.round(rgba[at]! * alpha)
      const green = Math.round(rgba[at + 1]! * alpha)
      const blue = Math.round(rgba[at + 2]! * alpha)
      const colour = (red << 16) | (green << 8) | blue
      let found = known.get(colour)
      if (!found) {
        const code = nearestCode(palette, red, green, blue)
        const { entries } = palette
        const exact =
          entries[3 * code] === red && entries[3 * code + 1] === green && entries[3 * code + 2] === blue
        known.set(colour, (found = { code, exact }))
      }
      codes[y * widthDots + x] = found.code
      if (!found.exact) dotsChanged++
    }
  }
  return {
    picture: { widthDots, heightScanlines, codes, border: null },
    scaled: widthPixels !== widthDots || heightPixels !== heightScanlines,
    dotsChanged,
  }
}
