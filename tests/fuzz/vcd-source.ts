// Random value change dumps: most of each is right, and any part of it may not be.

import { chance, pick, type Random } from '../support/random.ts'
import { EXTREMES, NAMES, skewed } from './pieces.ts'

/** Words that lead deep into the grammar wherever they stand. */
export const VCD_WORDS: readonly string[] = [
  '$var wire 1 ! H $end\n', '$scope module top $end\n', '$upscope $end\n', '$enddefinitions $end\n', '$end', '$end\n',
  '$timescale 1 ns $end\n', '$timescale', '$comment', '$comment 24 MHz $end\n', '$dumpvars\n', '$dumpoff\n', '$dumpall',
  '$dumpports', '$vcdclose #9 $end\n', '$attrbegin x $end\n', '$var', '$var real 64 r r $end\n', '$date', '$version',
  '#', '#0\n', '#1', '\n#', '0!', '1!\n', 'x!', 'z"', '1 !', 'b', 'b1 !\n', 'b0101 v\n', 'b1', '0b01 v\n', 'bx v\n', 'r1.5 r\n', 'sX r\n',
  'pD 6 0 !\n', 'pUU 66 00 v\n', '\\', ' ', '\n', '\r\n', '\t', '\r', '\x00', '\x1a', '\x7f', '\xff', '\xef\xbb\xbf',
  '\x1f\x8b', '\xc2\xb5', '[', '[3:0]', '\n\n\n\n', 'META samplerate: 24000000\n',
] // prettier-ignore

const TIMESCALES = [
  '1 ns',
  '1ns',
  '10 ns',
  '100ps',
  '1 us',
  '1 s',
  '1 fs',
  '1\n\tns',
  '5 ns',
  '244 ns',
  '0.5 ns',
  '1 NS',
  '1 \xc2\xb5s',
  '',
]
const TYPES = [
  'wire',
  'wire',
  'wire',
  'reg',
  'logic',
  'tri0',
  'real',
  'event',
  'integer',
  'string',
  'port',
  'x',
]
const SPACES = [' ', ' ', ' ', '\n', '\t', '  ', '\r\n']

/** @returns Latin-1 text */
export function vcdText(random: Random): string {
  const codes = codesOf(random)
  const widths = codes.map(() =>
    chance(random, 0.75) ? 1 : chance(random, 0.9) ? 2 + random.below(16) : skewed(random, 1e6),
  )
  const space = chance(random, 0.7) ? (): string => ' ' : (): string => pick(random, SPACES)
  let text = chance(random, 0.1) ? `${pick(random, NAMES)} samplerate ${pick(random, EXTREMES)} MHz\n` : ''
  if (chance(random, 0.5)) text += `$date today $end\n$version ${pick(random, NAMES)} $end\n`
  if (chance(random, 0.3)) text += `$comment Acquisition at ${1 + random.below(400)} MHz $end\n`
  if (chance(random, 0.9)) {
    const scale = chance(random, 0.85)
      ? pick(random, TIMESCALES)
      : `${pick(random, EXTREMES)} ${pick(random, ['ns', 's', 'fs', 'fortnight'])}`
    text += `$timescale${space()}${scale}${space()}$end\n`
  }
  const depth = chance(random, 0.02) ? skewed(random, 3000) : random.below(3)
  for (let level = 0; level < depth; level++) text += `$scope module ${pick(random, NAMES)} $end\n`
  for (const [n, code] of codes.entries()) {
    const size = chance(random, 0.97) ? String(widths[n]) : pick(random, EXTREMES)
    const range = widths[n]! > 1 && chance(random, 0.6) ? ` [${widths[n]! - 1}:0]` : ''
    const name = chance(random, 0.6) ? `w${n}` : pick(random, NAMES)
    text += `$var${space()}${pick(random, TYPES)}${space()}${size}${space()}${code}${space()}${name}${range}${space()}$end\n`
    if (chance(random, 0.05)) text += '$upscope $end\n'
  }
  if (chance(random, 0.95)) text += '$enddefinitions $end\n'
  return text + bodyOf(random, codes, widths)
}

function codesOf(random: Random): string[] {
  const count = chance(random, 0.03) ? skewed(random, 800) : 1 + random.below(5)
  return Array.from({ length: count }, (_, n) => {
    if (chance(random, 0.7)) return String.fromCharCode(33 + (n % 94)).repeat(1 + Math.floor(n / 94))
    const length = chance(random, 0.95) ? 1 + random.below(12) : skewed(random, 400)
    return Array.from({ length }, () => String.fromCharCode(33 + random.below(94))).join('')
  })
}

function bodyOf(random: Random, codes: readonly string[], widths: readonly number[]): string {
  const moments = skewed(random, 60)
  const newline = chance(random, 0.85) ? '\n' : pick(random, ['\r\n', ' ', '\r', '\n\n'])
  const odd = chance(random, 0.5) ? 0 : 0.05
  let text = chance(random, 0.5) ? `#0${newline}$dumpvars${newline}` : ''
  let time = chance(random, 0.95) ? 0 : -random.below(1000)
  for (let moment = 0; moment < moments; moment++) {
    time += random.below(chance(random, 0.9) ? 100 : 1e9)
    const fraction = chance(random, odd) ? `.${random.below(1000)}` : ''
    text += `#${chance(random, odd) ? pick(random, EXTREMES) : time}${fraction}${newline}`
    for (let change = random.below(4); change > 0; change--) {
      const n = random.below(codes.length)
      text += `${changeOf(random, codes[n]!, widths[n]!, odd)}${newline}`
    }
    if (chance(random, odd)) text += pick(random, VCD_WORDS)
  }
  return chance(random, 0.8) ? text : text.slice(0, Math.max(0, text.length - 1 - random.below(6)))
}

function changeOf(random: Random, code: string, width: number, odd: number): string {
  const unusual = chance(random, odd)
  if (unusual && chance(random, 0.3)) return `r${pick(random, EXTREMES)} ${code}`
  if (unusual && chance(random, 0.3))
    return `p${pick(random, ['D', 'U', 'NZ', 'q', ''])} ${random.below(9)} 0 ${code}`
  const alphabet = unusual ? '01xzXZuwlh-?2q' : '01'
  const most = unusual ? skewed(random, 200) : Math.min(width, 64)
  const digits = Array.from({ length: most }, () => pick(random, [...alphabet])).join('')
  if (width === 1 && !unusual) return `${digits}${code}`
  return `${pick(random, ['b', 'b', 'B', '0b'])}${digits}${unusual && chance(random, 0.2) ? '' : ' '}${code}`
}
