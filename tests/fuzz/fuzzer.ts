// Number of an input → the input, and its check. Every input follows from the seed and its number alone, so that one that
// fails can be made again without those before it.

import { chance, newRandom, pick, type Random } from '../support/random.ts'
import { checkReader, type ReaderName } from './check-reader.ts'
import type { CommandCheck } from './check-command.ts'
import { csvText, CSV_WORDS } from './csv-source.ts'
import { damaged, packed } from './damage.ts'
import { bytesOf } from './pieces.ts'
import { vcdText, VCD_WORDS } from './vcd-source.ts'
import { videoText } from './video-source.ts'

const WORDS = [...VCD_WORDS, ...CSV_WORDS]

/** The chance of one input; numbers of neighbouring inputs give unlike ones. */
function randomOf(seed: number, input: number): Random {
  return newRandom(Math.imul(seed, 0x27d4eb2f) ^ Math.imul(input + 1, 0x165667b1))
}

/** Bytes for a reader, and which. */
export function readerInput(
  seed: number,
  input: number,
): { bytes: Uint8Array; reader: ReaderName; random: Random } {
  const random = randomOf(seed, input)
  const vcd = chance(random, 0.5)
  const source = (): Uint8Array =>
    bytesOf(chance(random, 0.005) ? videoText(random) : vcd ? vcdText(random) : csvText(random))
  const bytes = damaged(source(), source, vcd ? VCD_WORDS : CSV_WORDS, random, pick(random, [0, 1, 3, 6]))
  const reader = chance(random, 0.9) ? (vcd ? 'vcd' : 'csv') : pick(random, ['vcd', 'csv', 'any'] as const)
  return { bytes, reader, random }
}

/** Bytes for a command: small captures of video, and what the readers get. */
export function commandInput(seed: number, input: number): { bytes: Uint8Array; random: Random } {
  const random = randomOf(seed ^ 0x55555555, input)
  const source = (): Uint8Array =>
    bytesOf(chance(random, 0.9) ? videoText(random) : chance(random, 0.5) ? vcdText(random) : csvText(random))
  const bytes = chance(random, 0.3) ? source() : damaged(source(), source, WORDS, random, 3)
  return { bytes: chance(random, 0.15) ? packed(bytes, random) : bytes, random }
}

/** @throws {Finding} */
export function runReaderInput(seed: number, input: number): string {
  const { bytes, reader, random } = readerInput(seed, input)
  return `${reader} ${checkReader(bytes, reader, random)}`
}

/** @throws {Finding} */
export async function runCommandInput(seed: number, input: number, check: CommandCheck): Promise<string> {
  const { bytes, random } = commandInput(seed, input)
  return check.check(bytes, random)
}
