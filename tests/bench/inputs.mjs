// Captures for the benchmark: the raster as an asynchronous instrument sees it, written in the forms that exports come in.
// Written as it is made: memory stays flat whatever the size.

import { closeSync, openSync, writeSync } from 'node:fs'
import { DOT_CLOCK_HZ, DOTS_PER_FRAME, drawFrame } from './raster.mjs'

/**
 * @typedef {object} Input
 * @property {string} id file name without its folder, and what `--input` picks by
 * @property {string} name as the table shows it
 * @property {'vcd' | 'csv'} format
 * @property {'vcd' | 'seconds' | 'nanoseconds' | 'samples-timed' | 'samples'} layout
 * @property {'text' | 'dither'} screen
 * @property {number} sampleRateHz of the instrument
 * @property {number} colours colour channels, after hsync and vsync
 */

/**
 * What is in a generated file.
 * @typedef {object} Contents
 * @property {number} bytes
 * @property {number} textLines newlines in the file
 * @property {number} rows rows below the header (CSV), or value changes (VCD)
 * @property {number} columns cells in a row; 0 for VCD
 * @property {number} transitions level changes, and one first level per channel
 * @property {number} lastTick time of the last row: in ns, or the sample's number where there is no time column
 */

/** @type {readonly Input[]} */
export const INPUTS = [
  input('vcd-text.vcd', 'VCD per change, text, 24 MS/s', 'vcd', 'text', 24e6, 4),
  input('vcd-dither.vcd', 'VCD per change, dither, 100 MS/s', 'vcd', 'dither', 100e6, 6),
  input('change-s-text.csv', 'CSV per change, seconds, text, 24 MS/s', 'seconds', 'text', 24e6, 4),
  input('change-s-dither.csv', 'CSV per change, seconds, dither, 100 MS/s', 'seconds', 'dither', 100e6, 6),
  input(
    'change-ns-dither.csv',
    'CSV per change, whole ns, dither, 24 MS/s',
    'nanoseconds',
    'dither',
    24e6,
    4,
  ),
  input('sample-time-text.csv', 'CSV per sample, seconds, text, 24 MS/s', 'samples-timed', 'text', 24e6, 4),
  input('sample-text.csv', 'CSV per sample, no time, text, 24 MS/s', 'samples', 'text', 24e6, 4),
  input('sample-dither.csv', 'CSV per sample, no time, dither, 24 MS/s', 'samples', 'dither', 24e6, 6),
]

/** @returns {Input} */
function input(id, name, layout, screen, sampleRateHz, colours) {
  return { id, name, format: layout === 'vcd' ? 'vcd' : 'csv', layout, screen, sampleRateHz, colours }
}

const CHANNELS = ['HSYNC', 'VSYNC', 'R', 'G', 'B', 'I']
const SIX_COLOURS = ['HSYNC', 'VSYNC', 'R', 'G', 'B', 'r', 'g', 'b']

const NEWLINE = 10
const COMMA = 44
const ZERO = 48
const FIRST_CODE = 33

/**
 * Writes an input of at least the given size; ends within one row of it.
 *
 * @param {Input} input
 * @param {string} file
 * @param {number} wantedBytes
 * @returns {Contents}
 */
export function writeInput(input, file, wantedBytes) {
  const names = input.colours === 6 ? SIX_COLOURS : CHANNELS
  const out = new FileSink(file)
  const layout = LAYOUTS[input.layout](out, names, input.sampleRateHz)
  const { dot, code, idle } = drawFrame(input.screen, input.colours)
  const samplesPerDot = input.sampleRateHz / DOT_CLOCK_HZ
  // the instrument starts somewhere within a dot; a change is seen at the first sample at or after it
  const startDot = DOTS_PER_FRAME / 3 + 0.37
  let before = idle
  let transitions = names.length
  let started = false
  try {
    for (let frame = 0; out.bytes < wantedBytes; frame++) {
      for (let i = 0; i < dot.length && out.bytes < wantedBytes; i++) {
        const sample = Math.ceil((frame * DOTS_PER_FRAME + dot[i] - startDot) * samplesPerDot)
        if (sample > 0) {
          if (!started) layout.first(before)
          started = true
          layout.change(sample, code[i], before)
          transitions += bitCount(code[i] ^ before)
        }
        before = code[i]
      }
    }
  } finally {
    out.close()
  }
  const columns = input.format === 'vcd' ? 0 : names.length + (input.layout === 'samples' ? 0 : 1)
  const rows = input.format === 'vcd' ? transitions : out.textLines - 1
  return {
    bytes: out.bytes,
    textLines: out.textLines,
    rows,
    columns,
    transitions,
    lastTick: layout.lastTick(),
  }
}

function bitCount(code) {
  let count = 0
  for (let rest = code; rest > 0; rest &= rest - 1) count++
  return count
}

/** Bytes into a file through one buffer. */
class FileSink {
  #file
  #buffer = Buffer.alloc(1 << 20)
  #used = 0
  #written = 0
  textLines = 0

