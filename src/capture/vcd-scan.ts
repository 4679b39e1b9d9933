// The hot loops of the VCD body. They read whole everyday tokens that lie inside the chunk and stop before the first that
// is not one; the grammar in vcd-body.ts, which knows all and is their oracle, takes that byte by byte.
//
// `scanLines` knows two text lines, `1!` and `#1234`, each one 32-bit word with its line feed: this is what nearly all
// dumps of logic consist of. `scanTokens` knows longer codes, vectors and any white space, at half the speed. They are
// two functions since a small one is compiled sooner and better: a dump of 100 MB is read in a fifth of a second, of
// which the one large function that this was spent half before it was compiled.

import { fourDigits, isFourDigits } from './digit-words.ts'
import { BATCH_ROWS } from './transition-batch.ts'
import {
  CODE_BASE,
  FIRST_CODE_BYTE,
  LAST_CODE_BYTE,
  SHORT_IDENTIFIER_BYTES,
  SLOT_FIRST_VECTOR,
  SLOT_IGNORED,
  SLOT_UNDECLARED,
  type IdentifierTable,
} from './vcd-identifier.ts'
import type { VcdRows } from './vcd-rows.ts'
import type { VcdVectors } from './vcd-vectors.ts'

const LINE_FEED = 0x0a
const CR = 0x0d
const SPACE = 0x20
const HASH = 0x23
const ZERO = 0x30
const ONE = 0x31
const LOWER_B = 0x62

/** `0` or `1`, any byte, line feed, as a word whose last byte may be anything. */
const ONE_BYTE_CODE = 0x0a0030
const ONE_BYTE_CODE_MASK = 0xff00fe
/** `0` or `1`, any two bytes, line feed. */
const TWO_BYTE_CODE = 0x0a000030
const TWO_BYTE_CODE_MASK = 0xff0000fe | 0

/**
 * Digits of one time, vector or port state; more are an error. Far above any vector: IEEE 1364-2005, clause 3.3.1, lets
 * tools stop at 65536 bits (from memory).
 */
export const MAX_NUMBER_DIGITS: number = 1024 * 1024
/** Digits of a time that are one exact sum whatever they are: 10^15 lies below 2^53. Longer times are left to others. */
const MAX_DIGITS = 15
/** Lines nearer than this to the chunk's end are left to others, so that no index needs a check. */
const MARGIN = MAX_DIGITS + 10

/** Digits that fit an int32 whatever they are. */
const INT32_DIGITS = 9
const POWERS_OF_TEN = Float64Array.from({ length: INT32_DIGITS + 1 }, (_, n) => 10 ** n)

/**
 * Reads lines of one scalar change or one time stamp.
 *
 * @param view of the bytes of `chunk`
 * @returns where the first other text begins, the chunk's end comes too near, or `rows` is full
 */
export function scanLines(
  chunk: Uint8Array,
  view: DataView,
  from: number,
  table: IdentifierTable,
  rows: VcdRows,
): number {
  const pairs = table.pairs
  const { tick, channel, level } = rows.batch
  const safe = chunk.length - MARGIN
  let now = rows.now
  let row = rows.count
  let at = from
  while (at <= safe && row < BATCH_ROWS) {
    const word = view.getInt32(at, true)
    // what follows a slot is written twice: joined behind both branches, it took a tenth longer
    if ((word & ONE_BYTE_CODE_MASK) === ONE_BYTE_CODE) {
      const slot = pairs[word & 0xff00]!
      if (slot >= 0) {
        tick[row] = now
        channel[row] = slot
        level[row] = word & 1
        row++
      } else if (slot === SLOT_IGNORED) {
        rows.sawDeclared = true
      } else {
        break
      }
      at += 3
    } else if ((word & TWO_BYTE_CODE_MASK) === TWO_BYTE_CODE) {
      const second = (word >>> 16) & 0xff
      const slot = pairs[second === CR ? word & 0xff00 : (word & 0xff00) | second]!
      if (slot >= 0) {
        tick[row] = now
        channel[row] = slot
        level[row] = word & 1
        row++
      } else if (slot === SLOT_IGNORED) {
        rows.sawDeclared = true
      } else {
        break
      }
      at += 4
    } else if ((word & 0xff) === HASH) {
      let time = 0
      let p = at + 1
      let digits = view.getInt32(p, true)
      if (isFourDigits(digits)) {
        time = fourDigits(digits)
        p += 4
        digits = view.getInt32(p, true)
        if (isFourDigits(digits)) {
          time = time * 10000 + fourDigits(digits)
          p += 4
        }
      }
      const last = at + MAX_DIGITS
      let digit = 0
      while (p <= last && (digit = chunk[p]! ^ ZERO) <= 9) {
        time = time * 10 + digit
        p++
      }
      if (p === at + 1) break
      if (chunk[p] === CR) p++
      if (chunk[p] !== LINE_FEED || time < now) break
      now = time
      at = p + 1
    } else {
      break
    }
  }
  rows.now = now
  rows.count = row
  return at
}

