// One pass of the flow over a capture: bytes in, measurement out. No argv, no process, no console. The first part of the
// capture is held back until it is clear which channels are sync; then everything streams.

import type { AnalogThreshold } from './capture/analog-threshold.ts'
import { AnyReader } from './capture/any-reader.ts'
import type { CaptureExtent, CaptureHeader, CaptureReader } from './capture/capture-header.ts'
import { rolesFromNames } from './capture/channel-roles.ts'
import type { Role } from './capture/role.ts'
import { batchesInTurn, type TransitionBatch } from './capture/transition-batch.ts'
import { SignalError } from './errors.ts'
import type { MeasureOptions } from './measure-options.ts'
import type { SegmentMeasurement } from './measure-segment.ts'
import { longest, MeasuringPass } from './measuring-pass.ts'
import { NoticeList, type Notice, type NoticeCode } from './notices.ts'
import { settleRoles, type SettledRoles } from './settle-roles.ts'
import { TransitionStore } from './transitions/transition-store.ts'
import type { WaveformClip } from './transitions/waveform-clips.ts'

export type { JudgedPulse, MeasureOptions } from './measure-options.ts'

/** A capture, measured. Times in seconds from its first time mark. */
export interface CaptureMeasurement {
  kind: 'vcd' | 'csv'
  durationSeconds: number
  /** Interval of the grid that edges lie on; null where nothing coarser than the file's tick shows. */
  sampleIntervalSeconds: number | null
  /** Standard uncertainty of it; 0 where it is a whole number of the file's ticks, or that of a usual rate. */
  sampleIntervalUncertaintySeconds: number | null
  transitions: number
  channels: {
    name: string
    role: Role | null
    /** Where its voltages were cut into levels; absent for a channel that states levels itself. */
    threshold?: AnalogThreshold
  }[]
  notices: Notice[]
  segments: SegmentMeasurement[]
  /** What ticks mean: for those who look at `sync`, which counts in them. */
  timebase: { secondsPerTick: number; firstTick: number; resolutionTicks: number }
  /** Around sync faults of any segment, in order of time; empty unless they were asked for. */
  clips: WaveformClip[]
  /** The longest of `segments`. */
  main: SegmentMeasurement
}

/** Transitions held back before roles are decided: two frames of the busiest picture. */
const PROLOGUE_TRANSITIONS = 1_500_000
/** And as long as no vsync is found in them, up to this many: 66 MB. */
const MAX_PROLOGUE_TRANSITIONS = 6_000_000
const STOPPED_EARLY: Notice = {
  code: 'STOPPED_EARLY',
  message: 'reading stopped when enough frames were seen, as asked; what follows was not looked at',
  firstAtByte: null,
  count: 1,
}
const CUT_SHORT: readonly NoticeCode[] = ['VCD_CUT_SHORT', 'CSV_ROW_CUT_SHORT']

function isWhole({ code }: Notice): boolean {
  return !CUT_SHORT.includes(code)
}

/** Measures one capture as its bytes go past. */
export class CaptureMeasurer {
  readonly #measurer: TransitionMeasurer
  readonly #notices = new NoticeList()
  readonly #reader: CaptureReader

  constructor(options: MeasureOptions = {}) {
    const measurer = new TransitionMeasurer(options)
    this.#measurer = measurer
    this.#reader = new AnyReader({
      notices: this.#notices,
      timeUnit: options.timeUnit,
      sampleRateHz: options.sampleRateHz,
      onHeader: (header) => measurer.open(header),
      nextBatch: batchesInTurn(),
      sink: (batch) => measurer.take(batch),
    })
  }

  /**
   * Takes the next bytes, unpacked; any cut gives the same result.
   * @throws {CaptureError} where the bytes break their format, or the signal cannot be measured
   */
  write(chunk: Uint8Array): void {
    this.#reader.write(chunk)
  }

  /** With `quick`: all frames that are wanted are there, and what follows would only make rates surer. */
  get hasEnough(): boolean {
    return this.#measurer.hasEnough
  }

  /**
   * Ends the capture, though it may go on where there is enough of it: a notice says so.
   * @throws {CaptureError} as `write`; SYNC_NOT_FOUND, HSYNC_TOO_FEW_EDGES, TIMEBASE_UNKNOWN where nothing can be measured
   */
  end(): CaptureMeasurement {
    const isEarly = this.hasEnough
    const extent = this.#reader.end()
    const met = this.#notices.list()
    // that the last token is cut is our doing
    return this.#measurer.end(extent, isEarly ? [...met.filter(isWhole), STOPPED_EARLY] : met)
  }
}

