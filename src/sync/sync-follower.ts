// hsync and vsync (or csync) edges → segments with their frames. Puts the two trackers in time order, and decides when a
// change of the vertical timing begins a new segment.

import type { Polarity } from '../measurement.ts'
import type { ScanlineListener, TrackedTiming } from './scanline-listener.ts'
import { ScanlineTracker } from './scanline-tracker.ts'
import type { FrameSync } from './frame-sync.ts'
import { SAME_LENGTH_SCANLINES, SegmentSync } from './segment-sync.ts'
import type { SyncFault } from './sync-fault.ts'
import { VerticalWatch } from './vertical-watch.ts'
import { VsyncTracker, type VsyncPulse } from './vsync-tracker.ts'

/** What later stages need to know while the capture runs. Ticks rise, but a segment may begin a little in the past. */
export interface SyncListener {
  segmentStarted(segment: SegmentSync): void
  segmentEnded(segment: SegmentSync): void
  /**
   * @param widthTicks of its sync pulse, NaN where the width tells nothing
   * @param offsetTicks of its leading edge from where the other scanlines have it
   */
  scanline(number: number, tick: number, widthTicks: number, offsetTicks: number): void
  frameStarted(frame: FrameSync, index: number): void
  /** One fault, as soon as it is suspected: the listener may add what it knows of the moment. */
  fault(fault: SyncFault): void
  /** It is one; in a composite sync that takes longer. */
  faultSettled(fault: SyncFault): void
}

/** A stretch in which no sync could be followed, in ticks. */
export interface SyncGap {
  startTick: number
  endTick: number
}

/** Frames that differ in length by more than this, twice in a row and alike, are another mode. */
const CHANGED_SCANLINES = 0.75
/** Scanlines around an edge of vsync that may be within vsync: more than any vsync lasts. */
const VSYNC_REACH_SCANLINES = 20
/** Queue of vsync edges that wait for the scanline tracker. */
const MAX_QUEUED = 65_536
/** Most gaps listed. */
const MAX_GAPS = 1000

/** A vsync with the scanline that it begins in, and how often the phase had broken by then. */
interface PlacedVsync {
  pulse: VsyncPulse
  scanline: number
  phaseBreaks: number
}

/** Follows the sync of a whole capture. */
export class SyncFollower implements ScanlineListener {
  readonly gaps: SyncGap[] = []
  readonly #listener: SyncListener
  readonly #scanlines: ScanlineTracker
  readonly #vsync: VsyncTracker
  readonly #composite: boolean
  /** Of a composite sync alone. */
  readonly #vertical: VerticalWatch | undefined
  readonly #resolution: number
  #segment: SegmentSync | undefined
  #queue: { tick: number; level: number }[] = []
  #queueHead = 0
  /** Of this segment. */
  #lastVsync: PlacedVsync | undefined
  #frameIndex = NaN
  /** Where a run of frames of unusual length began; what follows may yet become a segment of its own. */
  #oddFrom: FrameSync | undefined
  #oddLength = NaN
  #lostAt = NaN
  #segmentsEnded = 0
  #isOver = false
  #firstNotJudged = 0
  #vsyncLevel = NaN
  #lastVsyncEdge = NaN

