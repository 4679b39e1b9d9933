// Running totals of one segment: a stretch of a capture in which the sync keeps one timing. Bounded memory.

import type { Measurement, Polarity } from '../measurement.ts'
import { JitterMeter } from './jitter-meter.ts'
import { LineSeries, type LineFit, type SeriesResiduals } from './line-series.ts'
import { WidthSeries, type PulseWidth } from './pulse-width.ts'
import { RunningMean } from './running-mean.ts'
import { FalseEdgeFront, type TruePulses } from './remedy.ts'
import type { TrackedTiming } from './scanline-listener.ts'
import { FAULT_KINDS, type FaultKind, type SyncFault } from './sync-fault.ts'
import { judgeVsync, type VsyncJudgement, type VsyncVerdict } from './vsync-faults.ts'
import type { VsyncPulse } from './vsync-tracker.ts'
import { VsyncWidth } from './vsync-width.ts'

/** Frames kept one by one; a segment's further frames only enter the totals. */
export const MAX_FRAMES_LISTED = 100_000
/** Faults kept one by one; further ones are counted. */
export const MAX_FAULTS_LISTED = 10_000
/** How far from a scanline's leading edge vsync may fall and still coincide with it, in scanlines. */
const COINCIDENT_SCANLINES = 0.02
/** Frames whose lengths differ by less are equally long; also how near a length must be to x or x.5. */
export const SAME_LENGTH_SCANLINES = 0.25

/** One frame, from vsync leading edge to vsync leading edge. */
export interface FrameSync {
  startTick: number
  /** The scanline in which vsync's leading edge falls. */
  firstScanline: number
  /** Where in that scanline, 0 to 1. */
  phase: number
  /** Scanlines to the next vsync, not rounded; NaN while the frame is not over. */
  scanlines: number
  /** Sync pulses that a counter of leading edges counts in the frame. */
  countedEdges: number
  /** Scanlines of its segment told before this frame was. */
  scanlinesBefore: number
  /** Width of its vsync, and of the longest piece where that is cut; in ticks. */
  widthTicks: number
  longestPieceTicks: number
}

/** Scanlines looked back over: vsync is settled later than the scanlines around it, by less than this. */
const LOOK_BACK = 4096

/** Leading edges as an adapter counts them, by the scanline they fall in. */
class EdgeCounter {
  /** Edges before each scanline, by number modulo LOOK_BACK. */
  readonly #before = new Float64Array(LOOK_BACK)
  #edges = 0
  #next = NaN

