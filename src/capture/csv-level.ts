// The other cells of a row: bytes to levels. One reader per kind of column: a wire, a bus, a voltage.

import { LEVEL_HIGH, LEVEL_LOW, LEVEL_UNKNOWN } from './transition-batch.ts'

/** No level can be read from the cell. */
export const NOT_A_LEVEL = 255

const ZERO = 0x30
const SPACE = 0x20
const PLUS = 0x2b
const MINUS = 0x2d
const UNDERSCORE = 0x5f
const MAX_WORD_BYTES = 16

const WORDS = new Map<string, number>([
  ...['h', 'hi', 'high', 'true', 'on', 'yes'].map((word) => [word, LEVEL_HIGH] as const),
  ...['l', 'lo', 'low', 'false', 'off', 'no'].map((word) => [word, LEVEL_LOW] as const),
  // IEEE 1164-1993: U uninitialized, X and W unknown, Z high impedance, - don't care
  ...['x', 'z', 'u', 'w', '?', '-', 'n/a', 'na', 'nan'].map((word) => [word, LEVEL_UNKNOWN] as const),
])

/** Level of a wire's cell, or NOT_A_LEVEL; numbers that equal 0 or 1 (`1.0`) are levels too. */
export function wireLevel(bytes: Uint8Array, from: number, to: number, decimal: number): number {
  if (to - from === 1) {
    const bit = bytes[from]! - ZERO
    if (bit === 0 || bit === 1) return bit
  }
  if (to - from > MAX_WORD_BYTES) return NOT_A_LEVEL
  let word = ''
  for (let at = from; at < to; at++) {
    const byte = bytes[at]!
    word += String.fromCharCode(byte >= 0x41 && byte <= 0x5a ? byte | SPACE : byte)
  }
  const level = WORDS.get(word)
  if (level !== undefined) return level
  const number = cellNumber(bytes, from, to, decimal)
  return number === 0 ? LEVEL_LOW : number === 1 ? LEVEL_HIGH : NOT_A_LEVEL
}

/**
 * Number of a cell as a float64, good to about 15 digits: enough for a threshold, not for time.
 *
 * @returns NaN when the cell is no number; a unit of volts after it is passed over
 */
export function cellNumber(bytes: Uint8Array, from: number, to: number, decimal: number): number {
  let at = from
  const negative = bytes[at] === MINUS
  if (negative || bytes[at] === PLUS) at++
  let mantissa = 0
  let scale = 0
  let digits = 0
  let marked = false
  for (; at < to; at++) {
    const digit = bytes[at]! - ZERO
    if (digit >= 0 && digit <= 9) {
      mantissa = mantissa * 10 + digit
      digits++
      if (marked) scale--
    } else if (bytes[at] === decimal && !marked) marked = true
    else break
  }
  if (digits === 0) return NaN
  if (at < to && (bytes[at]! | SPACE) === 0x65) {
    at++
    const down = bytes[at] === MINUS
    if (down || bytes[at] === PLUS) at++
    let exponent = 0
    const exponentFrom = at
    for (; at < to && bytes[at]! >= ZERO && bytes[at]! <= 0x39; at++) {
      if (exponent < 1000) exponent = exponent * 10 + (bytes[at]! - ZERO)
    }
    if (at === exponentFrom) return NaN
    scale += down ? -exponent : exponent
  }
  while (at < to && bytes[at] === SPACE) at++
  // `V`, `mV`, `uV`: the column's thresholds were found in the unit that its cells carry
  if (at < to && !(to - at <= 3 && (bytes[to - 1]! | SPACE) === 0x76)) return NaN
  const size = scale === 0 ? mantissa : scale < 0 ? mantissa / 10 ** -scale : mantissa * 10 ** scale
  return negative ? -size : size
}

/**
 * Levels of a bus cell, most significant bit first, written to `levels[first .. first + width)`.
 *
 * Accepts `1F`, `0x1F`, `1Fh`, `1F h`, `h1F`, `$1F`, `8'h1F`, `0b101`, and plain digits in the column's own radix (2, 10 or 16).
 * A digit x, z or u makes its bits unknown, a ? all of them. Bits above the width must be 0.
 *
 * @returns false when the cell is none of these, or too large for the bus
 */
