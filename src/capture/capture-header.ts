// What a capture says of itself before its first transition: channels and the meaning of a tick.

import type { AnalogThreshold } from './analog-threshold.ts'
import type { NoticeList } from '../notices.ts'
import type { TransitionBatch, TransitionSink } from './transition-batch.ts'

/** Most channels one capture may bring; further ones are left out with a notice. */
export const MAX_CHANNELS = 512
/** Longest name of a channel, in UTF-16 units, its bit number not counted; longer ones are an error, not memory. */
export const MAX_NAME_CHARACTERS = 1024

/** One captured wire, or one bit of a bus. */
export interface Channel {
  /** As the file writes it, cleaned of escapes: `HSYNC`, `pins[3]`; of several references, the first. */
  name: string
  /** Other names of the same wire in the file (several VCD references on one code). */
  aliases: string[]
  /** Set for one bit of a bus. */
  bus: { name: string; bit: number; widthBits: number } | null
}

/** Units a time column or option can have. `samples` means the sample's number. */
export type TimeUnit = 's' | 'ms' | 'us' | 'ns' | 'ps' | 'fs' | 'samples'

/** What gave the meaning of a tick. */
export type TimebaseOrigin =
  'timescale' | 'unit-in-header' | 'unit-in-cells' | 'unit-assumed' | 'sample-rate' | 'option' | 'none'

export interface CaptureHeader {
  kind: 'vcd' | 'csv'
  /** Index = channel number in the transition batches. */
  channels: readonly Channel[]
  /** Seconds per tick as the file states it (or the user's option); null when nothing says it. */
  secondsPerTick: number | null
  timebaseFrom: TimebaseOrigin
  /** A sample rate that the file states in words (a comment, a preamble row), in hertz. */
  statedRateHz: number | null
  /**
   * Sample interval in ticks where the layout proves it (one row per sample: the step of the time column,
   * or 1 without one); null where edges must tell.
   */
  sampleIntervalTicks: number | null
  /** Channels that are voltages, whose edges are placed between two samples; absent where there are none. */
  placedChannels?: readonly number[]
}

/** What a reader is given. */
export interface ReaderOptions {
  /** Called once, before the first batch. */
  onHeader: (header: CaptureHeader) => void
  sink: TransitionSink
  /** Gives the batch to fill next, at the start and after each call of the sink; one is used again and again without it. */
  nextBatch?: (() => TransitionBatch) | undefined
  notices: NoticeList
  /** The user's word on the time column (CSV) or tick (VCD); undefined = believe the file. */
  timeUnit?: TimeUnit | undefined
  /** The user's word on the sample rate, in hertz. */
  sampleRateHz?: number | undefined
}

/** A streaming reader of one format: bytes in, header and batches out. */
export interface CaptureReader {
  /** Any cut of the bytes gives the same transitions, notices and errors. */
  write(chunk: Uint8Array): void
  /** Ends the capture; returns where its time began and ended (first and last time mark, in ticks). */
  end(): CaptureExtent
}

export interface CaptureExtent {
  firstTick: number
  lastTick: number
  /** By channel, null for one that states levels; absent where no channel is a voltage. */
  thresholds?: readonly (AnalogThreshold | null)[]
}
