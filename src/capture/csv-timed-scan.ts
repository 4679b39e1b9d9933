// The hot loop for rows of a time and levels, `0.001234567,0,1,0`: time first, rising, then levels of one character. It reads
// whole usual rows that lie inside the chunk and stops before the first that is not one; csv-rows.ts, which is its oracle,
// takes that.
//
// Neighbouring rows are alike: their times begin with the same digits and are as long. So only the last eight digits, or
// four, are read, as words; the bytes before them are compared with those of the row above.

import type { CsvDialect } from './csv-dialect.ts'
import type { CsvRows } from './csv-rows.ts'
import { MAX_TICK } from './csv-time.ts'
import { fourDigits, isFourDigits } from './digit-words.ts'
import { BATCH_ROOM, STRIDE_BYTES } from './csv-scan-limits.ts'

const ZERO = 0x30
const MINUS = 0x2d
const SPACE = 0x20
const CR = 0x0d
const LF = 0x0a
/** Digits before the decimal mark; more are left to the plain reader. */
const MAX_WHOLE_DIGITS = 20
/** A sign, up to three digits more than that (they are read by fours), a mark, the digits that a tick holds, zeros. */
const MAX_TIME_BYTES = 48
const WORD_BYTES = 4
/** More than two words of digits can add. */
const MAX_WORDS = 1e8
const POWERS: Float64Array = Float64Array.from({ length: 40 }, (_, n) => 10 ** n)

/**
 * @param view of the bytes of `chunk`
 * @param stride bytes from one level to the next: 2, or 3 with a space after the delimiter
 * @returns where the first other row begins, or the chunk's end comes too near; `rows` is up to there
 */
export function scanTimedRows(
  chunk: Uint8Array,
  view: DataView,
  from: number,
  rows: CsvRows,
  stride: number,
): number {
  const { tick, channel, level } = rows.batch
  const { delimiter } = rows.dialect
  const channels = rows.levels.length
  // Channels that are read two at a time: `,0,1` is one word.
  const paired = stride === 2 ? channels & ~1 : 0
  const pair = (delimiter * 0x10001) | 0x30003000
  const tailBytes = channels * stride
  // Rows near the end of the chunk are left to the plain reader, so that no index needs a check.
  const safe = Math.min(from + STRIDE_BYTES, chunk.length - MAX_TIME_BYTES - tailBytes - 2 * WORD_BYTES)
  // The time above: how long it is, how many digits at its end are read as words, what those before them are and mean.
  let timeBytes = 0
  let wordBytes = 0
  let prefixTicks = TICKS[PREFIX_TICKS]!
  let prefix0 = 0
  let prefix1 = 0
  let mask0 = 0
  let mask1 = 0
  let before = rows.levelBits
  let last = rows.lastTick
  let sample = rows.sample
  let row = rows.batch.count
  let at = from
  while (at <= safe && row <= BATCH_ROOM) {
    let p = at + timeBytes
    let time = -1
    if (timeBytes > 0 && chunk[p] === delimiter) {
      const low = view.getInt32(p - WORD_BYTES, true)
      const differs =
        ((view.getInt32(at, true) ^ prefix0) & mask0) |
        ((view.getInt32(at + WORD_BYTES, true) ^ prefix1) & mask1)
      if (differs === 0 && isFourDigits(low)) {
        if (wordBytes === WORD_BYTES) {
          time = prefixTicks + fourDigits(low)
        } else {
          const high = view.getInt32(p - 2 * WORD_BYTES, true)
          if (isFourDigits(high)) time = prefixTicks + (fourDigits(high) * 10000 + fourDigits(low))
        }
      }
    }
    if (time < 0) {
      p = readTime(chunk, view, at, rows.dialect)
      if (p < 0) break
      time = TICKS[TIME]!
      prefixTicks = TICKS[PREFIX_TICKS]!
      timeBytes = TEXT[TIME_BYTES]!
      wordBytes = TEXT[WORD_BYTES_READ]!
      prefix0 = TEXT[PREFIX_0]!
      prefix1 = TEXT[PREFIX_1]!
      mask0 = TEXT[MASK_0]!
      mask1 = TEXT[MASK_1]!
    }
    if (time <= last) break

    // p is at the delimiter before the first level
    const crlf = chunk[p + tailBytes] === CR ? 1 : 0
    let odd = chunk[p + tailBytes + crlf]! ^ LF
    let now = 0
    let n = 0
    for (; n < paired; n += 2, p += 4) {
      const bits = view.getInt32(p, true) ^ pair
      odd |= bits & ~0x01000100
      now |= (((bits >>> 8) | (bits >>> 23)) & 3) << n
    }
    for (; n < channels; n++, p += stride) {
      const bit = chunk[p + stride - 1]! ^ ZERO
      odd |= (chunk[p]! ^ delimiter) | (bit & ~1)
      if (stride === 3) odd |= chunk[p + 1]! ^ SPACE
      now |= (bit & 1) << n
    }
    if (odd !== 0) break
    const above = before
    let changed = now ^ above
    before = now
    // Lowest channel first
    while (changed !== 0) {
      n = 31 - Math.clz32(changed & -changed)
      changed &= changed - 1
      tick[row] = time
      channel[row] = n
      level[row++] = (now >>> n) & 1
    }
    last = time
    sample++
    const rowBytes = p + crlf + 1 - at
    at += rowBytes
    if (now === above && wordBytes === 2 * WORD_BYTES && timeBytes > 0) {
      // A repeated row is seldom alone.
      const end = endOfRepeats(view, at, safe, rowBytes, timeBytes, mask0, mask1)
      if (end > at) {
        sample += (end - at) / rowBytes
        p = end - rowBytes + timeBytes
        const high = fourDigits(view.getInt32(p - 2 * WORD_BYTES, true))
        last = prefixTicks + (high * 10000 + fourDigits(view.getInt32(p - WORD_BYTES, true)))
        at = end
      }
    }
  }
  rows.lastTick = last
  rows.resume(before, sample, row)
  return at
}