export function busLevels(
  bytes: Uint8Array,
  start: number,
  end: number,
  radix: number,
  levels: Uint8Array,
  first: number,
  width: number,
): boolean {
  let from = start
  let to = end
  // `?`, `? h0`: part of the value is unknown, and which bits is not said
  if (bytes.subarray(from, to).includes(0x3f)) {
    levels.fill(LEVEL_UNKNOWN, first, first + width)
    return true
  }
  let bitsPerDigit = radix === 16 ? 4 : radix === 2 ? 1 : 0
  if (to - from > 2 && bytes[from] === ZERO && (bytes[from + 1]! | SPACE) === 0x78) {
    bitsPerDigit = 4
    from += 2
  } else if (radix === 2 && to - from > 2 && bytes[from] === ZERO && (bytes[from + 1]! | SPACE) === 0x62) {
    from += 2
  } else if (bytes[from] === 0x24 || (to - from > 1 && (bytes[from]! | SPACE) === 0x68)) {
    bitsPerDigit = 4
    from++
  } else if (to - from > 1 && (bytes[to - 1]! | SPACE) === 0x68) {
    bitsPerDigit = 4
    to--
    while (to > from && bytes[to - 1] === SPACE) to--
  } else {
    // IEEE 1364-2005, 3.5.1: size ' base digits
    for (let at = from; at < to - 1; at++) {
      if (bytes[at] !== 0x27) continue
      const base = bytes[at + 1]! | SPACE
      if (base !== 0x68 && base !== 0x62 && base !== 0x64) return false
      bitsPerDigit = base === 0x68 ? 4 : base === 0x62 ? 1 : 0
      from = at + 2
      break
    }
  }
  if (from >= to) return false
  if (bitsPerDigit === 0) return decimalLevels(bytes, from, to, levels, first, width)

  let bit = width - 1
  for (let at = to - 1; at >= from; at--) {
    const byte = bytes[at]!
    if (byte === UNDERSCORE) continue
    const digit = hexDigit(byte)
    if (digit === NOT_A_LEVEL || (bitsPerDigit === 1 && digit !== 16 && digit > 1)) return false
    for (let n = 0; n < bitsPerDigit; n++, bit--) {
      const level = digit === 16 ? LEVEL_UNKNOWN : (digit >> n) & 1
      if (bit >= 0) levels[first + bit] = level
      else if (level === LEVEL_HIGH) return false
    }
  }
  // A lone X stands for the whole bus; a short number has zeros above it.
  const above = hexDigit(bytes[from]!) === 16 ? LEVEL_UNKNOWN : LEVEL_LOW
  for (; bit >= 0; bit--) levels[first + bit] = above
  return true
}

function decimalLevels(
  bytes: Uint8Array,
  from: number,
  to: number,
  levels: Uint8Array,
  first: number,
  width: number,
): boolean {
  let value = 0
  for (let at = from; at < to; at++) {
    const digit = hexDigit(bytes[at]!)
    if (digit === 16 && to - from === 1) {
      levels.fill(LEVEL_UNKNOWN, first, first + width)
      return true
    }
    if (digit > 9) return false
    value = value * 10 + digit
    if (value > Number.MAX_SAFE_INTEGER) return false
  }
  for (let bit = width - 1; bit >= 0; bit--) {
    levels[first + bit] = value % 2
    value = Math.floor(value / 2)
  }
  return value === 0
}

/** Value of a digit, 16 for one that stands for unknown bits, NOT_A_LEVEL for anything else. */
function hexDigit(byte: number): number {
  if (byte >= ZERO && byte <= 0x39) return byte - ZERO
  const letter = byte | SPACE
  if (letter >= 0x61 && letter <= 0x66) return letter - 0x57
  // x z u w and -
  const unknown = letter === 0x78 || letter === 0x7a || letter === 0x75 || letter === 0x77
  return unknown || byte === MINUS ? 16 : NOT_A_LEVEL
}
