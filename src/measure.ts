// One pass of the flow over a capture: bytes in, measurement out. No argv, no process, no console. The first part of the
// capture is held back until it is clear which channels are sync; then everything streams.

import type { AnalogThreshold } from './capture/analog-threshold.ts'
import { AnyReader } from './capture/any-reader.ts'
import type { CaptureExtent, CaptureHeader, CaptureReader, TimeUnit } from './capture/capture-header.ts'
import { rolesFromNames, type Connector, type RoleAssignment } from './capture/channel-roles.ts'
import type { Role } from './capture/role.ts'
import { LEVEL_UNKNOWN, type TransitionBatch } from './capture/transition-batch.ts'
import { HSYNC_BIT, VSYNC_BIT } from './dots/sync-recorder.ts'
import { VideoRecorder, type WantedFrames } from './dots/video-recorder.ts'
import { SignalError } from './errors.ts'
import {
  measureSegment,
  NEAR_SAMPLES,
  type CaptureContext,
  type SegmentMeasurement,
} from './measure-segment.ts'
import { NoticeList, type Notice, type NoticeCode } from './notices.ts'
import { nameMonoPair } from './settle-mono-pair.ts'
import { settleRoles, type SettledRoles } from './settle-roles.ts'
import { isRoundedCoarsely, withoutDotGrid, withoutScanlineGrid } from './settle-sample-grid.ts'
import { settleTimebase } from './settle-timebase.ts'
import { isVideoRole, type ResolvedRoles } from './sync/resolve-roles.ts'
import type { FaultKind } from './sync/sync-fault.ts'
import type { VsyncJudgement } from './sync/vsync-faults.ts'
import { SyncFollower, type SyncListener } from './sync/sync-follower.ts'
import { syncSteps } from './transitions/sync-steps.ts'
import { TransitionStore } from './transitions/transition-store.ts'
import { WaveformClips, type ClipRequest, type WaveformClip } from './transitions/waveform-clips.ts'

/** What the user may say about a capture. All optional. */
export interface MeasureOptions {
  /** Roles by hand; they win over names and behaviour. */
  map?: readonly RoleAssignment[] | undefined
  /** Connector whose pin numbers the probes are named after. */
  connector?: Connector | undefined
  timeUnit?: TimeUnit | undefined
  /** Sample rate in hertz. */
  sampleRateHz?: number | undefined
  /** Which frames of each segment to keep for drawing; the first two without it. */
  frames?: WantedFrames | undefined
  /**
   * Told every pulse of hsync or csync as it is judged, nearly in order of time: of one scanline the false ones come first.
   * Pulses of vsync follow when their segment ends, for only then is it known how long a frame usually is.
   */
  onPulse?: ((pulse: JudgedPulse) => void) | undefined
  /** Keep what those frames were measured from, sync edges included, in the longest segment's `signal`. */
  keepSignal?: boolean | undefined
  /** Look no further than the frames that are wanted: see `CaptureMeasurer.hasEnough`. */
  quick?: boolean | undefined
  /** Cut out the waveforms around sync faults, all channels, wherever in the capture they are. */
  clips?: ClipRequest | undefined
}

/** One sync pulse, true or false. */
export interface JudgedPulse {
  kind: 'true' | FaultKind
  channel: 'hsync' | 'vsync' | 'csync'
  /** From the capture's first time mark. */
  timeSeconds: number
  /** Counted from the first scanline of the capture. */
  scanline: number
  /**
   * Leading edge minus where those of the other scanlines, or frames, have it; NaN where nothing tells. Of a false pulse
   * of vsync since the true one before.
   */
  offsetSeconds: number
  /** NaN where the pulse is missing. */
  widthSeconds: number
}

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
/** How much finer than the steps of sync a grid must be to be wrong. */
const FINER_RATIO = 1.5
/** A grid of so few ticks fits a quarter of all gaps by chance, for a time rounded to ticks is off by one either way. */
const GUESSED_GRID_TICKS = 8
/** Segments kept; a capture with more is noise, and the rest is counted. */
export const MAX_SEGMENTS = 64
/** Most video channels: a dot's code has 16 bits. */
const MAX_PLANES = 16
/** How far around a false pulse colour edges are looked for, to tell how dense they are there, in NEAR_SAMPLES. */
const AROUND_REACHES = 50
const NO_LEVEL = 255
/** Rows that are looked at for clips before they are measured. */
const CLIP_ROWS = 8192

