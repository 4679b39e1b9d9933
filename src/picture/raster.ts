// Dot codes -> RGBA bytes, for whoever draws pixels without an indexed picture.

import type { Palette } from './palette.ts'

/**
 * Paints dot codes.
 *
 * @param codes dot codes row by row; each must have an entry in the palette
 * @param transparentCode a code to leave clear, such as "no sample here"; need not have an entry
 * @returns red, green, blue, alpha of each code: 4 bytes a dot, owned by the caller
 * @throws {RangeError} a code without an entry
 */
export function paintDots(codes: Uint16Array, palette: Palette, transparentCode?: number): Uint8Array {
  const { entries } = palette
  const rgba = new Uint8Array(4 * codes.length)
  for (let dot = 0; dot < codes.length; dot++) {
    const code = codes[dot]!
    if (code === transparentCode) continue
    if (3 * code >= entries.length)
      throw new RangeError(`dot code ${code} has no colour in palette ${palette.name}`)
    rgba[4 * dot] = entries[3 * code]!
    rgba[4 * dot + 1] = entries[3 * code + 1]!
    rgba[4 * dot + 2] = entries[3 * code + 2]!
    rgba[4 * dot + 3] = 255
  }
  return rgba
}
