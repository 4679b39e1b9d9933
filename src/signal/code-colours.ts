// A palette by what it looks like: the different colours in order of brightness, and the code nearest to a colour.

import type { Palette } from '../picture/palette.ts'

/** Parts of red, green and blue in brightness (ITU-R BT.601-7, 2.5.1). */
const LUMA = [0.299, 0.587, 0.114] as const

/** Codes of different colours, darkest first; of several codes that look alike the lowest stands for all. */
export function codesByBrightness({ entries }: Palette): number[] {
  const seen = new Set<number>()
  const codes: { code: number; luma: number }[] = []
  for (let code = 0; 3 * code < entries.length; code++) {
    const [red, green, blue] = [entries[3 * code]!, entries[3 * code + 1]!, entries[3 * code + 2]!]
    const colour = (red << 16) | (green << 8) | blue
    if (seen.has(colour)) continue
    seen.add(colour)
    codes.push({ code, luma: LUMA[0] * red + LUMA[1] * green + LUMA[2] * blue })
  }
  return codes.sort((a, b) => a.luma - b.luma || a.code - b.code).map(({ code }) => code)
}

/** Code whose colour is nearest to red, green, blue (0 to 255) by the sum of squares; the lowest of equals. */
export function nearestCode({ entries }: Palette, red: number, green: number, blue: number): number {
  let best = 0
  let least = Infinity
  for (let code = 0; 3 * code < entries.length; code++) {
    const off =
      (entries[3 * code]! - red) ** 2 +
      (entries[3 * code + 1]! - green) ** 2 +
      (entries[3 * code + 2]! - blue) ** 2
    if (off < least) {
      least = off
      best = code
    }
  }
  return best
}
