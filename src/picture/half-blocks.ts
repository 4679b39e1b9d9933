// A picture → terminal text: two rows of colour in each row of characters, by the upper half block (Unicode 2580) with the
// upper colour as foreground and the lower as background. 24-bit colours as in ISO/IEC 8613-6, 13.1.8 (38;2 and 48;2).

import type { Palette } from './palette.ts'

/** What is drawn: codes row by row, and how wide a pixel is for its height. */
export interface TerminalPicture {
  widthPixels: number
  heightPixels: number
  codes: Uint16Array
  palette: Palette
  /** Width over height of one pixel. */
  pixelAspect: number
}

const UPPER_HALF = '\u2580'
const RESET = '\u001b[0m'

/** @param columns width of the terminal; the picture takes all of it, its height follows */
export function halfBlocks(picture: TerminalPicture, columns: number): string[] {
  const { widthPixels, heightPixels, pixelAspect } = picture
  const width = Math.max(1, Math.min(columns, widthPixels))
  // a half block is about as wide as it is high on a terminal of the usual 1:2 cells
  const height = Math.max(2, Math.round((width * heightPixels) / (widthPixels * pixelAspect) / 2) * 2)
  const lines: string[] = []
  for (let row = 0; row < height; row += 2) {
    let line = ''
    let before = ''
    for (let column = 0; column < width; column++) {
      const upper = meanColour(picture, column, row, width, height)
      const lower = meanColour(picture, column, row + 1, width, height)
      const colours = `\u001b[38;2;${upper};48;2;${lower}m`
      line += colours === before ? UPPER_HALF : colours + UPPER_HALF
      before = colours
    }
    lines.push(line + RESET)
  }
  return lines
}

/** Mean colour of the pixels under one half cell, as `red;green;blue`. */
function meanColour(
  picture: TerminalPicture,
  column: number,
  row: number,
  width: number,
  height: number,
): string {
  const { widthPixels, heightPixels, codes, palette } = picture
  const left = Math.floor((column * widthPixels) / width)
  const right = Math.max(left + 1, Math.floor(((column + 1) * widthPixels) / width))
  const top = Math.floor((row * heightPixels) / height)
  const bottom = Math.max(top + 1, Math.floor(((row + 1) * heightPixels) / height))
  const sum = [0, 0, 0]
  for (let y = top; y < Math.min(bottom, heightPixels); y++) {
    for (let x = left; x < right; x++) {
      const entry = 3 * codes[y * widthPixels + x]!
      for (let part = 0; part < 3; part++) sum[part]! += palette.entries[entry + part]!
    }
  }
  const count = (Math.min(bottom, heightPixels) - top) * (right - left)
  return sum.map((value) => Math.round(value / count)).join(';')
}
