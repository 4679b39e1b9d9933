// Samples → VCD bytes, in the spellings that logic captures come in. IEEE 1364-2005, clause 18.

import { ByteWriter } from './byte-writer.ts'
import { digitOf, type DigitOptions } from './digits.ts'
import type { SampledSignal } from './sample-signal.ts'

export interface VcdOptions {
  /**
   * The $timescale text. Times are the samples' times rounded to it: 41.667 ns become 42, 83, 125 at '1 ns'. Default '1 ns'.
   */
  timescale?: string
  /** How times come to whole ticks. */
  digits?: DigitOptions
  /** `#42 1! 0"` on one text line instead of a text line for each. */
  valuesOnTimeLine?: boolean
  /** Channels named `name[3]` … `name[0]`, side by side, become one vector variable. */
  vectors?: boolean
  /** Levels at time 0 within $dumpvars … $end. Default true. */
  dumpvars?: boolean
  /** A last time mark at the capture's end. Default true. */
  endMark?: boolean
  lineEnd?: '\n' | '\r\n'
}

interface Variable {
  name: string
  identifier: string
  /** Channel numbers, most significant bit first. */
  bits: number[]
}

const SECONDS: Record<string, number> = { s: 1, ms: 1e-3, us: 1e-6, ns: 1e-9, ps: 1e-12, fs: 1e-15 }

/** Writes a VCD whose only times are those of changes (and the end). */
export function writeVcd(samples: SampledSignal, options: VcdOptions = {}): Uint8Array {
  const { timescale = '1 ns', valuesOnTimeLine = false, lineEnd = '\n' } = options
  const ticksPerSample = 1 / (samples.sampleRateHz * secondsOfTimescale(timescale))
  const variables = declare(samples.channels, options.vectors === true)
  const out = new ByteWriter()
  const row = (text: string): void => out.text(text + lineEnd)
  row('$comment drawn for a test $end')
  row(`$timescale ${timescale} $end`)
  row('$scope module card $end')
  for (const { name, identifier, bits } of variables)
    row(`$var wire ${bits.length} ${identifier} ${name} $end`)
  row('$upscope $end')
  row('$enddefinitions $end')

  const gap = valuesOnTimeLine ? ' ' : lineEnd
  const { sampleIndex, levelWord } = samples
  for (let i = 0; i < sampleIndex.length; i++) {
    const word = levelWord[i]!
    const changed = i === 0 ? 0xffffffff : word ^ levelWord[i - 1]!
    out.text('#')
    out.integer(digitOf(sampleIndex[i]!, ticksPerSample, options.digits))
    const withDumpvars = i === 0 && options.dumpvars !== false
    if (withDumpvars) out.text(`${gap}$dumpvars`)
    for (const variable of variables) writeValue(out, variable, word, changed, gap)
    if (withDumpvars) out.text(`${gap}$end`)
    out.text(lineEnd)
  }
  if (options.endMark !== false) row(`#${digitOf(samples.totalSamples, ticksPerSample, options.digits)}`)
  return out.done()
}

function secondsOfTimescale(timescale: string): number {
  const [, number = '', unit = ''] = /^(\d+)\s*([munpf]?s)$/.exec(timescale) ?? []
  const seconds = Number(number) * (SECONDS[unit] ?? NaN)
  if (!(seconds > 0)) throw new Error(`no timescale: ${timescale}`)
  return seconds
}

function declare(channels: readonly string[], vectors: boolean): Variable[] {
  const variables: Variable[] = []
  for (const [channel, name] of channels.entries()) {
    const base = /^(.*)\[\d+\]$/.exec(name)?.[1]
    const last = variables.at(-1)
    if (vectors && base !== undefined && last !== undefined && last.name === base) last.bits.push(channel)
    else {
      // printable characters from ! on, one each (clause 18.2.1 allows ! to ~)
      const identifier = String.fromCharCode(0x21 + variables.length)
      variables.push({ name: vectors ? (base ?? name) : name, identifier, bits: [channel] })
    }
  }
  for (const variable of variables)
    if (variable.bits.length > 1) variable.name += ` [${variable.bits.length - 1}:0]`
  return variables
}

function writeValue(out: ByteWriter, variable: Variable, word: number, changed: number, gap: string): void {
  const { bits, identifier } = variable
  if (bits.length === 1) {
    if (((changed >>> bits[0]!) & 1) === 0) return
    out.text(gap)
    out.text((word >>> bits[0]!) & 1 ? '1' : '0')
    out.text(identifier)
  } else if (bits.some((bit) => (changed >>> bit) & 1)) {
    const levels = bits.map((bit) => (word >>> bit) & 1).join('')
    out.text(`${gap}b${levels} ${identifier}`)
  }
}
