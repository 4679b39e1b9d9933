// One input through a reader, twice, cut differently: transitions or one clear error, and the same both times.

import { isDeepStrictEqual } from 'node:util'
import { AnyReader } from '../../src/capture/any-reader.ts'
import type {
  CaptureHeader,
  CaptureReader,
  ReaderOptions,
  TimeUnit,
} from '../../src/capture/capture-header.ts'
import { CsvReader } from '../../src/capture/csv-reader.ts'
import { VcdReader } from '../../src/capture/vcd-reader.ts'
import { CaptureError } from '../../src/errors.ts'
import { NoticeList, type Notice } from '../../src/notices.ts'
import { chance, pick, type Random } from '../support/random.ts'
import { Finding, must, timeAllowed, workedMs } from './finding.ts'

export type ReaderName = 'vcd' | 'csv' | 'any'

interface Options {
  timeUnit?: TimeUnit
  sampleRateHz?: number
}

interface Outcome {
  header: CaptureHeader | undefined
  /** Of all rows, in order. */
  hash: number
  rows: number
  extent: { firstTick: number; lastTick: number } | undefined
  notices: Notice[]
  error:
    | {
        name: string
        code: string
        byte: number | undefined
        column: string | undefined
        message: string
        hint: string | undefined
      }
    | undefined
}

const NUMBER = new Float64Array(1)
const WORDS = new Int32Array(NUMBER.buffer)

/**
 * @returns the error's code, or `read` where there was none
 * @throws {Finding}
 */
export function checkReader(bytes: Uint8Array, name: ReaderName, random: Random): string {
  const options: Options = {}
  if (chance(random, 0.1)) options.timeUnit = pick(random, ['s', 'ns', 'fs', 'samples'] as const)
  if (chance(random, 0.1)) options.sampleRateHz = pick(random, [1, 24e6, 1e-300, 1e300])
  const one = timed(bytes, () => outcomeOf(bytes, [], name, options))
  const places = Array.from({ length: random.below(6) }, () => random.below(bytes.length + 1))
  const stride = chance(random, 0.3) ? pick(random, [1, 2, 7, 61]) : 0
  const cuts =
    stride > 0 && bytes.length < 20_000
      ? Array.from({ length: Math.floor(bytes.length / stride) }, (_, n) => n * stride)
      : places
  const other = outcomeOf(
    bytes,
    cuts.sort((a, b) => a - b),
    name,
    options,
  )
  must(
    isDeepStrictEqual(one, other),
    () => `cut at ${cuts.slice(0, 9).join(' ')}: ${summary(other)}, whole: ${summary(one)}`,
  )
  return one.error?.code ?? 'read'
}

/**
 * A glance at the clock says that nearly all inputs are quick. What seems slow is run again, by the time that this process
 * works, three times, since a collection of garbage may fall into one run.
 */
function timed(bytes: Uint8Array, run: () => Outcome): Outcome {
  const allowed = timeAllowed(bytes.length)
  const beganClock = performance.now()
  const outcome = run()
  if (performance.now() - beganClock <= allowed) return outcome
  let shortest = Infinity
  for (let attempt = 0; attempt < 3 && shortest > allowed; attempt++) {
    const began = workedMs()
    run()
    shortest = Math.min(shortest, workedMs() - began)
  }
  must(
    shortest <= allowed,
    () => `${bytes.length} bytes took ${shortest.toFixed(0)} ms, allowed are ${allowed.toFixed(0)}`,
  )
  return outcome
}

