// Values against position → a strip chart of braille characters, two by four points each. No colour needed.

/** Dots of a braille cell by column and row (Unicode 4.0, block 2800: bits in this order). */
const BRAILLE_BITS: readonly (readonly number[])[] = [
  [0x01, 0x02, 0x04, 0x40],
  [0x08, 0x10, 0x20, 0x80],
]
const BRAILLE_BASE = 0x2800

/** One point per value; `x` rising. */
export interface StripChart {
  x: Float64Array
  y: Float64Array
}

/**
 * Each column shows the span from the smallest to the largest value that falls into it, so that no outlier is lost.
 * @param columns characters across, without the scale
 * @param rows characters down
 * @param label text for a value on the scale
 * @param leastSpan the scale covers at least this much, so that sampling alone does not look like an earthquake
 * @returns lines, scale at the left
 */
export function stripChart(
  { x, y }: StripChart,
  columns: number,
  rows: number,
  label: (value: number) => string,
  leastSpan = 0,
): string[] {
  const [low, high] = spanOf(y, leastSpan)
  const width = 2 * columns
  const height = 4 * rows
  const from = x[0]!
  const perPoint = (x.at(-1)! - from) / (width - 1) || 1
  const top = new Int32Array(width).fill(height)
  const bottom = new Int32Array(width).fill(-1)
  for (let i = 0; i < y.length; i++) {
    const column = Math.min(width - 1, Math.round((x[i]! - from) / perPoint))
    const row = Math.round(((high - y[i]!) / (high - low)) * (height - 1))
    top[column] = Math.min(top[column]!, row)
    bottom[column] = Math.max(bottom[column]!, row)
  }
  const cells = Array.from({ length: rows }, () => new Uint8Array(columns))
  for (let column = 0; column < width; column++) {
    for (let row = top[column]!; row <= bottom[column]!; row++) {
      cells[row >> 2]![column >> 1]! |= BRAILLE_BITS[column & 1]![row & 3]!
    }
  }
  const labels = [label(high), label(low)]
  const labelWidth = Math.max(...labels.map((text) => text.length))
  return cells.map((line, row) => {
    const text = row === 0 ? labels[0]! : row === rows - 1 ? labels[1]! : ''
    return `${text.padStart(labelWidth)} ${Array.from(line, (bits) => String.fromCodePoint(BRAILLE_BASE + bits)).join('')}`
  })
}

/** Smallest and largest value, spread evenly to the least span; a little apart even where all are equal. */
function spanOf(values: Float64Array, leastSpan: number): [number, number] {
  let low = Infinity
  let high = -Infinity
  for (const value of values) {
    low = Math.min(low, value)
    high = Math.max(high, value)
  }
  const least = Math.max(leastSpan, high > low ? 0 : Math.abs(low) * 1e-6 || 1)
  const room = Math.max(0, (least - (high - low)) / 2)
  return [low - room, high + room]
}
