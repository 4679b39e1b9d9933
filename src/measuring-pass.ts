// The streaming part of a measurement: roles are known, and every transition goes to the stage that wants it.

import type { CaptureHeader } from './capture/capture-header.ts'
import { BATCH_ROWS, LEVEL_UNKNOWN, NO_LEVEL } from './capture/transition-batch.ts'
import type { VideoRows } from './dots/passed-rows.ts'
import { HSYNC_BIT, VSYNC_BIT } from './dots/sync-recorder.ts'
import { VideoRecorder } from './dots/video-recorder.ts'
import type { JudgedPulse, MeasureOptions } from './measure-options.ts'
import {
  measureSegment,
  NEAR_SAMPLES,
  type CaptureContext,
  type SegmentMeasurement,
} from './measure-segment.ts'
import type { NoticeList } from './notices.ts'
import { nameMonoPair } from './settle-mono-pair.ts'
import type { SettledRoles } from './settle-roles.ts'
import { isRoundedCoarsely, withoutDotGrid, withoutScanlineGrid } from './settle-sample-grid.ts'
import { settleTimebase } from './settle-timebase.ts'
import { isVideoRole, type ResolvedRoles } from './sync/resolve-roles.ts'
import { SyncFollower, type SyncListener } from './sync/sync-follower.ts'
import type { VsyncJudgement } from './sync/vsync-faults.ts'
import { syncSteps } from './transitions/sync-steps.ts'
import type { TransitionStore } from './transitions/transition-store.ts'
import { WaveformClips } from './transitions/waveform-clips.ts'

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

// what to do with a transition of a channel; planes follow from KIND_PLANE on
const KIND_NONE = 0
const KIND_SCANLINE = 1
const KIND_VSYNC = 2
const KIND_DOT_CLOCK = 3
const KIND_PLANE = 4

export class MeasuringPass implements SyncListener {
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
    const { scanlineChannel } = this.roles
    this.scanlineName = channels[scanlineChannel]!.name
    const scanlineActivity = activities[scanlineChannel]!
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
    const timebase = settleTimebase(header, grid, periodTicks, this.roles.proven, notices)
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
      placesSync: header.placedChannels?.includes(scanlineChannel) ?? false,
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

  /** Columns as in a TransitionBatch, or longer ones, that stay as they are for KEPT_BATCHES more calls. */
  feed(ticks: Float64Array, channels: Uint16Array, levels: Uint8Array, count: number): void {
    const planeBit = this.#planeBit
    const last = this.#last
    for (let from = 0; from < count; from += BATCH_ROWS) {
      const to = Math.min(count, from + BATCH_ROWS)
      this.clips?.push(ticks, channels, levels, from, to)
      this.#feedRows({ ticks, channels, levels, from, to, planeBit, last })
    }
  }

  #feedRows(rows: VideoRows): void {
    const { ticks, channels, levels, from, to } = rows
    const { video } = this.#recorder
    for (let row = from; row < to; row++) {
      row = video.take(rows, row)
      if (row < to) this.#takeOther(ticks[row]!, channels[row]!, levels[row]!)
    }
    video.endBatch()
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
      if (kind >= KIND_PLANE && level === 1) this.#recorder.video.setInitial(this.#planeBit[channel]!)
      if (kind === KIND_SCANLINE && level === 1) this.#recorder.sync?.setInitial(HSYNC_BIT)
      if (kind === KIND_VSYNC && level === 1) this.#recorder.sync?.setInitial(VSYNC_BIT)
      return
    }
    if (kind >= KIND_PLANE) {
      this.#recorder.video.push(tick, this.#planeBit[channel]!, level)
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
    fault.colourEdgeNear = this.#recorder.video.changesNear(fault.tick, near)
    // edges fall on samples: those from two before to two after are five
    const covered = near + this.context.sampleIntervalTicks / 2
    fault.colourShareNear = this.#recorder.video.shareNear(fault.tick, covered, AROUND_REACHES * near)
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

/** The segment that lasts longest; undefined without one. */
export function longest(segments: readonly SegmentMeasurement[]): SegmentMeasurement | undefined {
  let best: SegmentMeasurement | undefined
  for (const segment of segments) {
    const lasts = segment.endSeconds - segment.startSeconds
    if (!best || lasts > best.endSeconds - best.startSeconds) best = segment
  }
  return best
}