  /**
   * @param composite true where the one channel is csync
   * @param resolutionTicks sample interval
   */
  constructor(composite: boolean, startTick: number, resolutionTicks: number, listener: SyncListener) {
    this.#listener = listener
    this.#composite = composite
    this.#resolution = resolutionTicks
    this.#lostAt = startTick
    this.#vertical = composite ? this.#watch(resolutionTicks) : undefined
    this.#scanlines = new ScanlineTracker(composite ? 'csync' : 'hsync', startTick, resolutionTicks, this)
    this.#vsync = new VsyncTracker(composite ? 'csync' : 'vsync', startTick, {
      vsync: (pulse) => this.#frame(pulse),
      fault: (fault) =>
        this.fault({ ...fault, scanline: Math.floor(this.#scanlines.scanlineAt(fault.tick)) }),
    })
  }

  #watch(resolutionTicks: number): VerticalWatch {
    return new VerticalWatch(resolutionTicks, {
      settled: (fault) => this.#settleFault(fault),
      dropped: (fault) => {
        if (fault.kind === 'extra') this.#segment?.correctCount({ scanline: fault.scanline, edges: -1 })
      },
      edgesBeside: (edges) => this.#segment?.correctCount(edges),
      halvesNotJudged: (pulses) => {
        if (this.#segment) this.#segment.halvesNotJudged += pulses
      },
      intervalJudged: (frame, isJudged, shift) => this.#segment?.addInterval(frame, isJudged, shift),
    })
  }

  /** All before this tick is told; nothing before it will be asked for again. */
  get settledTick(): number {
    return Math.min(this.#scanlines.settledTick, this.#oddFrom?.startTick ?? Infinity)
  }

  pushHsync(tick: number, level: number): void {
    this.#vertical?.edge(tick, level)
    this.#scanlines.push(tick, level)
    if (this.#queueHead < this.#queue.length || this.#composite) this.#drain(this.#scanlines.settledTick)
    else this.#vsync.progress(this.#scanlines.settledTick, this.#scanlines.periodTicks)
  }

  pushVsync(tick: number, level: number): void {
    this.#vsyncLevel = level
    this.#lastVsyncEdge = tick
    if (this.#queue.length - this.#queueHead < MAX_QUEUED) this.#queue.push({ tick, level })
  }

  /** @param tick where the capture ends */
  end(tick: number): void {
    this.#scanlines.end(tick)
    this.#drain(Infinity)
    this.#isOver = true
    if (this.#segment) this.#vsync.end(tick, this.#vsyncLevel, this.#scanlines.periodTicks)
    this.#endSegment(tick)
  }

  #drain(settled: number): void {
    const period = this.#scanlines.periodTicks
    if (!(period > 0)) return
    while (this.#queueHead < this.#queue.length && this.#queue[this.#queueHead]!.tick <= settled) {
      const { tick, level } = this.#queue[this.#queueHead++]!
      this.#vsync.push(tick, level, period)
    }
    if (this.#queueHead === this.#queue.length) {
      this.#queue.length = 0
      this.#queueHead = 0
    }
    if (settled < Infinity) this.#vsync.progress(settled, period)
  }

  timingStarted(timing: TrackedTiming, tick: number): void {
    if (this.#segment) this.#endSegment(Number.isNaN(this.#lostAt) ? tick : this.#lostAt)
    this.#noteGap(tick, timing.periodTicks)
    this.#startSegment(new SegmentSync(timing, tick))
  }

  phaseBroken(tick: number): void {
    this.#noteGap(tick, this.#scanlines.periodTicks)
    this.#vertical?.flush()
    this.#segment?.breakPhase()
  }

  lockLost(tick: number): void {
    this.#lostAt = tick
  }

  lockResumed(): void {
    this.#lostAt = NaN
  }

  scanline(
    number: number,
    tick: number,
    widthTicks: number,
    regular: boolean,
    longestPieceTicks: number,
    offsetTicks: number,
  ): void {
    this.#segment?.addScanline(number, tick, widthTicks, regular, longestPieceTicks)
    const { periodTicks, jitterTicks } = this.#scanlines
    this.#vertical?.scanline(number, tick - offsetTicks, periodTicks, jitterTicks)
    if (regular) this.#listener.scanline(number, tick, widthTicks, offsetTicks)
  }

  endNotJudged(end: 'first' | 'last', scanlines: number): void {
    // the first ones are told before their segment begins
    if (end === 'first') this.#firstNotJudged = scanlines
    else if (this.#segment) this.#segment.endsNotJudged.last = scanlines
  }

  isVsyncAbout(tick: number, periodTicks: number): boolean {
    // after a vsync that lacked them any pulse may be the first of the next one's
    if (this.#segment && !this.#composite && !this.#segment.hasHsyncInVsync) return true
    const isNear = (edge: number): boolean => Math.abs(edge - tick) < VSYNC_REACH_SCANLINES * periodTicks
    for (let i = this.#queueHead; i < this.#queue.length; i++) if (isNear(this.#queue[i]!.tick)) return true
    return isNear(this.#lastVsyncEdge)
  }

  fault(fault: SyncFault): void {
    if (fault.kind === 'extra' && fault.channel !== 'vsync') this.#segment?.countExtra(fault.scanline)
    // what may be an equalizing pulse is nothing to look at
    if (this.#vertical?.isHalfway(fault) !== true) this.#listener.fault(fault)
    if (this.#vertical) this.#vertical.hold(fault)
    else this.#settleFault(fault)
  }

  #settleFault(fault: SyncFault): void {
    this.#listener.faultSettled(fault)
    this.#segment?.addFault(fault)
  }

  broadPulse(lead: number, trail: number): void {
    this.#vertical?.broadPulse(lead)
    this.pushVsync(lead, 1)
    this.pushVsync(trail, 0)
  }

  #noteGap(tick: number, periodTicks: number): void {
    const from = this.#lostAt
    this.#lostAt = NaN
    if (tick - from > 3 * periodTicks && this.gaps.length < MAX_GAPS) {
      this.gaps.push({ startTick: from, endTick: tick })
    }
  }

  #startSegment(segment: SegmentSync): void {
    this.#segment = segment
    segment.endsNotJudged.first = this.#firstNotJudged
    this.#firstNotJudged = 0
    this.#frameIndex = 0
    this.#lastVsync = undefined
    this.#oddFrom = undefined
    this.#vertical?.begin(segment.timing)
    this.#listener.segmentStarted(segment)
  }

  #endSegment(tick: number): void {
    const segment = this.#segment
    if (!segment) return
    this.#vertical?.flush()
    segment.endTick = Math.max(segment.startTick, tick)
    segment.finish(this.#resolution, this.#composite, {
      first: this.#segmentsEnded++ === 0,
      last: this.#isOver,
    })
    this.#segment = undefined
    this.#listener.segmentEnded(segment)
  }

  #frame(pulse: VsyncPulse): void {
    const segment = this.#segment
    if (!segment) return
    const last = this.#lastVsync
    // a composite sync that begins within vsync does not tell where that began
    const isCut = this.#composite && !last && pulse.leadTick < segment.startTick + this.#scanlines.periodTicks
    if (isCut) return
    const scanline = this.#scanlines.scanlineAt(pulse.leadTick)
    if (last && last.pulse.polarity !== pulse.polarity) {
      this.#changeVertical(segment, last.pulse.trailTick, segment.newestFrames.at(-1)!.scanlinesBefore)
      this.#addFrame(pulse, scanline, NaN)
      return
    }
    const length = last && last.pulse.leadTick >= segment.startTick ? this.#scanlinesSince(last, pulse) : NaN
    if (this.#judgeLength(segment, length)) {
      const moved = segment.takeLastFrames(2)
      this.#changeVertical(segment, moved[0]!.startTick, moved[0]!.scanlinesBefore)
      // both frames of the new length belong to the new segment
      for (const frame of moved) this.#retell(frame, pulse.polarity)
    }
    this.#addFrame(pulse, scanline, length)
  }

  /** Scanlines from one vsync to the next: by their numbers, or by time where the phase was lost between them. */
  #scanlinesSince(last: PlacedVsync, { leadTick }: VsyncPulse): number {
    if (last.phaseBreaks === this.#segment!.phaseBreaks)
      return this.#scanlines.scanlineAt(leadTick) - last.scanline
    return (leadTick - last.pulse.leadTick) / this.#scanlines.periodTicks
  }

  #addFrame(pulse: VsyncPulse, scanline: number, length: number): void {
    const segment = this.#segment!
    this.#lastVsync = { pulse, scanline, phaseBreaks: segment.phaseBreaks }
    const frame = segment.addVsync(pulse, scanline, length, this.#scanlines.periodTicks)
    this.#vertical?.vsync(frame, pulse.leadTick, pulse.trailTick)
    if (this.#oddFrom === undefined && this.#isOdd(segment, length)) {
      this.#oddFrom = segment.newestFrames.at(-2)
      this.#oddLength = length
    }
    this.#listener.frameStarted(frame, this.#frameIndex++)
  }

  #isOdd(segment: SegmentSync, length: number): boolean {
    const usual = segment.usualFrameScanlines
    if (usual === null || segment.wholeFrames <= 2 || !(Math.abs(length - usual) > CHANGED_SCANLINES))
      return false
    // one length is no more usual than another until it comes again
    if (segment.frameLengths.get(usual)! < 2) return false
    // a vsync is missing, or there is one too many: no mode is twice as long as another of the same scanline rate
    const ratio = length > usual ? length / usual : usual / length
    return Math.abs(ratio - Math.round(ratio)) * Math.min(length, usual) > SAME_LENGTH_SCANLINES
  }

  /** True where this frame and the one before are alike, and unlike the segment's: a new segment began with them. */
  #judgeLength(segment: SegmentSync, length: number): boolean {
    const odd = this.#oddFrom
    if (!odd) return false
    this.#oddFrom = undefined
    if (!this.#isOdd(segment, length)) return false
    if (Math.abs(length - this.#oddLength) > SAME_LENGTH_SCANLINES) {
      this.#oddFrom = segment.newestFrames.at(-1)
      this.#oddLength = length
      return false
    }
    return true
  }

  #changeVertical(segment: SegmentSync, tick: number, scanlinesBefore: number): void {
    this.#vertical?.flush()
    const next = new SegmentSync(segment.timing, tick, segment)
    segment.handOver(next, tick, scanlinesBefore)
    this.#endSegment(tick)
    this.#startSegment(next)
  }

  #retell(frame: FrameSync, polarity: Polarity): void {
    this.#segment!.adoptFrame(frame, polarity)
    this.#listener.frameStarted(frame, this.#frameIndex++)
  }
}
