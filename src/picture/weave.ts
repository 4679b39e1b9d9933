// Two fields → one frame: rows of the field that lies half a scanline lower go between those of the other.

/** Rows of dot codes. */
export interface CodeRows {
  widthDots: number
  heightScanlines: number
  codes: Uint16Array
}

/**
 * @param upper field whose rows come first
 * @param lower same width
 */
export function weave(upper: CodeRows, lower: CodeRows): CodeRows {
  const { widthDots } = upper
  const rows = Math.min(upper.heightScanlines, lower.heightScanlines)
  const codes = new Uint16Array(widthDots * rows * 2)
  for (let row = 0; row < rows; row++) {
    const from = row * widthDots
    codes.set(upper.codes.subarray(from, from + widthDots), 2 * from)
    codes.set(lower.codes.subarray(from, from + widthDots), 2 * from + widthDots)
  }
  return { widthDots, heightScanlines: 2 * rows, codes }
}