// what to do with a transition of a channel; planes follow from KIND_PLANE on
const KIND_NONE = 0
const KIND_SCANLINE = 1
const KIND_VSYNC = 2
const KIND_DOT_CLOCK = 3
const KIND_PLANE = 4

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

  /** @param batch valid during the call */
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

function longest(segments: readonly SegmentMeasurement[]): SegmentMeasurement | undefined {
  let best: SegmentMeasurement | undefined
  for (const segment of segments) {
    const lasts = segment.endSeconds - segment.startSeconds
    if (!best || lasts > best.endSeconds - best.startSeconds) best = segment
  }
  return best
}

/** The streaming part: roles are known, every transition goes to the stage that wants it. */
class MeasuringPass implements SyncListener {
  readonly roles: ResolvedRoles
  readonly context: CaptureContext
  readonly scanlineName: string
  /** null where edges show no grid coarser than the file's tick. */
  readonly sampleIntervalTicks: number | null
  readonly sampleUncertaintyTicks: number
  readonly clips: WaveformClips | undefined
  readonly #follower: SyncFollower
  readonly #recorder: VideoRecorder
  readonly #kind: Uint8Array
  /** By channel: its plane's bit in a dot's code, 0 where it is no plane. */
  readonly #planeBit: Uint16Array
  readonly #last: Uint8Array
  readonly #segments: SegmentMeasurement[] = []
  readonly #notices: NoticeList
  readonly #onPulse: MeasureOptions['onPulse']
  #firstTick: number
  #dotClockEdges = 0
  #dotClockFirst = NaN
  /** Leading edge of the last pulse that was told with a fault of its own. */
  #faultTick = NaN