  constructor(file) {
    this.#file = openSync(file, 'wx')
  }

  get bytes() {
    return this.#written + this.#used
  }

  /** Room for one row, which no layout makes longer than 64 bytes. */
  #makeRoom() {
    if (this.#buffer.length - this.#used >= 64) return
    writeSync(this.#file, this.#buffer, 0, this.#used)
    this.#written += this.#used
    this.#used = 0
  }

  text(text) {
    for (const character of text) this.byte(character.charCodeAt(0))
  }

  byte(byte) {
    this.#makeRoom()
    this.#buffer[this.#used++] = byte
    if (byte === NEWLINE) this.textLines++
  }

  /** A whole number, at least `digits` long. */
  number(value, digits = 1) {
    this.#makeRoom()
    let length = digits
    for (let limit = 10 ** digits; value >= limit; limit *= 10) length++
    let rest = value
    for (let at = this.#used + length - 1; at >= this.#used; at--) {
      const next = Math.floor(rest / 10)
      this.#buffer[at] = ZERO + (rest - next * 10)
      rest = next
    }
    this.#used += length
  }

  /** Cells of 0 and 1 and the end of the row. */
  levels(code, channels) {
    this.#makeRoom()
    const buffer = this.#buffer
    let at = this.#used
    for (let bit = 0; bit < channels; bit++) {
      buffer[at++] = ZERO + ((code >> bit) & 1)
      buffer[at++] = COMMA
    }
    buffer[at - 1] = NEWLINE
    this.#used = at
    this.textLines++
  }

  close() {
    writeSync(this.#file, this.#buffer, 0, this.#used)
    this.#written += this.#used
    this.#used = 0
    closeSync(this.#file)
  }
}

/** Each: the header at once, then `first(code)` for the levels at time 0 and `change(sample, code, before)`. */
const LAYOUTS = {
  vcd: (out, names, sampleRateHz) => {
    const nanoseconds = 1e9 / sampleRateHz
    let last = 0
    out.text('$timescale 1 ns $end\n$scope module capture $end\n')
    names.forEach((name, i) => out.text(`$var wire 1 ${String.fromCharCode(FIRST_CODE + i)} ${name} $end\n`))
    out.text('$upscope $end\n$enddefinitions $end\n')
    const value = (code, bit) => {
      out.byte(ZERO + ((code >> bit) & 1))
      out.byte(FIRST_CODE + bit)
      out.byte(NEWLINE)
    }
    return {
      first(code) {
        out.text('#0\n$dumpvars\n')
        for (let bit = 0; bit < names.length; bit++) value(code, bit)
        out.text('$end\n')
      },
      change(sample, code, before) {
        last = Math.round(sample * nanoseconds)
        out.byte(35)
        out.number(last)
        out.byte(NEWLINE)
        for (let bit = 0; bit < names.length; bit++) if (((code ^ before) >> bit) & 1) value(code, bit)
      },
      lastTick: () => last,
    }
  },
  seconds: (out, names, sampleRateHz) =>
    perChange(out, names, sampleRateHz, 'Time [s]', (nanoseconds) => {
      writeSeconds(out, nanoseconds)
    }),
  nanoseconds: (out, names, sampleRateHz) =>
    perChange(out, names, sampleRateHz, 'Time [ns]', (nanoseconds) => out.number(nanoseconds)),
  'samples-timed': (out, names, sampleRateHz) => {
    const interval = 1e9 / sampleRateHz
    return perSample(out, names, ['Time [s]'], (sample) => {
      const nanoseconds = Math.round(sample * interval)
      writeSeconds(out, nanoseconds)
      out.byte(COMMA)
      return nanoseconds
    })
  },
  samples: (out, names) => perSample(out, names, [], (sample) => sample),
}

function writeSeconds(out, nanoseconds) {
  const seconds = Math.floor(nanoseconds / 1e9)
  out.number(seconds)
  out.byte(46)
  out.number(nanoseconds - seconds * 1e9, 9)
}

function perChange(out, names, sampleRateHz, timeHeader, writeTime) {
  const interval = 1e9 / sampleRateHz
  let last = 0
  out.text(`${[timeHeader, ...names].join(',')}\n`)
  const row = (nanoseconds, code) => {
    writeTime(nanoseconds)
    out.byte(COMMA)
    out.levels(code, names.length)
    last = nanoseconds
  }
  return {
    first: (code) => row(0, code),
    change: (sample, code) => row(Math.round(sample * interval), code),
    lastTick: () => last,
  }
}

function perSample(out, names, timeHeader, beginRow) {
  let next = 0
  let last = 0
  out.text(`${[...timeHeader, ...names].join(',')}\n`)
  const rowsUpTo = (end, code) => {
    for (; next < end; next++) {
      last = beginRow(next)
      out.levels(code, names.length)
    }
  }
  return {
    first: (code) => rowsUpTo(1, code),
    change(sample, code, before) {
      rowsUpTo(sample, before)
      rowsUpTo(sample + 1, code)
    },
    lastTick: () => last,
  }
}
