// Samples → a value change dump (IEEE 1364-2005, clause 18).

import type { SampleSink } from './instrument.ts'
import type { SignalChannel } from './signal-channels.ts'
import type { TextSink } from './text-sink.ts'

/** Identifier codes are printable characters (18.2.1); the first is `!`. */
const FIRST_CODE = 0x21
const ZERO = 0x30
const NEWLINE = 0x0a
const HASH = 0x23

/** Writes a VCD: times in nanoseconds where samples lie on whole ones, else in picoseconds, rounded. */
export class VcdWriter implements SampleSink {
  readonly #out: TextSink
  readonly #channels: number
  readonly #ticksPerSecond: number
  readonly #sampleRateHz: number
  #word = -1

  /** @param comment one line on what the capture shows */
  constructor(out: TextSink, channels: readonly SignalChannel[], sampleRateHz: number, comment: string) {
    this.#out = out
    this.#channels = channels.length
    this.#sampleRateHz = sampleRateHz
    const isWhole = 1e9 % sampleRateHz === 0
    this.#ticksPerSecond = isWhole ? 1e9 : 1e12
    out.text('$version rastertap synthesize $end\n')
    out.text(`$comment ${comment} $end\n`)
    out.text(`$timescale 1 ${isWhole ? 'ns' : 'ps'} $end\n$scope module capture $end\n`)
    channels.forEach(({ name }, i) => {
      out.text(`$var wire 1 ${String.fromCharCode(FIRST_CODE + i)} ${name} $end\n`)
    })
    out.text('$upscope $end\n$enddefinitions $end\n')
  }

  change(sample: number, word: number): void {
    const out = this.#out
    const isFirst = this.#word < 0
    this.#time(sample)
    if (isFirst) out.text('$dumpvars\n')
    const changed = isFirst ? -1 : word ^ this.#word
    for (let channel = 0; channel < this.#channels; channel++) {
      if (((changed >> channel) & 1) === 0) continue
      out.byte(ZERO + ((word >> channel) & 1))
      out.byte(FIRST_CODE + channel)
      out.byte(NEWLINE)
    }
    if (isFirst) out.text('$end\n')
    this.#word = word
  }

  /** A time mark without changes says how long the capture lasts. */
  end(lastSample: number): void {
    this.#time(lastSample)
  }

  #time(sample: number): void {
    this.#out.byte(HASH)
    this.#out.integer(Math.round((sample * this.#ticksPerSecond) / this.#sampleRateHz))
    this.#out.byte(NEWLINE)
  }
}