/** Measures the transitions of one capture, wherever it is read: another thread may do that. */
export class TransitionMeasurer {
  readonly #options: MeasureOptions
  readonly #notices = new NoticeList()
  #header: CaptureHeader | undefined
  #store: TransitionStore | undefined = new TransitionStore()
  #pass: MeasuringPass | undefined
  #transitions = 0
  #prologue = PROLOGUE_TRANSITIONS

  constructor(options: MeasureOptions = {}) {
    this.#options = options
  }

  /**
   * Takes the header, before the first batch.
   * @throws {CaptureError} for a map that names no channel of it, before a gigabyte is read
   */
  open(header: CaptureHeader): void {
    this.#header = header
    rolesFromNames(header.channels, new NoticeList(), this.#options.connector, this.#options.map)
  }

  get hasEnough(): boolean {
    return this.#options.quick === true && this.#pass?.hasEnough === true
  }

  /** @param batch stays as it is until KEPT_BATCHES more were taken */
  take(batch: TransitionBatch): void {
    this.#transitions += batch.count
    if (this.#pass) {
      this.#pass.feed(batch.tick, batch.channel, batch.level, batch.count)
      return
    }
    this.#store!.append(batch)
    if (this.#store!.count >= this.#prologue) this.#tryToBegin(this.#header!)
  }

  /**
   * Ends the capture.
   * @param readerNotices what the reader met; they come first in the list
   * @throws {CaptureError} as `CaptureMeasurer.end`
   */
  end(extent: CaptureExtent, readerNotices: readonly Notice[]): CaptureMeasurement {
    const header = this.#header
    if (!header || this.#transitions === 0) {
      throw new SignalError(
        'CAPTURE_NO_TRANSITIONS',
        'the capture holds no level changes',
        {},
        {
          hint: 'check that the probes are connected, the grounds joined and the threshold set to 1.4 V',
        },
      )
    }
    const pass = this.#pass ?? this.#begin(header, this.#settle(header))
    const segments = pass.end(extent.lastTick)
    const main = longest(segments)
    if (!main) {
      throw new SignalError(
        'HSYNC_TOO_FEW_EDGES',
        `too few regular pulses on "${pass.scanlineName}" to be scanlines`,
        {},
        {
          hint: 'capture at least one frame, or name the sync channel with --map hsync=NAME',
        },
      )
    }
    const notices = new NoticeList()
    notices.addAll(readerNotices)
    notices.addAll(this.#notices.list())
    const { secondsPerTick } = pass.context.timebase
    return {
      kind: header.kind,
      durationSeconds: (extent.lastTick - extent.firstTick) * secondsPerTick,
      sampleIntervalSeconds:
        pass.sampleIntervalTicks === null ? null : pass.sampleIntervalTicks * secondsPerTick,
      sampleIntervalUncertaintySeconds:
        pass.sampleIntervalTicks === null ? null : pass.sampleUncertaintyTicks * secondsPerTick,
      transitions: this.#transitions,
      channels: header.channels.map(({ name }, i) => {
        const threshold = extent.thresholds?.[i]
        return { name, role: pass.roles.roles[i] ?? null, ...(threshold ? { threshold } : {}) }
      }),
      notices: notices.list(),
      segments,
      timebase: {
        secondsPerTick,
        firstTick: pass.context.firstTick,
        resolutionTicks: pass.context.sampleIntervalTicks,
      },
      clips: pass.clips?.finish() ?? [],
      main,
    }
  }

  /** Where strangers fill the first part so that no vsync shows, more is held back; names and syncs alone decide else. */
  #tryToBegin(header: CaptureHeader): void {
    const settled = this.#settle(header)
    if (settled.lacksVsync && this.#prologue < MAX_PROLOGUE_TRANSITIONS) this.#prologue *= 2
    else this.#begin(header, settled)
  }

  #settle(header: CaptureHeader): SettledRoles {
    return settleRoles(header, this.#store!, this.#options)
  }

  #begin(header: CaptureHeader, settled: SettledRoles): MeasuringPass {
    const store = this.#store!
    this.#store = undefined
    const pass = new MeasuringPass(header, store, settled, this.#options, this.#notices)
    this.#pass = pass
    pass.feed(store.tick, store.channel, store.level, store.count)
    return pass
  }
}

/** Measures a whole capture from an iterable of byte chunks (unpacked). */
export async function measureCapture(
  chunks: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  options: MeasureOptions = {},
): Promise<CaptureMeasurement> {
  const measurer = new CaptureMeasurer(options)
  for await (const chunk of chunks) {
    measurer.write(chunk)
    if (measurer.hasEnough) break
  }
  return measurer.end()
}