function outcomeOf(bytes: Uint8Array, cuts: readonly number[], name: ReaderName, options: Options): Outcome {
  const notices = new NoticeList()
  const outcome: Outcome = {
    header: undefined,
    hash: 0,
    rows: 0,
    extent: undefined,
    notices: [],
    error: undefined,
  }
  let last = -Infinity
  const reader = newReader(name, {
    ...options,
    notices,
    onHeader: (header) => {
      must(outcome.header === undefined, () => 'the header came twice')
      checkHeader(header)
      outcome.header = header
    },
    sink: ({ count, tick, channel, level }) => {
      const channels = outcome.header?.channels.length ?? 0
      let { hash } = outcome
      for (let row = 0; row < count; row++) {
        const at = tick[row]!
        must(at >= last && Math.abs(at) <= Number.MAX_SAFE_INTEGER, () => `tick ${at} after ${last}`)
        must(
          channel[row]! < channels && level[row]! <= 2,
          () => `channel ${channel[row]}, level ${level[row]}`,
        )
        last = at
        NUMBER[0] = at
        hash = Math.imul(hash ^ WORDS[0]!, 0x9e3779b1) ^ (hash >>> 15)
        hash = Math.imul(hash ^ WORDS[1]!, 0x85ebca6b) ^ (hash >>> 13)
        hash = Math.imul(hash ^ (channel[row]! * 4 + level[row]!), 0xc2b2ae35) ^ (hash >>> 16)
      }
      outcome.hash = hash
      outcome.rows += count
    },
  })
  try {
    let from = 0
    for (const cut of [...cuts, bytes.length]) {
      reader.write(bytes.slice(from, cut))
      from = cut
    }
    outcome.extent = reader.end()
  } catch (error) {
    if (!(error instanceof CaptureError)) throw new Finding(`${String(error)} is no error of ours`, error)
    const { code, at, message, hint } = error
    outcome.error = { name: error.name, code, byte: at.byte, column: at.column, message, hint }
    checkError(error, bytes.length)
  }
  outcome.notices = notices.list()
  for (const notice of outcome.notices) {
    const { message, firstAtByte, count } = notice
    must(message.length > 0 && message.length < 2000 && count > 0, () => `notice ${JSON.stringify(notice)}`)
    must(
      firstAtByte === null || (firstAtByte >= 0 && firstAtByte <= bytes.length),
      () => `notice ${JSON.stringify(notice)}`,
    )
  }
  if (outcome.extent) {
    const { firstTick, lastTick } = outcome.extent
    must(
      firstTick <= lastTick && Number.isFinite(firstTick) && Number.isFinite(lastTick) && lastTick >= last,
      () => `from ${firstTick} to ${lastTick}, last row at ${last}`,
    )
  }
  return outcome
}

function newReader(name: ReaderName, options: ReaderOptions): CaptureReader {
  if (name === 'any') return new AnyReader(options)
  return name === 'vcd' ? new VcdReader(options) : new CsvReader(options)
}

function checkHeader(header: CaptureHeader): void {
  const { channels, secondsPerTick, statedRateHz, sampleIntervalTicks } = header
  must(channels.length > 0 && channels.length <= 512, () => `${channels.length} channels`)
  for (const value of [secondsPerTick, statedRateHz, sampleIntervalTicks]) {
    must(
      value === null || (Number.isFinite(value) && value > 0),
      () => `header says ${JSON.stringify(header)} ${value}`,
    )
  }
  for (const { name, aliases } of channels) {
    must(
      [name, ...aliases].every((one) => one.length <= 1024 + 32),
      () => `a name of ${name.length} characters`,
    )
  }
}

function checkError({ code, at, message, hint }: CaptureError, length: number): void {
  must(/^(?:VCD|CSV|CAPTURE|CHANNEL)_[A-Z_0-9]+$/.test(code), () => `code ${code}`)
  must(
    at.byte === undefined || (at.byte >= 0 && at.byte <= length),
    () => `${code} at byte ${at.byte} of ${length}`,
  )
  must(
    message.length > 0 &&
      message.length < 2000 &&
      !/undefined|NaN|\[object/.test(message.replace(/".*"/s, '')),
    () => `${code}: ${message}`,
  )
  must(hint === undefined || (hint.length > 0 && hint !== message), () => `hint of ${code}: ${hint}`)
}

function summary({ rows, hash, error, extent, notices }: Outcome): string {
  return JSON.stringify({ rows, hash, error, extent, notices })
}