// What `readTime` finds. In typed arrays, so that ticks are float64 from the first row on: the loop above would be compiled
// for small numbers, and once more when they have become large, which takes longer than the rows of 64 KiB.
const TIME = 0
/** Ticks of the digits before the words. */
const PREFIX_TICKS = 1
const TICKS = new Float64Array(2)
/** Length of the time; 0 where the next one must be read digit by digit as well. */
const TIME_BYTES = 0
/** Bytes at its end that are read as words: 4 or 8. */
const WORD_BYTES_READ = 1
/** The bytes before them, as two words, and which bytes of these words they are. */
const PREFIX_0 = 2
const PREFIX_1 = 3
const MASK_0 = 4
const MASK_1 = 5
const TEXT = new Int32Array(6)

/**
 * Reads a time digit by digit.
 * @returns where it ends; -1 for what is left to the plain reader
 */
function readTime(chunk: Uint8Array, view: DataView, at: number, dialect: CsvDialect): number {
  const { delimiter, decimal } = dialect
  const { decimals } = dialect.time!
  let p = at
  const negative = chunk[p] === MINUS
  if (negative) p++
  const digitsFrom = p
  let mantissa = 0
  let digits = 0
  let word = view.getInt32(p, true)
  while (isFourDigits(word) && digits < MAX_WHOLE_DIGITS) {
    mantissa = mantissa * 10000 + fourDigits(word)
    digits += 4
    p += 4
    word = view.getInt32(p, true)
  }
  let digit = (word & 0xff) - ZERO
  while (digit >= 0 && digit <= 9 && digits < MAX_WHOLE_DIGITS) {
    mantissa = mantissa * 10 + digit
    digits++
    digit = chunk[++p]! - ZERO
  }
  let scale = decimals
  // digits in an unbroken run up to the last that counts
  let run = digits
  if (decimal !== delimiter && chunk[p] === decimal) {
    p++
    for (; scale >= 4; scale -= 4, p += 4) {
      word = view.getInt32(p, true)
      if (!isFourDigits(word)) break
      mantissa = mantissa * 10000 + fourDigits(word)
    }
    digit = chunk[p]! - ZERO
    for (; scale > 0 && digit >= 0 && digit <= 9; scale--) {
      mantissa = mantissa * 10 + digit
      digit = chunk[++p]! - ZERO
    }
    run = decimals - scale
    // Digits finer than a tick may follow if they are zeros; others need rounding, which is not done here.
    if (digit === 0) run = 0
    while (digit === 0 && p - at < MAX_TIME_BYTES - 1) digit = chunk[++p]! - ZERO
    digits = p - digitsFrom - 1
  }
  if (digits === 0) return -1
  // Exact: what passes MAX_TICK on the way stays above it, and is left to the plain reader to refuse.
  const size = scale === 0 ? mantissa : mantissa * POWERS[scale]!
  if (size > MAX_TICK) return -1
  TICKS[TIME] = negative ? 0 - size : size
  TEXT[TIME_BYTES] = 0
  const wordBytes = run < 2 * WORD_BYTES ? WORD_BYTES : 2 * WORD_BYTES
  const prefixBytes = p - at - wordBytes
  if (
    negative ||
    scale !== 0 ||
    run < WORD_BYTES ||
    prefixBytes > 2 * WORD_BYTES ||
    size > MAX_TICK - MAX_WORDS
  )
    return p
  TICKS[PREFIX_TICKS] = size - (size % POWERS[wordBytes]!)
  TEXT[TIME_BYTES] = p - at
  TEXT[WORD_BYTES_READ] = wordBytes
  TEXT[PREFIX_0] = view.getInt32(at, true)
  TEXT[PREFIX_1] = view.getInt32(at + WORD_BYTES, true)
  TEXT[MASK_0] = firstBytesMask(prefixBytes)
  TEXT[MASK_1] = firstBytesMask(prefixBytes - WORD_BYTES)
  return p
}

