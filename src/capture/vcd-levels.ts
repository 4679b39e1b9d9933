// Value characters of a VCD → levels, by table: one look-up per digit in the scanner.

import { LEVEL_HIGH, LEVEL_LOW, LEVEL_UNKNOWN, NO_LEVEL } from './transition-batch.ts'

/** Byte → LEVEL_ of a value digit; x z and the nine-state characters of VHDL writers (u w l h -) included. */
export const LEVEL_OF_DIGIT: Uint8Array = levelsOf('0lL', '1hH', 'xXzZuUwW-?')

/** Byte → LEVEL_ of a port state. IEEE 1364-2005, clause 18.3: input, output and unknown directions. */
export const LEVEL_OF_PORT_STATE: Uint8Array = levelsOf('DdLl0', 'UuHh1', 'NZXT?FfAaBbCc')

function levelsOf(low: string, high: string, unknown: string): Uint8Array {
  const levels = new Uint8Array(256).fill(NO_LEVEL)
  for (const character of low) levels[character.charCodeAt(0)] = LEVEL_LOW
  for (const character of high) levels[character.charCodeAt(0)] = LEVEL_HIGH
  for (const character of unknown) levels[character.charCodeAt(0)] = LEVEL_UNKNOWN
  return levels
}
