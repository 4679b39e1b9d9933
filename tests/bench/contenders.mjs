// Everything that is timed on an input: the readers, whole identify, other packages, and the floor. Each gives an answer
// that is checked against what the generator wrote. Runs in a child process of its own (run-contender.mjs).

import { spawn } from 'node:child_process'
import { createReadStream } from 'node:fs'
import { createRequire } from 'node:module'
import { finished } from 'node:stream/promises'
import { fileURLToPath } from 'node:url'
import { parse } from 'csv-parse'
import Papa from 'papaparse'
import { inferSchema, initParser } from 'udsv'
import { CsvReader } from '../../dist/capture/csv-reader.js'
import { VcdReader } from '../../dist/capture/vcd-reader.js'
import { CaptureMeasurer } from '../../dist/measure.js'
import { NoticeList } from '../../dist/notices.js'
import { openCapture } from '../../dist/open-capture.js'
import { DOTS_PER_SCANLINE, SCANLINE_HZ, SCANLINES_PER_FRAME } from './raster.mjs'

/** @import { Contents, Input } from './inputs.mjs' */

/**
 * @typedef {object} Contender
 * @property {string} name
 * @property {'ours' | 'peer' | 'floor'} side
 * @property {(input: Input) => boolean} [reads] which inputs it can read; all without it
 * @property {(file: string, input: Input) => Promise<Record<string, unknown>>} run gives the answer
 * @property {(contents: Contents) => Record<string, unknown>} expected the answer that is right
 */

// Chunks of 64 KiB, the stream's own default: every package was as fast with them as with 256 KiB, or faster, and the
// wasm form of vcd-stream takes no more.
const PEER_STREAM = { highWaterMark: 64 * 1024 }
const BIN = fileURLToPath(new URL('../../bin/rastertap.js', import.meta.url))
const REPORT_MEMORY = new URL('./report-memory.mjs', import.meta.url).href

const isVcd = ({ format }) => format === 'vcd'
const isCsv = ({ format }) => format === 'csv'
const rateOf = ({ layout, sampleRateHz }) => (layout === 'samples' ? sampleRateHz : undefined)
const loadVcdStream = () => createRequire(import.meta.url)('vcd-stream')

const readerAnswer = ({ transitions, lastTick }) => ({ transitions, lastTick })
// a header is a row like any other to a package that is not told of it
const rowAnswer = ({ rows, columns }) => ({ rows: rows + 1, cells: (rows + 1) * columns })
const identifyAnswer = ({ transitions }) => ({
  transitions,
  scanlineRate: 'within 1 ppm',
  dotsPerScanline: DOTS_PER_SCANLINE,
  scanlinesPerFrame: SCANLINES_PER_FRAME,
})