  /** One edge in a scanline; numbers never fall. */
  count(scanline: number): void {
    if (Number.isNaN(this.#next)) this.#next = scanline
    if (scanline - this.#next >= LOOK_BACK) this.#next = scanline
    while (this.#next <= scanline) this.#before[this.#next++ % LOOK_BACK] = this.#edges
    this.#edges++
  }

  /** Edges from one scanline to another, the second not included. */
  between(from: number, to: number): number {
    return this.#upTo(to) - this.#upTo(from)
  }

  #upTo(scanline: number): number {
    return scanline >= this.#next ? this.#edges : this.#before[Math.max(0, scanline) % LOOK_BACK]!
  }
}

/** Collects one segment. */
export class SegmentSync {
  readonly timing: TrackedTiming
  readonly startTick: number
  endTick: number
  scanlines = 0
  vsyncPolarity: Polarity | null = null
  readonly frames: FrameSync[] = []
  /** Frames from vsync to vsync, also those not listed. */
  wholeFrames = 0
  readonly faultCounts: Record<FaultKind, number> = {
    extra: 0,
    missing: 0,
    short: 0,
    early: 0,
    late: 0,
    width: 0,
  }
  faults: SyncFault[] = []
  /** Scanlines that a counter of leading edges gains and loses in all. */
  readonly miscounted: { gained: number; lost: number } = { gained: 0, lost: 0 }
  phaseBreaks = 0
  /** Pulses missing within vsync: a habit of some sources. Kept apart until that is known. */
  readonly missingInVsync: { count: number; listed: SyncFault[] } = { count: 0, listed: [] }
  /** Missing pulses that may yet turn out to lie within vsync. */
  #recentMissing: SyncFault[] = []
  #lastVsync: VsyncPulse | undefined
  readonly #falseEdges = new FalseEdgeFront()
  readonly #falseVsyncs = new FalseEdgeFront()
  #latestPiece = 0
  #latestVsyncPiece = 0
  #verdict: VsyncVerdict | undefined
  readonly #series: LineSeries
  readonly #width: WidthSeries
  readonly jitter: JitterMeter = new JitterMeter()
  /** Shortest time between neighbouring true leading edges, and shortest true pulse, in ticks. */
  shortestGapTicks: number = Infinity
  shortestPulseTicks: number = Infinity
  #lastLead = NaN
  readonly #vsyncWidth = new RunningMean()
  readonly #vsyncTicks = new VsyncWidth()
  readonly #frameLength = new Map<number, number>()
  readonly #counter = new EdgeCounter()

  /** @param before the segment it follows where only the vertical timing changed: its scanlines count on */
  constructor(timing: TrackedTiming, startTick: number, before?: SegmentSync) {
    this.timing = timing
    this.startTick = startTick
    this.endTick = startTick
    this.#series = before ? before.#series : new LineSeries(timing.periodTicks)
    this.#width = before ? before.#width : new WidthSeries()
  }

  addScanline(
    number: number,
    tick: number,
    widthTicks: number,
    regular: boolean,
    longestPieceTicks: number,
  ): void {
    const gap = tick - this.#lastLead
    if (gap < this.shortestGapTicks) this.shortestGapTicks = gap
    if (longestPieceTicks < this.shortestPulseTicks) this.shortestPulseTicks = longestPieceTicks
    this.#lastLead = tick
    if (regular) this.jitter.add(number, tick)
    this.scanlines++
    this.#counter.count(number)
    this.endTick = tick
    if (regular) this.#series.add(number, tick)
    if (regular && !Number.isNaN(widthTicks)) this.#width.add(number, widthTicks)
  }

  breakPhase(): void {
    this.phaseBreaks++
    this.#lastLead = NaN
    this.jitter.breakPhase()
    this.#series.breakPhase()
  }

  addFault(fault: SyncFault): void {
    this.#total(fault, 1)
    if (fault.kind === 'extra') {
      if (fault.channel !== 'vsync') this.#counter.count(fault.scanline)
      this.#addFalseEdge(fault)
    }
    if (fault.kind === 'missing') {
      this.#recentMissing.push(fault)
      if (this.#recentMissing.length >= LOOK_BACK) this.#placeMissing(Infinity)
    } else this.#list(fault)
  }

  #total(fault: SyncFault, times: 1 | -1): void {
    this.faultCounts[fault.kind] += times
    if (fault.lineCountError > 0) this.miscounted.gained += times
    if (fault.lineCountError < 0) this.miscounted.lost += times
  }

  #addFalseEdge(fault: SyncFault): void {
    // a filter lets this piece pass in place of the true pulse's first
    const late = fault.rejectWidthTicks < fault.widthTicks ? fault.sinceTrueTicks : 0
    if (fault.channel === 'vsync') {
      this.#falseVsyncs.add(fault)
      this.#latestVsyncPiece = Math.max(this.#latestVsyncPiece, late)
    } else {
      this.#falseEdges.add(fault)
      this.#latestPiece = Math.max(this.#latestPiece, late)
    }
  }

  #list(fault: SyncFault): void {
    if (this.faults.length < MAX_FAULTS_LISTED) this.faults.push(fault)
  }

  /** Missing pulses before the tick: within the vsync before it, or not. */
  #placeMissing(untilTick: number): void {
    const { listed } = this.missingInVsync
    this.#recentMissing = this.#recentMissing.filter((fault) => {
      if (fault.tick >= untilTick) return true
      if (this.#isInLastVsync(fault)) {
        this.missingInVsync.count++
        if (listed.length < MAX_FAULTS_LISTED) listed.push(fault)
      } else this.#list(fault)
      return false
    })
  }

  #isInLastVsync({ tick }: SyncFault): boolean {
    const pulse = this.#lastVsync
    const period = this.timing.periodTicks
    return pulse !== undefined && tick >= pulse.leadTick - period && tick < pulse.trailTick + period
  }

  /** Whether vsync has come so far with all its scanlines' pulses. */
  get hasHsyncInVsync(): boolean {
    if (!this.#lastVsync || this.missingInVsync.count > 0) return false
    return !this.#recentMissing.some((fault) => this.#isInLastVsync(fault))
  }

  /**
   * @param scanline where the leading edge falls, with fraction
   * @param frameScanlines scanlines since the vsync before, NaN for the first after a break
   */
  addVsync(pulse: VsyncPulse, scanline: number, frameScanlines: number, periodTicks: number): FrameSync {
    this.vsyncPolarity = pulse.polarity
    this.#placeMissing(pulse.leadTick - periodTicks)
    this.#lastVsync = pulse
    this.#vsyncWidth.add((pulse.trailTick - pulse.leadTick) / periodTicks)
    this.#vsyncTicks.add(scanline, pulse.trailTick - pulse.leadTick)
    // vsync that falls with an hsync edge must not be pushed to the scanline before by a sample's delay
    const nearest = Math.round(scanline)
    const firstScanline = Math.abs(scanline - nearest) < COINCIDENT_SCANLINES ? nearest : Math.floor(scanline)
    const previous = this.frames.at(-1)
    if (!Number.isNaN(frameScanlines)) {
      this.#countFrame(frameScanlines, 1)
      if (previous) {
        previous.scanlines = frameScanlines
        previous.countedEdges = this.#counter.between(previous.firstScanline, firstScanline)
      }
    }
    const frame = {
      startTick: pulse.leadTick,
      firstScanline,
      phase: scanline - firstScanline,
      scanlines: NaN,
      countedEdges: 0,
      scanlinesBefore: this.scanlines,
      widthTicks: pulse.trailTick - pulse.leadTick,
      longestPieceTicks: pulse.longestPieceTicks,
    }
    if (this.frames.length < MAX_FRAMES_LISTED) this.frames.push(frame)
    return frame
  }

  /** Pulses missing within vsync turned out to be no faults. */
  forgiveMissingInVsync(): void {
    this.faultCounts.missing -= this.missingInVsync.count
    this.miscounted.lost -= this.missingInVsync.count
    this.missingInVsync.count = 0
    const { listed } = this.missingInVsync
    this.faults = this.faults.filter((fault) => !listed.includes(fault))
  }

  /**
   * The segment is over: judges its vsync, and puts the faults in order.
   * @param whole whether the capture begins and ends with this segment: next to a change of timing no vsync is missed
   */
  finish(resolutionTicks: number, composite: boolean, whole: { first: boolean; last: boolean }): void {
    this.#placeMissing(Infinity)
    const allListed = this.frames.length < MAX_FRAMES_LISTED
    this.#verdict = judgeVsync({
      frames: this.frames,
      startTick: whole.first ? this.startTick : NaN,
      endTick: whole.last && allListed ? this.endTick : NaN,
      periodTicks: this.#series.periodTicks ?? this.timing.periodTicks,
      resolutionTicks,
      composite,
    })
    for (const fault of this.#verdict.faults) {
      this.faultCounts[fault.kind]++
      if (fault.kind === 'extra') this.#falseVsyncs.add(fault)
      this.#list(fault)
    }
    this.faults.push(...this.missingInVsync.listed.slice(0, MAX_FAULTS_LISTED - this.faults.length))
    this.faults.sort((a, b) => a.tick - b.tick)
  }

  /** Vsync pulses as they were judged, missing ones too. Of a composite sync only those that something is wrong with: the
   * others are pulses of scanlines as well. */
  get judgedVsyncs(): VsyncJudgement[] {
    const { faults = [], right = [] } = this.#verdict ?? {}
    return [...faults, ...right.filter(({ channel }) => channel === 'vsync')].sort((a, b) => a.tick - b.tick)
  }

  /** False pulses that a filter on hsync or csync has to reject, and the true ones it has to keep. */
  get falseEdges(): { edges: FalseEdgeFront; truePulses: TruePulses } {
    const { shortestGapTicks, shortestPulseTicks: shortestWidthTicks } = this
    const truePulses = { shortestGapTicks, shortestWidthTicks, latestPieceTicks: this.#latestPiece }
    return { edges: this.#falseEdges, truePulses }
  }

  /** The same for vsync. */
  get falseVsyncs(): { edges: FalseEdgeFront; truePulses: TruePulses } {
    const shortestGapTicks = this.#verdict?.shortestGapTicks ?? Infinity
    const shortestWidthTicks = this.#verdict?.shortestPulseTicks ?? Infinity
    const truePulses = { shortestGapTicks, shortestWidthTicks, latestPieceTicks: this.#latestVsyncPiece }
    return { edges: this.#falseVsyncs, truePulses }
  }

  /** Frames whose scanline count differs from the usual one. */
  get oddFrames(): number {
    return this.#verdict?.oddFrames ?? 0
  }

  /**
   * Hands what came after a tick to the segment that turned out to begin there, frames excepted.
   * @param scanlinesBefore scanlines of this segment that stay its own
   */
  handOver(to: SegmentSync, tick: number, scanlinesBefore: number): void {
    to.scanlines = this.scanlines - scanlinesBefore
    this.scanlines = scanlinesBefore
    to.shortestGapTicks = this.shortestGapTicks
    to.shortestPulseTicks = this.shortestPulseTicks
    to.#lastVsync = this.#lastVsync
    const later = (list: SyncFault[]): SyncFault[] => {
      const moved = list.filter((fault) => fault.tick >= tick)
      list.length -= moved.length
      for (const fault of moved) {
        this.#total(fault, -1)
        to.#total(fault, 1)
        if (fault.kind === 'extra') to.#addFalseEdge(fault)
      }
      return moved
    }
    to.faults.push(...later(this.faults))
    to.#recentMissing.push(...later(this.#recentMissing))
    const inVsync = later(this.missingInVsync.listed)
    to.missingInVsync.listed.push(...inVsync)
    this.missingInVsync.count -= inVsync.length
    to.missingInVsync.count += inVsync.length
  }

  /** Takes the last frames out, for the segment that turned out to begin with them. */
  takeLastFrames(count: number): FrameSync[] {
    const taken = this.frames.splice(-count)
    for (const frame of taken) if (!Number.isNaN(frame.scanlines)) this.#countFrame(frame.scanlines, -1)
    return taken
  }

  /** Adds a frame that was first taken for one of another segment. */
  adoptFrame(frame: FrameSync, polarity: Polarity | null): void {
    this.vsyncPolarity = polarity
    this.frames.push(frame)
    if (!Number.isNaN(frame.scanlines)) this.#countFrame(frame.scanlines, 1)
  }

  #countFrame(scanlines: number, times: 1 | -1): void {
    this.wholeFrames += times
    const key = Math.round(scanlines * 2) / 2
    this.#frameLength.set(key, (this.#frameLength.get(key) ?? 0) + times)
  }

  /** Lengths of frames in scanlines (to the half), with how often each was seen. */
  get frameLengths(): ReadonlyMap<number, number> {
    return this.#frameLength
  }

  /** The commonest frame length, to the half scanline; null without a whole frame. */
  get usualFrameScanlines(): number | null {
    if (this.#verdict) return this.#verdict.usualScanlines
    let best: number | null = null
    let most = 0
    for (const [length, times] of this.#frameLength) {
      if (times > most) {
        most = times
        best = length
      }
    }
    return best
  }

  fit(resolutionTicks: number): LineFit | undefined {
    return this.#series.fit(resolutionTicks)
  }

  /** Deviations of leading edges from the fitted line. */
  residuals(): SeriesResiduals | undefined {
    return this.#series.residuals()
  }

  /** Mean hsync width, and the jitter its edges share. */
  hsyncWidth(line: LineFit, resolutionTicks: number): PulseWidth {
    const uncertainty = resolutionTicks / Math.sqrt(6)
    return (
      this.#width.mean(line, resolutionTicks) ?? {
        width: { value: this.timing.widthTicks, uncertainty },
        commonJitterSamples: line.jitterSamples,
      }
    )
  }

  /** Mean vsync width in ticks; null without a pulse. @param jitterSamples of vsync's edges */
  vsyncWidth(line: LineFit, jitterSamples: number, resolutionTicks: number): Measurement | null {
    return this.#vsyncTicks.mean(line.period.value, jitterSamples, resolutionTicks)
  }

  /** Mean vsync width in scanlines; null without a pulse. */
  get vsyncWidthScanlines(): number | null {
    return this.#vsyncWidth.count > 0 ? this.#vsyncWidth.mean : null
  }

  get vsyncPulses(): number {
    return this.#vsyncWidth.count
  }

  get faultCount(): number {
    return FAULT_KINDS.reduce((sum, kind) => sum + this.faultCounts[kind], 0)
  }
}
