// Samples → a table, in three dialects that instruments export.

import type { CaptureForm } from './choices.ts'
import type { SampleSink } from './instrument.ts'
import type { SignalChannel } from './signal-channels.ts'
import type { TextSink } from './text-sink.ts'

type CsvForm = Exclude<CaptureForm, 'vcd'>

const ZERO = 0x30
const COMMA = 0x2c
const NEWLINE = 0x0a
const POINT = 0x2e

const TIME_HEADERS: Readonly<Record<CsvForm, string>> = {
  csv: 'Time [s],',
  'csv-ns': 'Time [ns],',
  'csv-samples': '',
}

/** Writes a table with a column for each channel. */
export class CsvWriter implements SampleSink {
  readonly #out: TextSink
  readonly #form: CsvForm
  readonly #channels: number
  readonly #sampleRateHz: number
  #sample = 0
  #word = -1

  constructor(out: TextSink, form: CsvForm, channels: readonly SignalChannel[], sampleRateHz: number) {
    this.#out = out
    this.#form = form
    this.#channels = channels.length
    this.#sampleRateHz = sampleRateHz
    if (form === 'csv-samples') out.text(`# sample rate: ${sampleRateHz} Hz\n`)
    out.text(`${TIME_HEADERS[form]}${channels.map(({ name }) => name).join(',')}\n`)
  }

  change(sample: number, word: number): void {
    if (this.#form === 'csv-samples') this.#repeatUntil(sample)
    else this.#row(sample, word)
    this.#sample = sample
    this.#word = word
  }

  /** Says how long the capture lasts: with a last row, or with all rows that are still to come. */
  end(lastSample: number): void {
    if (this.#form === 'csv-samples') this.#repeatUntil(lastSample + 1)
    else if (lastSample > this.#sample) this.#row(lastSample, this.#word)
  }

  /** Rows per sample: as many as there were since the last change. */
  #repeatUntil(sample: number): void {
    for (let at = this.#sample; at < sample; at++) this.#levels(this.#word)
  }

  #row(sample: number, word: number): void {
    const out = this.#out
    const nanoseconds = Math.round((sample * 1e9) / this.#sampleRateHz)
    if (this.#form === 'csv-ns') out.integer(nanoseconds)
    else {
      out.integer(Math.floor(nanoseconds / 1e9))
      out.byte(POINT)
      out.integer(nanoseconds % 1e9, 9)
    }
    out.byte(COMMA)
    this.#levels(word)
  }

  #levels(word: number): void {
    for (let channel = 0; channel < this.#channels; channel++) {
      if (channel > 0) this.#out.byte(COMMA)
      this.#out.byte(ZERO + ((word >> channel) & 1))
    }
    this.#out.byte(NEWLINE)
  }
}
