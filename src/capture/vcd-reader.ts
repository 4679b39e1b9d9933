// Bytes of a VCD (IEEE 1364-2005, clause 18, as far as wires go) → header and transition batches.

import { MalformedCaptureError } from '../errors.ts'
import type { CaptureExtent, CaptureHeader, CaptureReader, ReaderOptions } from './capture-header.ts'
import { VcdBody } from './vcd-body.ts'
import { excerptOf } from './vcd-excerpt.ts'
import { VcdHeader } from './vcd-header.ts'
import { secondsInUnit } from './vcd-timescale.ts'

/**
 * Streaming reader of value change dumps.
 *
 * Every single wire is a channel, every vector gives one channel per bit (`name[bit]`, most significant
 * first). Values before the first time stamp are emitted at it. Not to be used on after an error.
 */
export class VcdReader implements CaptureReader {
  readonly #options: ReaderOptions
  readonly #header: VcdHeader
  #headerBytes = 0
  #body: VcdBody | undefined

  constructor(options: ReaderOptions) {
    this.#options = options
    this.#header = new VcdHeader(options.notices, options.timeUnit === undefined)
  }

  /**
   * Takes the next bytes; they are not kept.
   *
   * @throws {CaptureError} every VCD_ code; `at.byte` is where the bad token begins
   */
  write(chunk: Uint8Array): void {
    if (this.#body) {
      this.#writeBody(this.#body, chunk)
      return
    }
    const bodyStart = this.#header.write(chunk)
    if (bodyStart < 0) {
      this.#headerBytes += chunk.length
      return
    }
    this.#writeBody(this.#openBody(this.#headerBytes + bodyStart), chunk.subarray(bodyStart))
  }

  /**
   * Ends the capture and hands over the last batch.
   *
   * @returns first and last time stamp in ticks, whether or not they carry a change; 0 and 0 without any
   * @throws {CaptureError} CAPTURE_EMPTY, VCD_HEADER_UNTERMINATED, VCD_NO_CHANNELS, VCD_IDENTIFIER_UNKNOWN
   */
  end(): CaptureExtent {
    if (!this.#body) this.#header.finish()
    const body = this.#body ?? this.#openBody(this.#headerBytes)
    try {
      return body.end()
    } catch (error) {
      body.reportNotices()
      throw error
    }
  }

  /**
   * Leaves channels out from here on, which is cheaper than dropping their rows later.
   * Usable from `onHeader` on.
   *
   * @param wanted one entry per channel of the header; 0 = not emitted any more
   */
  select(wanted: Uint8Array): void {
    this.#body?.select(wanted)
  }

  #writeBody(body: VcdBody, chunk: Uint8Array): void {
    try {
      body.write(chunk)
    } catch (error) {
      body.reportNotices()
      throw error
    }
  }

  #openBody(startByte: number): VcdBody {
    const { channelList, endedAtByte } = this.#header
    const { notices, onHeader } = this.#options
    const { channels, wires, ignoredCodes } = channelList.settle()
    const { count, first } = channelList.ignored
    if (first) {
      const { variable, reason } = first
      notices.add('CHANNELS_IGNORED', () => `${excerptOf(variable.name)} ${reason}`, variable.atByte, count)
    }
    if (channels.length === 0) {
      throw new MalformedCaptureError(
        'VCD_NO_CHANNELS',
        count === 0
          ? 'the header declares no variable at all'
          : 'the header declares no variable that is a wire',
        { byte: endedAtByte },
        { hint: 'expected declarations such as: $var wire 1 ! HSYNC $end' },
      )
    }
    const body = new VcdBody(this.#options, startByte, channels.length, wires, ignoredCodes)
    this.#body = body
    onHeader({ kind: 'vcd', channels, ...this.#timebase() })
    return body
  }

  /** The user's word goes before the file's. */
  #timebase(): Pick<
    CaptureHeader,
    'secondsPerTick' | 'timebaseFrom' | 'statedRateHz' | 'sampleIntervalTicks'
  > {
    const { timeUnit, sampleRateHz } = this.#options
    const { secondsPerTick } = this.#header
    const statedRateHz = sampleRateHz ?? this.#header.statedRateHz
    if (timeUnit === 'samples') {
      const secondsPerSample = statedRateHz === null ? null : 1 / statedRateHz
      return {
        secondsPerTick: secondsPerSample,
        timebaseFrom: 'option',
        statedRateHz,
        sampleIntervalTicks: 1,
      }
    }
    if (timeUnit !== undefined) {
      const seconds = secondsInUnit(timeUnit) ?? null
      return { secondsPerTick: seconds, timebaseFrom: 'option', statedRateHz, sampleIntervalTicks: null }
    }
    const timebaseFrom = secondsPerTick === null ? 'none' : 'timescale'
    return { secondsPerTick, timebaseFrom, statedRateHz, sampleIntervalTicks: null }
  }
}
