// Sound bytes → damaged bytes: what transport, editors, bad disks and bad intent do to a file.

import { gzipSync } from 'node:zlib'
import { chance, pick, type Random } from '../support/random.ts'
import { bytesOf, EXTREMES, skewed } from './pieces.ts'

const LF = 0x0a
/** Largest input that damage may blow up to: long rows and names pass the readers' own bounds well below. */
const MAX_BYTES = 200_000

function joined(...parts: readonly Uint8Array[]): Uint8Array {
  return new Uint8Array(Buffer.concat(parts))
}

/**
 * @param other another input, for splicing
 * @param words pieces of the grammar
 * @param most operations at most
 */
export function damaged(
  sound: Uint8Array,
  other: () => Uint8Array,
  words: readonly string[],
  random: Random,
  most = 6,
): Uint8Array {
  let bytes: Uint8Array = sound.slice()
  for (let times = random.below(most + 1); times > 0; times--) {
    if (bytes.length > MAX_BYTES) break
    bytes = once(bytes, other, words, random)
  }
  return bytes
}

function once(
  bytes: Uint8Array,
  other: () => Uint8Array,
  words: readonly string[],
  random: Random,
): Uint8Array {
  const at = random.below(bytes.length + 1)
  const end = Math.min(bytes.length, at + skewed(random, 300))
  switch (random.below(12)) {
    case 0:
      if (at < bytes.length) bytes[at]! ^= 1 << random.below(8)
      return bytes
    case 1:
      if (at < bytes.length) bytes[at] = random.below(256)
      return bytes
    case 2:
      return joined(bytes.subarray(0, at), bytes.subarray(end))
    case 3:
      return joined(bytes.subarray(0, end), bytes.subarray(at))
    case 4:
    case 5:
      return joined(bytes.subarray(0, at), bytesOf(pick(random, words)), bytes.subarray(at))
    case 6:
      return withNumber(bytes, at, pick(random, EXTREMES))
    case 7:
      return joined(bytes.subarray(0, at), partOf(other(), random))
    case 8:
      return joined(bytes.subarray(0, at), partOf(other(), random), bytes.subarray(end))
    case 9:
      return linesSwapped(bytes, at, random.below(bytes.length + 1))
    case 10:
      return bytes.slice(0, at)
    default:
      return repeated(bytes, at, end, random)
  }
}

/** Begin or end of it. */
function partOf(bytes: Uint8Array, random: Random): Uint8Array {
  const at = random.below(bytes.length + 1)
  return chance(random, 0.5) ? bytes.subarray(0, at) : bytes.subarray(at)
}

/** The run of digits at or after a place becomes another number. */
function withNumber(bytes: Uint8Array, at: number, number: string): Uint8Array {
  const isDigit = (byte: number | undefined): boolean => byte !== undefined && byte >= 0x30 && byte <= 0x39
  let from = at
  while (from < bytes.length && !isDigit(bytes[from])) from++
  let to = from
  while (isDigit(bytes[to])) to++
  return joined(bytes.subarray(0, from), bytesOf(number), bytes.subarray(to))
}

function linesSwapped(bytes: Uint8Array, one: number, two: number): Uint8Array {
  const [a, b] = [Math.min(one, two), Math.max(one, two)].map((at) => lineAround(bytes, at)) as [
    [number, number],
    [number, number],
  ]
  if (a[1] > b[0]) return bytes
  return joined(
    bytes.subarray(0, a[0]), bytes.subarray(...b), bytes.subarray(a[1], b[0]), bytes.subarray(...a), bytes.subarray(b[1]),
  ) // prettier-ignore
}

function lineAround(bytes: Uint8Array, at: number): [number, number] {
  const from = at === 0 ? 0 : bytes.lastIndexOf(LF, at - 1) + 1
  const to = bytes.indexOf(LF, at)
  return [from, to < 0 ? bytes.length : to + 1]
}

/** One byte or one piece, over and over: rows, names, numbers and codes without end. */
function repeated(bytes: Uint8Array, at: number, end: number, random: Random): Uint8Array {
  const piece = chance(random, 0.5) ? bytes.subarray(at, Math.max(end, at + 1)) : bytes.subarray(at, at + 1)
  const room = chance(random, 0.99) ? 1000 : 80_000
  const times = Math.min(skewed(random, 70_000), Math.ceil(room / Math.max(1, piece.length)))
  return joined(bytes.subarray(0, at), ...Array.from({ length: times }, () => piece), bytes.subarray(at))
}

/** Packed, in one member or several, and damaged or not. */
export function packed(bytes: Uint8Array, random: Random): Uint8Array {
  const cut = random.below(bytes.length + 1)
  const members = chance(random, 0.8) ? [bytes] : [bytes.subarray(0, cut), bytes.subarray(cut)]
  const whole = joined(...members.map((member) => gzipSync(member, { level: random.below(10) })))
  if (chance(random, 0.3)) return whole
  return damaged(whole, () => whole, ['\x1f\x8b\x08\x00', '\x00', '\xff\xff\xff\xff', '\x1f\x8b'], random, 3)
}
