// The catalogue: every published timing known here, family by family. Order is the order `modes` prints.

import type { Standard } from './standard.ts'
import { DMT_STANDARDS } from './standards-dmt.ts'
import { EGA_STANDARDS } from './standards-ega.ts'
import { HOME_STANDARDS } from './standards-home.ts'
import { MONO_STANDARDS } from './standards-mono.ts'
import { RGBI_STANDARDS } from './standards-rgbi.ts'
import { VGA_STANDARDS } from './standards-vga.ts'

export { fieldRateHz, scanlineRateHz, scanlinesPerField } from './standard.ts'
export type { ColourWires, Standard } from './standard.ts'

export const STANDARDS: readonly Standard[] = [
  ...MONO_STANDARDS,
  ...RGBI_STANDARDS,
  ...EGA_STANDARDS,
  ...VGA_STANDARDS,
  ...HOME_STANDARDS,
  ...DMT_STANDARDS,
]

const BY_ID: ReadonlyMap<string, Standard> = new Map(STANDARDS.map((row) => [row.id, row]))

/** The row with this id; letters of either case are accepted. */
export function standardById(id: string): Standard | undefined {
  return BY_ID.get(id.toLowerCase())
}
