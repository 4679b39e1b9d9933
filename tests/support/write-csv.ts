// Samples → CSV bytes: rows for changes or for samples, with the time columns that exporters write, false ones included.

import { ByteWriter } from './byte-writer.ts'
import { digitOf, type DigitOptions } from './digits.ts'
import type { SampledSignal } from './sample-signal.ts'

type TimeStyle =
  | 'seconds' // 9 decimals, or as options say
  | 'nanoseconds' // whole, rounded
  | 'false-seconds' // whole nanoseconds under a header that says seconds
  | 'truncated' // whole nanoseconds, counted in steps cut to whole nanoseconds: 41 at 24 MS/s
  | 'sample' // the sample's number

export interface CsvOptions {
  rows: 'per-change' | 'per-sample'
  /** Default 'seconds' for rows per change, 'none' for rows per sample. */
  time?: TimeStyle | 'none'
  /** Decimals of seconds, 0 to 9, the last one rounded. Default 9. */
  timeDecimals?: number
  /** Significant digits of seconds in place of decimals, as spreadsheets write them. */
  timeDigits?: number
  /** How times come to the last digit, where it is a decimal of seconds or a nanosecond. */
  digits?: DigitOptions
  /** Header of the time column; default by style. */
  timeHeader?: string
  /** Default true. */
  header?: boolean
  /** Comment rows before the header, without their mark. */
  comments?: readonly string[]
  /** Adds the true sample rate as a comment: by default only where no time column tells it, or a false one does. */
  rateComment?: boolean
  commentMark?: '#' | ';' | '//'
  delimiter?: string
  lineEnd?: '\n' | '\r\n'
  /** A last row at the capture's last sample, repeating the levels (rows per change only). Default true. */
  endRow?: boolean
}

const TIME_HEADERS: Record<TimeStyle, string> = {
  seconds: 'Time [s]',
  nanoseconds: 'Time (ns)',
  'false-seconds': 'Time [s]',
  truncated: 'Time (ns)',
  sample: 'Sample',
}

/** Writes a CSV with the time column first and a 0/1 column for each channel. */
export function writeCsv(samples: SampledSignal, options: CsvOptions): Uint8Array {
  const { rows, commentMark = '#', delimiter = ',', lineEnd = '\n' } = options
  const time = options.time ?? (rows === 'per-change' ? 'seconds' : 'none')
  if (time === 'none' && rows === 'per-change') throw new Error('rows per change need a time')
  const out = new ByteWriter()
  for (const comment of options.comments ?? []) out.text(`${commentMark} ${comment}${lineEnd}`)
  if (options.rateComment ?? (time === 'none' || time === 'sample' || time === 'truncated'))
    out.text(`${commentMark} sample rate: ${samples.sampleRateHz} Hz${lineEnd}`)
  if (options.header !== false) {
    const timeHeader = time === 'none' ? [] : [options.timeHeader ?? TIME_HEADERS[time]]
    out.text([...timeHeader, ...samples.channels].join(delimiter) + lineEnd)
  }
  const writeTime = time === 'none' ? undefined : timeWriter(out, time, samples.sampleRateHz, options)
  const writeRow = (sample: number, word: number): void => {
    writeTime?.(sample)
    for (let channel = 0; channel < samples.channels.length; channel++) {
      if (channel > 0 || writeTime !== undefined) out.text(delimiter)
      out.byte(0x30 + ((word >>> channel) & 1))
    }
    out.text(lineEnd)
  }
  const { sampleIndex, levelWord, totalSamples } = samples
  const count = sampleIndex.length
  for (let i = 0; i < count; i++) {
    const word = levelWord[i]!
    if (rows === 'per-change') writeRow(sampleIndex[i]!, word)
    else {
      const end = i + 1 < count ? sampleIndex[i + 1]! : totalSamples
      for (let sample = sampleIndex[i]!; sample < end; sample++) writeRow(sample, word)
    }
  }
  if (rows === 'per-change' && options.endRow !== false && totalSamples - 1 > sampleIndex[count - 1]!)
    writeRow(totalSamples - 1, levelWord[count - 1]!)
  return out.done()
}

function timeWriter(
  out: ByteWriter,
  style: TimeStyle,
  sampleRateHz: number,
  { timeDecimals = 9, timeDigits, digits }: CsvOptions,
): (sample: number) => void {
  const step = Math.floor(1e9 / sampleRateHz)
  switch (style) {
    case 'seconds': {
      if (timeDigits !== undefined)
        return (sample) => out.text(String(Number((sample / sampleRateHz).toPrecision(timeDigits))))
      const scale = 10 ** timeDecimals
      return (sample) => {
        const parts = digitOf(sample, scale / sampleRateHz, digits)
        out.integer(Math.floor(parts / scale))
        out.text('.')
        out.integer(parts % scale, timeDecimals)
      }
    }
    case 'nanoseconds':
    case 'false-seconds':
      return (sample) => out.integer(digitOf(sample, 1e9 / sampleRateHz, digits))
    case 'truncated':
      return (sample) => out.integer(sample * step)
    case 'sample':
      return (sample) => out.integer(sample)
  }
}