  constructor(
    header: CaptureHeader,
    store: TransitionStore,
    settled: SettledRoles,
    options: MeasureOptions,
    notices: NoticeList,
  ) {
    this.#notices = notices
    this.#onPulse = options.onPulse
    const { channels } = header
    const { grid: found, activities } = settled
    notices.addAll(settled.notices.list())
    this.roles = settled.roles
    this.scanlineName = channels[this.roles.scanlineChannel]!.name
    const scanlineActivity = activities[this.roles.scanlineChannel]!
    const { scanlineChannel } = this.roles
    const proved = withoutScanlineGrid(found, store, scanlineChannel, scanlineActivity)
    const grid = withoutDotGrid(proved, scanlineActivity, header)
    const countsSamples = header.sampleIntervalTicks !== null || header.timebaseFrom === 'sample-rate'
    this.sampleIntervalTicks = grid.coarserThanTick || countsSamples ? grid.intervalTicks : null
    this.sampleUncertaintyTicks = grid.uncertaintyTicks
    const { periodTicks, pulseTicks } = scanlineActivity
    // a grid that was found too fine by chance does not hide what sync betrays
    const mayBeChance = !countsSamples && grid.intervalTicks < GUESSED_GRID_TICKS
    const steps = mayBeChance ? syncSteps(store, scanlineChannel, periodTicks, pulseTicks) : null
    const isFiner = steps !== null && steps > FINER_RATIO * grid.intervalTicks
    const resolutionTicks = isFiner ? steps : grid.intervalTicks
    const timebase = settleTimebase(header, grid, scanlineActivity.periodTicks, this.roles.proven, notices)
    nameMonoPair(this.roles, channels, activities, store, timebase.secondsPerTick, notices)
    const isCoarse = !grid.rounded && isRoundedCoarsely(store, channels.length)
    if (isCoarse) {
      notices.add(
        'TIME_ROUNDED_COARSELY',
        () =>
          `times are rounded to ${(resolutionTicks * timebase.secondsPerTick).toPrecision(3)} s, more coarsely than the ` +
          'instrument sampled: export them with more digits',
      )
    }
    if (isFiner || isCoarse) this.sampleIntervalTicks = null
    this.#firstTick = store.count > 0 ? store.tick[0]! : 0
    const planes = this.#choosePlanes()
    this.#kind = this.#kinds(channels.length, planes)
    this.#planeBit = Uint16Array.from(this.#kind, (kind) =>
      kind < KIND_PLANE ? 0 : 1 << (kind - KIND_PLANE),
    )
    this.#last = new Uint8Array(channels.length).fill(NO_LEVEL)
    this.context = {
      timebase,
      firstTick: this.#firstTick,
      sampleIntervalTicks: resolutionTicks,
      placesSync: header.placedChannels?.includes(this.roles.scanlineChannel) ?? false,
      planes: planes.map((channel) => this.roles.roles[channel] ?? null),
      roles: new Set(this.roles.roles.filter((role) => role !== null)),
      composite: this.roles.composite,
      probedDotTicks: null,
      timeScaleTrusted: !notices.has('TIME_UNIT_WRONG') && !notices.has('TIMEBASE_ASSUMED'),
      keepSignal: options.keepSignal ?? false,
      notices,
    }
    this.clips =
      options.clips &&
      new WaveformClips(
        channels.length,
        options.clips.reachSeconds / timebase.secondsPerTick,
        options.clips.mostPerKind,
      )
    // an edge is late by up to a sample, and by what the file rounds its time
    const edgeTicks = resolutionTicks + (grid.rounded ? (grid.roundedToTicks ?? 0) : 0)
    this.#follower = new SyncFollower(this.roles.composite, this.#firstTick, edgeTicks, this)
    this.#recorder = new VideoRecorder(options.frames ?? { first: 0, count: 2 }, options.keepSignal)
  }

  /** Channels that make the picture, in plane order; display enable last, so that it is easily masked. */
  #choosePlanes(): number[] {
    const { roles, unnamedVideo } = this.roles
    const named = roles.flatMap((role, channel) => (isVideoRole(role) ? [channel] : []))
    if (unnamedVideo.length > 0) {
      this.#notices.add(
        'COLOUR_UNNAMED',
        () =>
          `${unnamedVideo.length} channels have no colour's name: the picture is drawn in grey levels (--map red=NAME,…)`,
      )
    }
    const enable = roles.indexOf('display-enable')
    const list = [...named, ...unnamedVideo].slice(0, enable >= 0 ? MAX_PLANES - 1 : MAX_PLANES)
    return enable >= 0 ? [...list, enable] : list
  }

  #kinds(channelCount: number, planes: readonly number[]): Uint8Array {
    const kind = new Uint8Array(channelCount).fill(KIND_NONE)
    planes.forEach((channel, plane) => (kind[channel] = KIND_PLANE + plane))
    const clock = this.roles.roles.indexOf('dot-clock')
    if (clock >= 0) kind[clock] = KIND_DOT_CLOCK
    kind[this.roles.scanlineChannel] = KIND_SCANLINE
    if (this.roles.vsyncChannel !== null) kind[this.roles.vsyncChannel] = KIND_VSYNC
    return kind
  }

  /** Columns as in a TransitionBatch. */
  feed(ticks: Float64Array, channels: Uint16Array, levels: Uint8Array, count: number): void {
    const step = this.clips ? CLIP_ROWS : count
    for (let from = 0; from < count; from += step) {
      const to = Math.min(count, from + step)
      this.clips?.push(ticks, channels, levels, from, to)
      this.#feedRows(ticks, channels, levels, from, to)
    }
  }

  #feedRows(
    ticks: Float64Array,
    channels: Uint16Array,
    levels: Uint8Array,
    from: number,
    count: number,
  ): void {
    const last = this.#last
    const planeBit = this.#planeBit
    const recorder = this.#recorder
    for (let row = from; row < count; row++) {
      row = recorder.pushRun(ticks, channels, levels, row, count, planeBit, last)
      if (row < count) this.#takeOther(ticks[row]!, channels[row]!, levels[row]!)
    }
  }

  /** Any other row: sync, a repeated level, one from or to an unknown level. */
  #takeOther(tick: number, channel: number, level: number): void {
    const kind = this.#kind[channel]!
    const before = this.#last[channel]!
    if (level === before || kind === KIND_NONE) return
    if (level >= LEVEL_UNKNOWN) {
      this.#notices.add(
        'LEVEL_UNKNOWN',
        () => 'levels are unknown (x or z) in places; the level before is kept',
      )
      return
    }
    this.#last[channel] = level
    // the first level a channel is given when the capture begins is no edge; later it is
    if (before === NO_LEVEL && tick === this.#firstTick) {
      if (kind >= KIND_PLANE && level === 1) this.#recorder.setInitial(this.#planeBit[channel]!)
      if (kind === KIND_SCANLINE && level === 1) this.#recorder.sync?.setInitial(HSYNC_BIT)
      if (kind === KIND_VSYNC && level === 1) this.#recorder.sync?.setInitial(VSYNC_BIT)
      return
    }
    if (kind >= KIND_PLANE) {
      this.#recorder.push(tick, this.#planeBit[channel]!, level)
    } else if (kind === KIND_SCANLINE) {
      this.#recorder.sync?.push(tick, HSYNC_BIT, level)
      this.#follower.pushHsync(tick, level)
      this.#recorder.settle(this.#follower.settledTick)
    } else if (kind === KIND_VSYNC) {
      this.#recorder.sync?.push(tick, VSYNC_BIT, level)
      this.#follower.pushVsync(tick, level)
    } else if (level === 1) {
      if (this.#dotClockEdges++ === 0) this.#dotClockFirst = tick
      this.context.probedDotTicks =
        this.#dotClockEdges > 1 ? (tick - this.#dotClockFirst) / (this.#dotClockEdges - 1) : null
    }
  }

  get hasEnough(): boolean {
    return this.#recorder.isDone
  }

  end(lastTick: number): SegmentMeasurement[] {
    this.#follower.end(lastTick)
    const [gap] = this.#follower.gaps
    if (gap) {
      const at = (gap.startTick - this.#firstTick) * this.context.timebase.secondsPerTick
      this.#notices.add(
        'STRETCH_WITHOUT_SYNC',
        () => `no regular sync for a while, first at ${(at * 1e3).toFixed(3)} ms`,
        null,
        this.#follower.gaps.length,
      )
    }
    return this.#segments
  }

  segmentStarted(): void {
    this.#recorder.begin(this.#follower.settledTick)
  }

  segmentEnded(segment: Parameters<SyncListener['segmentEnded']>[0]): void {
    for (const pulse of segment.judgedVsyncs) this.#tell(pulse.kind, pulse)
    const recording = this.#recorder.finish(segment.endTick)
    if (this.#segments.length >= MAX_SEGMENTS) {
      this.#notices.add(
        'SEGMENTS_NOT_LISTED',
        () => `the timing changes more often than ${MAX_SEGMENTS} times; what follows was passed over`,
      )
      return
    }
    const measured = measureSegment(segment, recording, this.context)
    if (!measured) return
    // only the longest may keep its recording: memory stays flat however many segments there are
    const before = longest(this.#segments)
    this.#segments.push(measured)
    if (before && longest(this.#segments) === measured) before.signal = null
    else if (before) measured.signal = null
  }

  scanline(number: number, tick: number, widthTicks: number, offsetTicks: number): void {
    this.#recorder.scanline(number, tick)
    if (!this.#onPulse || tick === this.#faultTick) return
    const channel = this.roles.composite ? 'csync' : 'hsync'
    this.#tell('true', { channel, scanline: number, tick, offsetTicks, widthTicks })
  }

  #tell(
    kind: JudgedPulse['kind'],
    { channel, scanline, tick, offsetTicks, widthTicks }: Omit<VsyncJudgement, 'kind'>,
  ): void {
    const { secondsPerTick } = this.context.timebase
    this.#onPulse?.({
      kind,
      channel,
      timeSeconds: (tick - this.#firstTick) * secondsPerTick,
      scanline,
      offsetSeconds: offsetTicks * secondsPerTick,
      widthSeconds: kind === 'missing' ? NaN : widthTicks * secondsPerTick,
    })
  }

  fault(fault: Parameters<SyncListener['fault']>[0]): void {
    const near = NEAR_SAMPLES * this.context.sampleIntervalTicks
    fault.colourEdgeNear = this.#recorder.changesNear(fault.tick, near)
    // edges fall on samples: those from two before to two after are five
    const covered = near + this.context.sampleIntervalTicks / 2
    fault.colourShareNear = this.#recorder.shareNear(fault.tick, covered, AROUND_REACHES * near)
    this.clips?.want(fault.tick, fault.kind)
    if (fault.channel !== 'vsync' && fault.kind !== 'missing') this.#faultTick = fault.tick
  }

  faultSettled(fault: Parameters<SyncListener['faultSettled']>[0]): void {
    this.#tell(fault.kind, fault)
  }

  frameStarted(...[frame, index]: Parameters<SyncListener['frameStarted']>): void {
    this.#recorder.frameStarted(frame, index)
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
