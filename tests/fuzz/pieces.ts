// What random inputs of every kind are made of: picks, numbers that are trouble, names nobody should use.

import type { Random } from '../support/random.ts'

/** A text is taken as Latin-1, so that any byte can be written. */
export function bytesOf(text: string): Uint8Array {
  return Uint8Array.from(Buffer.from(text, 'latin1'))
}

/** Mostly small, now and then up to `most`. */
export function skewed(random: Random, most: number): number {
  return Math.floor(most ** random.uniform()) - 1 + random.below(2)
}

/** Numbers at which counters turn over, floats lose their ones, and loops run long. */
export const EXTREMES: readonly string[] = [
  '0', '-0', '1', '-1', '+1', '00000000000000000000000001', '255', '256', '32767', '32768', '65535', '65536',
  '2147483647', '2147483648', '4294967295', '4294967296', '9007199254740991', '9007199254740992',
  '9007199254740993', '9223372036854775807', '18446744073709551616', '1e15', '1e16', '1e22', '1e300', '1e308',
  '1e309', '1e-300', '1e-324', '1e999', '1e-999', '-1e300', '.', '-', '+', '1.', '.1', '0.1', '-.5', '1..2',
  '1,5', '1.5.5', 'NaN', 'nan', 'Infinity', '-inf', '0x10', '0b1', '1_000', '1 000', '0.000000000000001',
  '0.9999999999999999999', '123456789012345678901234567890', '0'.repeat(60), '9'.repeat(40), `0.${'0'.repeat(40)}1`,
  '4.647 800 ms', '10 ns', '1 s', '3.3V',
] // prettier-ignore

/** Names as files have them, and as they should not. */
export const NAMES: readonly string[] = [
  'HSYNC', 'VSYNC', 'HS', 'VS', 'CSYNC', 'R', 'G', 'B', 'I', 'r', 'g', 'b', 'DE', 'DCLK', 'CLK', 'D0', 'D1', 'D7',
  'Channel 0', 'pins[3]', 'bus[7:0]', 'red', 'green', 'video', 'intensity', '', ' ', '0', '-', 'x', 'Time', 'time',
  '=1+1', '@SUM(A1)', '\x1b[31mred', 'a\x00b', 'a\x7fb', '\xe2\x80\xaegpj', '\xff\xfe', '"', "'", 'a"b', '<script>',
  '&amp;', '__proto__', 'constructor', 'toString', '\\esc', '\\', '$end', '$var', '[', ']', '[0]', '[-1]', 'a [3:0]',
  'a[99999999999]', '(', 'n/a', 'naïve', '\u00b5s', 'é'.repeat(50), 'n'.repeat(300),
] // prettier-ignore
