// Random tables in the dialects that instruments write: most of each is right, and any part of it may not be.

import { chance, pick, type Random } from '../support/random.ts'
import { EXTREMES, NAMES, skewed } from './pieces.ts'

/** Pieces that mean something to a reader of tables wherever they stand. */
export const CSV_WORDS: readonly string[] = [
  ',', ';', '\t', '|', ' ', '"', '""', '"0"', '"\n', '\n', '\r\n', '\r', '\n\n', '#', '# 10 MHz\n', ';comment\n', '//\n', '%\n',
  'Time [ns],A,B\n', 'Time,Channel 0\n', 'Sample Rate: 100 MS/s\n', 'Sample Interval,4e-9\n', 'Horizontal Units,S\n',
  '0', '1', 'X', 'Z', '?', '-', 'H', 'low', 'true', 'NaN', '0x1F', "8'hFF", '$1F', '1Fh', '0b101', '3.3', '3.3V', '120 mV', '-0.4',
  '1e5', '1e', 'ms', ' us', '4.647 800 ms', '0,5', 'é', '\xef\xbb\xbf', '\x00', '\x1a', '\xb5s', '\x7f', '\xff', '=1+1', '$var wire 1 ! a $end',
] // prettier-ignore

const PREAMBLES: readonly string[] = [
  '# Sample rate: 24 MHz\n', '; CSV, generated\n', 'Sample Rate:,100 MS/s\n', '"Sample Interval","4.0E-9"\n', 'Record Length,20\n',
  'Horizontal Units,S\n', `sampling rate${' '.repeat(3000)}x\n`, 'Model,ABC-1\n', 'x-axis,1,2\nsecond,Volt,Volt\n', '\n\n', '%\n', 'Channels (2/8)\n', 'Samplerate: 9545454 Hz\n',
] // prettier-ignore
const TIME_HEADS = [
  'Time',
  'Time [s]',
  'Time[ns]',
  'time (ms)',
  't/us',
  'Time, Channel',
  'Timestamp',
  'x-axis',
  'Sample',
  '#',
  'second',
  'T',
  '',
]
const UNITS = ['', '', '', ' s', ' ms', ' us', ' ns', 'ns', ' fs', ' kg']

type Cell = (random: Random) => string
const CELLS: readonly Cell[] = [
  (random) => String(random.below(2)),
  (random) => String(random.below(2)),
  (random) => String(random.below(2)),
  (random) => pick(random, ['0', '1', 'X', 'Z', '']),
  (random) => pick(random, ['high', 'low', 'H', 'L', 'true', 'off']),
  (random) => `0x${random.below(256).toString(16)}`,
  (random) => random.below(256).toString(2).padStart(8, '0'),
  (random) => String(random.below(16)),
  (random) => (random.below(2) * 3.3 + random.gaussian() * 0.1).toFixed(3),
  (random) => `${(random.uniform() * 5).toFixed(2)} V`,
  (random) => `${(random.below(2) * 3300).toExponential(2)}mV`,
  (random) => pick(random, NAMES),
]

/** @returns Latin-1 text */
export function csvText(random: Random): string {
  const delimiter = pick(random, [',', ',', ',', ';', '\t', '|', ' '])
  const newline = pick(random, ['\n', '\n', '\r\n', '\r'])
  const odd = chance(random, 0.5) ? 0 : 0.02
  const columns = Array.from(
    { length: chance(random, 0.03) ? skewed(random, 900) : 1 + random.below(8) },
    () => pick(random, CELLS),
  )
  const timed = chance(random, 0.7)
  const quoted = chance(random, 0.1)
  const rowOf = (cells: readonly string[]): string =>
    `${(quoted ? cells.map((cell) => (chance(random, 0.9) ? `"${cell}"` : cell)) : cells).join(delimiter)}${newline}`
  let text = ''
  while (chance(random, 0.3)) text += pick(random, PREAMBLES)
  if (chance(random, 0.8)) {
    const names = columns.map((_, n) => (chance(random, 0.7) ? `D${n}` : pick(random, NAMES)))
    text += rowOf(timed ? [pick(random, TIME_HEADS), ...names] : names)
  }
  const time = timeOf(random)
  const rows = skewed(random, 80)
  let cells = columns.map((cell) => cell(random))
  for (let row = 0; row < rows; row++) {
    if (chance(random, 0.7))
      cells = columns.map((cell, n) => (chance(random, 0.5) ? cell(random) : cells[n]!))
    const first = chance(random, odd) ? pick(random, EXTREMES) : time()
    const shown = chance(random, odd) ? cells.slice(0, random.below(cells.length + 1)) : cells
    text += rowOf(timed ? [first, ...shown] : shown)
    if (chance(random, odd)) text += pick(random, CSV_WORDS)
  }
  return chance(random, 0.8) ? text : text.slice(0, Math.max(0, text.length - 1 - random.below(6)))
}

/** Times that rise, in one of the ways they are written. */
function timeOf(random: Random): () => string {
  const steady = chance(random, 0.5)
  const most = chance(random, 0.9) ? 1000 : 1e12
  const step = 1 + random.below(most)
  const unit = pick(random, UNITS)
  const form = random.below(5)
  const scale = 10 ** random.below(13)
  let now = chance(random, 0.8) ? 0 : -random.below(most) * 10
  return () => {
    const value = now
    now += steady ? step : 1 + random.below(most)
    if (form === 0) return `${value}${unit}`
    if (form === 1) return `${(value / scale).toFixed(Math.min(20, Math.ceil(Math.log10(scale))))}${unit}`
    if (form === 2) return (value / scale).toExponential(9)
    if (form === 3) return `${(value / scale).toFixed(9)}${unit}`.replace('.', ',')
    return String(value / scale)
  }
}
