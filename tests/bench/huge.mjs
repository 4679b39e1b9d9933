// npm run huge: a virtual capture of many gigabytes through whole identify, made on the way and never stored; prints speed
// and peak memory, and holds the answer against what was made.
//
//   npm run huge -- [--gigabytes N] [--samples] [--limit MB]
//
// Without --samples a VCD of changes in ticks of 1 ns; with it a CSV of one row per sample, of which a gigabyte is 7 x 10^7.
// --limit is the peak memory that may be taken, in megabytes.

import { parseArgs } from 'node:util'
import { CaptureMeasurer } from '../../dist/measure.js'
import { DOT_CLOCK_HZ, DOTS_PER_FRAME, drawFrame, SCANLINE_HZ } from './raster.mjs'

const CHUNK_BYTES = 256 * 1024
const MEGABYTE = 1e6
/** Longest text that is put at once. */
const ROOM_BYTES = 4096
const ROWS_AT_ONCE = 300
const REPORT_EVERY = 1000 * MEGABYTE
const SAMPLE_HZ = 24e6
const NAMES = ['HSYNC', 'VSYNC', 'R', 'G', 'B', 'I']

const { values: options } = parseArgs({
  options: {
    gigabytes: { type: 'string', default: '20' },
    samples: { type: 'boolean', default: false },
    limit: { type: 'string', default: '400' },
  },
})
const wantedBytes = Number(options.gigabytes) * 1000 * MEGABYTE
const limitMegabytes = Number(options.limit)
if (!(wantedBytes > 0 && limitMegabytes > 0)) throw new RangeError('--gigabytes and --limit take numbers')

const { dot, code, idle } = drawFrame('text', NAMES.length - 2)
const measurer = new CaptureMeasurer()
const began = performance.now()
let bytes = 0
let samples = 0
let nextReport = REPORT_EVERY
const chunk = Buffer.alloc(CHUNK_BYTES)
let used = 0
/** Processor time of identify, in microseconds. */
let writing = 0
if (options.samples) makeSamples()
else makeChanges()
flush()
const { main, transitions, notices, durationSeconds } = measurer.end()
const seconds = (performance.now() - began) / 1000
const peak = process.resourceUsage().maxRSS * 1024
console.log(
  `${(bytes / 1e9).toFixed(2)} GB, ${transitions} transitions, ${samples > 0 ? `${samples} samples, ` : ''}${durationSeconds.toFixed(1)} s of video`,
)
console.log(
  `${speed()} MB/s of processor time without the making of it, peak memory ${(peak / MEGABYTE).toFixed(0)} MB, in ${seconds.toFixed(0)} s`,
)
const { frequencyHz } = main.hsync
console.log(
  `scanline rate ${frequencyHz.value} Hz ± ${frequencyHz.uncertainty}, made ${SCANLINE_HZ}; notices: ${notices.map((notice) => notice.code).join(' ') || 'none'}`,
)
const problems = [
  Math.abs(frequencyHz.value - SCANLINE_HZ) > 6 * frequencyHz.uncertainty + 1e-9 * SCANLINE_HZ &&
    'the scanline rate is wrong',
  main.raster.dotsPerScanline !== 912 && `dots per scanline: ${main.raster.dotsPerScanline}`,
  main.sync.faultCount > 0 && `${main.sync.faultCount} faults`,
  peak > limitMegabytes * MEGABYTE && `more than ${limitMegabytes} MB of memory`,
].filter(Boolean)
for (const problem of problems) console.log(`wrong: ${problem}`)
process.exitCode = problems.length > 0 ? 1 : 0

function flush() {
  const before = process.cpuUsage()
  measurer.write(chunk.subarray(0, used))
  const { user, system } = process.cpuUsage(before)
  writing += user + system
  bytes += used
  used = 0
  if (bytes < nextReport) return
  nextReport += REPORT_EVERY
  const resident = process.memoryUsage.rss() / MEGABYTE
  console.log(`${(bytes / 1e9).toFixed(1)} GB, ${speed()} MB/s, ${resident.toFixed(0)} MB`)
}

/** Of identify alone, by the processor's time: neither the making counts nor what else the machine does. */
function speed() {
  return (bytes / MEGABYTE / (writing / 1e6)).toFixed(0)
}

function isDone() {
  return bytes + used >= wantedBytes
}

/** Adds a text that is shorter than ROOM_BYTES. */
function put(text) {
  if (used > CHUNK_BYTES - ROOM_BYTES) flush()
  used += chunk.latin1Write(text, used)
}

/** Adds a whole number from 0 in decimal: a string for each would be half of the making. */
function putNumber(number) {
  let high = Math.floor(number / 1e9)
  let low = number - high * 1e9
  let digits = 1
  for (let most = 10; number >= most && digits < 16; most *= 10) digits++
  for (let place = used + digits - 1, n = 0; place >= used; place--, n++) {
    if (n === 9) low = high
    const tenth = Math.floor(low / 10)
    chunk[place] = 0x30 + low - tenth * 10
    low = tenth
  }
  used += digits
}

/** A VCD of changes in nanoseconds. */
function makeChanges() {
  const variables = NAMES.map((name, n) => `$var wire 1 ${identifier(n)} ${name} $end\n`).join('')
  put(`$timescale 1 ns $end\n${variables}$enddefinitions $end\n#0\n${levels(idle, (1 << NAMES.length) - 1)}`)
  const nanoseconds = 1e9 / DOT_CLOCK_HZ
  // frames are alike but for their times
  const texts = Array.from(code, (now, i) => `\n${levels(now, now ^ (i === 0 ? idle : code[i - 1]))}#`)
  put('#')
  for (let frame = 0; !isDone(); frame++) {
    const from = frame * DOTS_PER_FRAME + 1
    for (let i = 0; i < dot.length; i++) {
      putNumber(Math.ceil((from + dot[i]) * nanoseconds))
      put(texts[i])
    }
  }
  // takes the last mark back, which has no time
  used--
}

function identifier(channel) {
  return String.fromCharCode(33 + channel)
}

function levels(now, changed) {
  let text = ''
  for (let n = 0; n < NAMES.length; n++) if ((changed >> n) & 1) text += `${(now >> n) & 1}${identifier(n)}\n`
  return text
}

/** A CSV of one row per sample. */
function makeSamples() {
  put(`# Sample rate: ${SAMPLE_HZ / 1e6} MHz\n${NAMES.join(',')}\n`)
  const perDot = SAMPLE_HZ / DOT_CLOCK_HZ
  const rows = Array.from(code, rowOf)
  let row = rowOf(idle)
  for (let frame = 0; !isDone(); frame++) {
    const from = frame * DOTS_PER_FRAME + 1
    for (let i = 0; i < dot.length; i++) {
      const end = Math.ceil((from + dot[i]) * perDot)
      while (samples < end) {
        const times = Math.min(ROWS_AT_ONCE, end - samples)
        put(times === 1 ? row : row.repeat(times))
        samples += times
      }
      row = rows[i]
    }
  }
}

function rowOf(now) {
  return `${NAMES.map((_, n) => (now >> n) & 1).join(',')}\n`
}