/**
 * Rows that differ from the one above in their last eight digits of time alone, and are later. Their digits are compared,
 * not read: numbers of one length are in the order of their text.
 *
 * From the digits of one row to those of the next all bytes are the same as above: the levels, the line end, the first
 * digits of the next time. They are compared as words of eight bytes, the last of which may overlap the one before it. Such
 * words compare as float64, which is exact: those above are text, and so neither NaN nor zero.
 *
 * @param from after a row whose time ends in eight digits
 * @param stop no row begins beyond it
 * @param mask0,mask1 over the bytes before those digits
 * @returns where the first row begins that is another one, or that another one may follow
 */
function endOfRepeats(
  view: DataView,
  from: number,
  stop: number,
  rowBytes: number,
  timeBytes: number,
  mask0: number,
  mask1: number,
): number {
  const above = from - rowBytes
  const firstDigits =
    ((view.getInt32(from, true) ^ view.getInt32(above, true)) & mask0) |
    ((view.getInt32(from + WORD_BYTES, true) ^ view.getInt32(above + WORD_BYTES, true)) & mask1)
  // what is the same, and where its last word begins in it
  const lastWord = rowBytes - 4 * WORD_BYTES
  if (firstDigits !== 0 || lastWord < 0) return from
  const firstAt = above + timeBytes
  const first = view.getFloat64(firstAt)
  const last = view.getFloat64(firstAt + lastWord)
  let high = view.getInt32(firstAt - 2 * WORD_BYTES)
  let low = view.getInt32(firstAt - WORD_BYTES)
  let at = from
  for (; at <= stop; at += rowBytes) {
    const p = at + timeBytes
    const nextHigh = view.getInt32(p - 2 * WORD_BYTES)
    const nextLow = view.getInt32(p - WORD_BYTES)
    if (!isFourDigits(nextLow)) break
    if (nextHigh === high ? nextLow <= low : nextHigh < high || !isFourDigits(nextHigh)) break
    if (view.getFloat64(p) !== first || view.getFloat64(p + lastWord) !== last) break
    if (lastWord > 2 * WORD_BYTES && !isSameText(view, p, firstAt, lastWord)) break
    high = nextHigh
    low = nextLow
  }
  return at
}

/** Whether as many words as begin within so many bytes are the same in two places. */
function isSameText(view: DataView, one: number, other: number, bytes: number): boolean {
  for (let i = 0; i < bytes; i += 2 * WORD_BYTES) {
    if (view.getFloat64(one + i) !== view.getFloat64(other + i)) return false
  }
  return true
}

/** Ones over the first bytes of a little-endian word: none for 0 or less, all for 4 or more. */
function firstBytesMask(bytes: number): number {
  if (bytes <= 0) return 0
  return bytes >= WORD_BYTES ? -1 : (1 << (bytes * 8)) - 1
}