/**
 * Reads scalar changes with codes of up to eight characters, vectors of 0 and 1, and time stamps of up to 18 digits, with
 * any white space between them.
 *
 * @returns where the first token begins that is another, or that the chunk's end cuts
 */
export function scanTokens(
  chunk: Uint8Array,
  from: number,
  table: IdentifierTable,
  vectors: VcdVectors,
  rows: VcdRows,
): number {
  const length = chunk.length
  const { mask, lastChannel, wanted, value: lastValue, unsettled } = vectors
  let at = from
  while (at < length) {
    const byte = chunk[at]!
    if (byte <= SPACE) {
      at++
      continue
    }
    if ((byte | 1) === ONE) {
      // IEEE 1364-2005, clause 18: a scalar's value and its code touch.
      const end = endOfCode(chunk, at + 1)
      if (end < 0) break
      const slot = slotOf(chunk, at + 1, end, table)
      if (slot >= 0) {
        rows.add(slot, byte - ZERO)
      } else if (slot === SLOT_IGNORED) {
        rows.sawDeclared = true
      } else {
        break
      }
      at = end + 1
    } else if (byte === HASH) {
      // At most 18 digits: two runs in int32, joined by one multiplication.
      let p = at + 1
      let low = 0
      let high = 0
      let scale = 0
      let digit = 0
      let stop = Math.min(p + INT32_DIGITS, length)
      while (p < stop && (digit = chunk[p]! ^ ZERO) <= 9) {
        low = low * 10 + digit
        p++
      }
      if (p === stop && p < length) {
        high = low
        low = 0
        stop = Math.min(p + INT32_DIGITS, length)
        while (p < stop && (digit = chunk[p]! ^ ZERO) <= 9) {
          low = low * 10 + digit
          p++
          scale++
        }
      }
      const time = high * POWERS_OF_TEN[scale]! + low
      if (p === at + 1 || p >= length || chunk[p]! > SPACE) break
      if (time < rows.now || time > Number.MAX_SAFE_INTEGER) break
      rows.now = time
      at = p + 1
    } else if (byte === LOWER_B) {
      // Digits 0 and 1 only, then one space; x and z take the other way.
      let p = at + 1
      let value = 0
      let bit = 0
      while (p < length && (bit = chunk[p]! ^ ZERO) <= 1) {
        value = (value << 1) | bit
        p++
      }
      if (p === at + 1 || chunk[p] !== SPACE || p - at > MAX_NUMBER_DIGITS) break
      const end = endOfCode(chunk, p + 1)
      if (end < 0) break
      const slot = slotOf(chunk, p + 1, end, table)
      if (slot <= SLOT_FIRST_VECTOR) {
        const vector = SLOT_FIRST_VECTOR - slot
        value &= mask[vector]!
        let changed = ((value ^ lastValue[vector]!) | unsettled[vector]!) & wanted[vector]!
        lastValue[vector] = value
        unsettled[vector] = 0
        const channelOfBit0 = lastChannel[vector]!
        while (changed !== 0) {
          const position = 31 - Math.clz32(changed)
          changed ^= 1 << position
          rows.add(channelOfBit0 - position, (value >>> position) & 1)
        }
      } else if (slot === SLOT_IGNORED) {
        rows.sawDeclared = true
      } else {
        break
      }
      at = end + 1
    } else {
      break
    }
  }
  return at
}

/** Where the white space after a code of one to eight characters is; -1 for another text, or at the chunk's end. */
function endOfCode(chunk: Uint8Array, from: number): number {
  const stop = Math.min(from + SHORT_IDENTIFIER_BYTES + 1, chunk.length)
  let at = from
  while (at < stop && chunk[at]! > SPACE) at++
  return at > from && at < stop ? at : -1
}

function slotOf(chunk: Uint8Array, from: number, end: number, table: IdentifierTable): number {
  if (end === from + 1) return table.pairs[chunk[from]! << 8]!
  if (end === from + 2) return table.pairs[(chunk[from]! << 8) | chunk[from + 1]!]!
  let number = 0
  for (let at = from; at < end; at++) {
    const byte = chunk[at]!
    if (byte > LAST_CODE_BYTE) return SLOT_UNDECLARED
    number = number * CODE_BASE + byte - FIRST_CODE_BYTE + 1
  }
  return table.slotOfShort(number)
}