/** @type {readonly Contender[]} */
export const CONTENDERS = [
  {
    name: 'our reader',
    side: 'ours',
    async run(file, input) {
      let transitions = 0
      const reader = new (isVcd(input) ? VcdReader : CsvReader)({
        notices: new NoticeList(),
        sampleRateHz: rateOf(input),
        onHeader: () => {},
        sink: (batch) => (transitions += batch.count),
      })
      for await (const chunk of openCapture(file)) reader.write(chunk)
      const { lastTick } = reader.end()
      return { transitions, lastTick: Math.round(lastTick) }
    },
    expected: readerAnswer,
  },
  {
    name: 'our identify (library)',
    side: 'ours',
    async run(file, input) {
      const measurer = new CaptureMeasurer({ sampleRateHz: rateOf(input) })
      for await (const chunk of openCapture(file)) measurer.write(chunk)
      const { transitions, main } = measurer.end()
      return identified(transitions, main)
    },
    expected: identifyAnswer,
  },
  {
    name: 'our identify (command)',
    side: 'ours',
    async run(file, input) {
      const rate = rateOf(input)
      const more = rate === undefined ? [] : ['--rate', String(rate)]
      const { capture, main, peakBytes } = await identifyCommand(file, more)
      return { ...identified(capture.transitions, main), peakBytes }
    },
    expected: identifyAnswer,
  },
  {
    name: 'vcd-stream (wasm)',
    side: 'peer',
    reads: isVcd,
    async run(file) {
      // file by file: the package's own entry loads its native addon too
      const require = createRequire(import.meta.url)
      const createVCD = require('vcd-stream/out/vcd.js')
      const webVcdParser = require('vcd-stream/lib/web-vcd-parser.js')
      return vcdStreamAnswer(file, await webVcdParser(await createVCD()))
    },
    expected: ({ transitions }) => ({ transitions }),
  },
  {
    name: 'vcd-stream (native)',
    side: 'peer',
    // its addon is built only where the package's install script was allowed (npm rebuild vcd-stream)
    reads: (input) => isVcd(input) && hasNativeVcdStream(),
    run: (file) => vcdStreamAnswer(file, loadVcdStream().parser()),
    expected: ({ transitions }) => ({ transitions }),
  },
  {
    name: 'csv-parse',
    side: 'peer',
    reads: isCsv,
    async run(file) {
      // stream API with `data` events: as fast as `readable`, three times as fast as `on_record`
      const counter = new RowCounter()
      const parser = createReadStream(file, PEER_STREAM).pipe(parse())
      parser.on('data', (row) => counter.add(row))
      await finished(parser)
      return counter.answer
    },
    expected: rowAnswer,
  },
  {
    name: 'papaparse',
    side: 'peer',
    reads: isCsv,
    async run(file) {
      const counter = new RowCounter()
      await new Promise((resolve, reject) => {
        Papa.parse(createReadStream(file, PEER_STREAM), {
          delimiter: ',',
          newline: '\n',
          fastMode: true,
          // what is left after the last newline counts as a row of one empty cell
          skipEmptyLines: true,
          chunk: ({ data }) => data.forEach((row) => counter.add(row)),
          complete: resolve,
          error: reject,
        })
      })
      return counter.answer
    },
    expected: rowAnswer,
  },
  {
    name: 'udsv',
    side: 'peer',
    reads: isCsv,
    async run(file) {
      const counter = new RowCounter()
      const stream = createReadStream(file, PEER_STREAM)
      let parser
      stream.on('data', (chunk) => {
        const text = chunk.toString()
        parser ??= initParser(inferSchema(text))
        // strings, the form that its documentation calls the fastest; a handler keeps it from gathering all rows
        parser.chunk(text, parser.stringArrs, (row) => counter.add(row))
      })
      await finished(stream)
      parser.end()
      return counter.answer
    },
    expected: ({ rows, columns }) => ({ rows, cells: rows * columns }),
  },
  {
    name: 'wc -l',
    side: 'floor',
    run: async (file) => ({ textLines: parseInt(await outputOf('wc', ['-l', file]), 10) }),
    expected: ({ textLines }) => ({ textLines }),
  },
  {
    name: 'cat > /dev/null',
    side: 'floor',
    async run(file) {
      const child = spawn('cat', [file], { stdio: ['ignore', 'ignore', 'inherit'] })
      return { status: await new Promise((resolve) => child.on('close', resolve)) }
    },
    expected: () => ({ status: 0 }),
  },
]

/** Rows and cells, so that a package that leaves cells out is found out. */
class RowCounter {
  #rows = 0
  #cells = 0

  add(row) {
    this.#rows++
    this.#cells += row.length
  }

  get answer() {
    return { rows: this.#rows, cells: this.#cells }
  }
}

async function vcdStreamAnswer(file, parser) {
  let transitions = 0
  parser.change.any(() => transitions++)
  createReadStream(file, PEER_STREAM).pipe(parser)
  await finished(parser)
  return { transitions }
}

function identified(transitions, main) {
  const off = main.hsync.frequencyHz.value / SCANLINE_HZ - 1
  return {
    transitions,
    scanlineRate: Math.abs(off) < 1e-6 ? 'within 1 ppm' : `off by ${(off * 1e6).toFixed(2)} ppm`,
    dotsPerScanline: main.raster.dotsPerScanline,
    scanlinesPerFrame: main.raster.scanlinesPerFrame,
  }
}

/**
 * `identify --json` as a process of its own.
 * @returns its report, and the peak memory of that process
 */
async function identifyCommand(file, options) {
  const child = spawn(
    process.execPath,
    ['--import', REPORT_MEMORY, BIN, 'identify', file, '--json', ...options],
    { stdio: ['ignore', 'pipe', 'inherit', 'pipe'] },
  )
  const [report, memory] = await Promise.all([textOf(child.stdout), textOf(child.stdio[3])])
  return { ...JSON.parse(report), peakBytes: Number(memory) }
}

async function outputOf(command, options) {
  return textOf(spawn(command, options, { stdio: ['ignore', 'pipe', 'inherit'] }).stdout)
}

async function textOf(stream) {
  let text = ''
  for await (const chunk of stream) text += chunk
  return text
}

/** Whether the native addon of vcd-stream is there. */
function hasNativeVcdStream() {
  try {
    loadVcdStream().parser()
    return true
  } catch {
    return false
  }
}
