// The hot loop for rows of levels alone, `0,1,0,1`, one for each sample: rows of one length, most of them equal to the row
// above, which is found by comparing words. It reads whole usual rows that lie inside the chunk and stops before the first
// that is not one; csv-rows.ts, which is its oracle, takes that.

import type { CsvRows } from './csv-rows.ts'
import { BATCH_ROOM, STRIDE_BYTES } from './csv-scan-limits.ts'

const ZERO = 0x30
const SPACE = 0x20
const CR = 0x0d
const LF = 0x0a
const WORD_BYTES: number = Float64Array.BYTES_PER_ELEMENT

/**
 * @param view of the bytes of `chunk`
 * @param stride bytes from one level to the next: 2, or 3 with a space after the delimiter
 * @returns where the first other row begins, or the chunk's end cuts one; `rows` is up to there
 */
export function scanSampleRows(
  chunk: Uint8Array,
  view: DataView,
  from: number,
  rows: CsvRows,
  stride: number,
): number {
  const { tick, channel, level } = rows.batch
  const length = chunk.length
  const delimiter = rows.dialect.delimiter
  const channels = rows.levels.length
  const newlineAt = (channels - 1) * stride + 1
  // a look past the end of the chunk throws the compiled code away
  if (from + newlineAt >= length) return from
  const crlf = chunk[from + newlineAt] === CR ? 1 : 0
  const rowBytes = newlineAt + crlf + 1
  // Channels that are read two at a time: `0,1,` is one word, and so are the last two with the first byte of the line end.
  const paired = stride === 2 ? (channels - 1) & ~1 : 0
  const endsInPair = stride === 2 && (channels & 1) === 0
  const pair = (delimiter * 0x1000100) | 0x300030
  const lastPair = ((crlf === 1 ? CR : LF) << 24) | (delimiter << 8) | 0x300030
  const safe = length - WORD_BYTES
  const lastAt = Math.min(from + STRIDE_BYTES, length - rowBytes)
  let before = rows.levelBits
  let sample = rows.sample
  let row = rows.batch.count
  let at = from
  while (at <= lastAt && row <= BATCH_ROOM) {
    let odd = endsInPair && crlf === 0 ? 0 : chunk[at + rowBytes - 1]! ^ LF
    let now = 0
    let n = 0
    let p = at
    for (; n < paired; n += 2, p += 4) {
      const bits = view.getInt32(p, true) ^ pair
      odd |= bits & ~0x00010001
      now |= ((bits | (bits >>> 15)) & 3) << n
    }
    if (endsInPair) {
      const bits = view.getInt32(p, true) ^ lastPair
      odd |= bits & ~0x00010001
      now |= ((bits | (bits >>> 15)) & 3) << n
      n += 2
    } else if (crlf === 1) {
      odd |= chunk[at + newlineAt]! ^ CR
    }
    for (; n < channels; n++, p += stride) {
      const bit = chunk[p]! ^ ZERO
      odd |= bit & ~1
      if (n + 1 < channels) odd |= chunk[p + 1]! ^ delimiter
      if (stride === 3 && n > 0) odd |= chunk[p - 1]! ^ SPACE
      now |= (bit & 1) << n
    }
    if (odd !== 0) break
    at += rowBytes
    let changed = now ^ before
    if (changed === 0) {
      // A repeated row is seldom alone. Words of eight bytes compare as float64, at any alignment. That is exact here: the
      // row above is known to be text, so its words are neither NaN nor zero.
      let same = at
      while (same <= safe && view.getFloat64(same, true) === view.getFloat64(same - rowBytes, true)) {
        same += WORD_BYTES
      }
      const repeated = ((same - at) / rowBytes) | 0
      sample += repeated + 1
      at += repeated * rowBytes
      continue
    }
    before = now
    // Lowest channel first
    while (changed !== 0) {
      n = 31 - Math.clz32(changed & -changed)
      changed &= changed - 1
      tick[row] = sample
      channel[row] = n
      level[row++] = (now >>> n) & 1
    }
    sample++
  }
  if (sample > rows.sample) rows.lastTick = sample - 1
  rows.resume(before, sample, row)
  return at
}
