// Decimal digits read four at a time, as one little-endian 32-bit word. For the fast scanners of both formats.

/** Are the four bytes all digits? Adding 6 carries out of the low half of any byte past `9`. */
export function isFourDigits(word: number): boolean {
  return ((word & 0xf0f0f0f0) | (((word + 0x06060606) & 0xf0f0f0f0) >>> 4)) === 0x33333333
}

/** Their value: neighbours are joined to two-digit numbers, and those to one. The first digit is in the lowest byte. */
export function fourDigits(word: number): number {
  const digits = word & 0x0f0f0f0f
  const pairs = Math.imul(digits, 10) + (digits >>> 8)
  return Math.imul(pairs & 0xff, 100) + ((pairs >>> 16) & 0xff)
}
