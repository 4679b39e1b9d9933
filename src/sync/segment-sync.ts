// Running totals of one segment: a stretch of a capture in which the sync keeps one timing. Bounded memory.

import type { Measurement, Polarity } from '../measurement.ts'
import { EdgeCounter } from './edge-counter.ts'
import { FaultList, type FalseEdges, type VsyncTime } from './fault-list.ts'
import { FrameList, wholeScanline } from './frame-list.ts'
import type { FrameSync } from './frame-sync.ts'
import { JitterMeter } from './jitter-meter.ts'
import { LineSeries, type LineFit, type SeriesResiduals } from './line-series.ts'
import { WidthSeries, type PulseWidth } from './pulse-width.ts'
import { RunningMean } from './running-mean.ts'
import type { FalseEdgeFront, TruePulses } from './remedy.ts'
import type { TrackedTiming } from './scanline-listener.ts'
import type { FaultKind, SyncFault } from './sync-fault.ts'
import type { EdgesBeside } from './vertical-faults.ts'
import { judgeVsync, type VsyncJudgement, type VsyncVerdict } from './vsync-faults.ts'
import type { VsyncPulse } from './vsync-tracker.ts'
import { VsyncWidth } from './vsync-width.ts'

/** Frames whose lengths differ by less are equally long; also how near a length must be to x or x.5. */
export const SAME_LENGTH_SCANLINES = 0.25

/** Collects one segment. */
export class SegmentSync {
  readonly timing: TrackedTiming
  readonly startTick: number
  endTick: number
  scanlines = 0
  vsyncPolarity: Polarity | null = null
  readonly #frames = new FrameList()
  readonly #faults = new FaultList()
  /** Scanlines before the capture's first pulse, and after its last, of which it cannot be known whether they are missing. */
  readonly endsNotJudged: { first: number; last: number } = { first: 0, last: 0 }
  phaseBreaks = 0
  #lastVsync: VsyncPulse | undefined
  /** Vertical intervals of a composite sync that had no majority to be held against. */
  intervalsNotJudged = 0
  /** Pulses at half a scanline that may be equalizing ones of a vsync that was not captured. */
  halvesNotJudged = 0
  #verdict: VsyncVerdict | undefined
  readonly #series: LineSeries
  readonly #width: WidthSeries
  readonly jitter: JitterMeter = new JitterMeter()
  /** Shortest time between neighbouring true leading edges, and shortest true pulse, in ticks. */
  shortestGapTicks: number = Infinity
  shortestPulseTicks: number = Infinity
  #lastLead = NaN
  /** Vsync pulses that came, false ones too. */
  vsyncPulses = 0
  readonly #vsyncWidth = new RunningMean()
  readonly #vsyncTicks = new VsyncWidth()
  readonly #counter: EdgeCounter

  /** @param before the segment it follows where only the vertical timing changed: its scanlines count on */
  constructor(timing: TrackedTiming, startTick: number, before?: SegmentSync) {
    this.timing = timing
    this.startTick = startTick
    this.endTick = startTick
    this.#series = before ? before.#series : new LineSeries(timing.periodTicks)
    this.#width = before ? before.#width : new WidthSeries()
    this.#counter = before ? before.#counter : new EdgeCounter()
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

  /** A false pulse, at once: faults may be told later, and edges are counted in order. */
  countExtra(scanline: number): void {
    this.#counter.count(scanline)
  }

  /** A counter counts one edge more or less in a scanline that lies behind. */
  correctCount(edges: EdgesBeside): void {
    this.#frames.correctCount(edges)
  }

  addFault(fault: SyncFault): void {
    this.#faults.add(fault, this.#vsyncTime)
  }

  /** A vertical interval was judged, or could not be. @param shift scanlines by which its vsync begins later than it seems */
  addInterval(frame: FrameSync, isJudged: boolean, shift: number): void {
    if (!isJudged) this.intervalsNotJudged++
    if (shift !== 0) this.#frames.shiftVsync(frame, shift)
  }

  get faults(): SyncFault[] {
    return this.#faults.listed
  }

  get faultCounts(): Record<FaultKind, number> {
    return this.#faults.counts
  }

  /** Scanlines that a counter of leading edges gains and loses in all. */
  get miscounted(): { gained: number; lost: number } {
    return this.#faults.miscounted
  }

  /** Pulses missing within vsync: a habit of some sources. Kept apart until that is known. */
  get missingInVsync(): { count: number; listed: SyncFault[] } {
    return this.#faults.missingInVsync
  }

  /** Where missing pulses belong to the last vsync. */
  get #vsyncTime(): VsyncTime | undefined {
    const pulse = this.#lastVsync
    const period = this.timing.periodTicks
    return pulse && { fromTick: pulse.leadTick - period, toTick: pulse.trailTick + period }
  }

  /** Whether vsync has come so far with all its scanlines' pulses. */
  get hasHsyncInVsync(): boolean {
    const vsync = this.#vsyncTime
    return vsync !== undefined && this.missingInVsync.count === 0 && !this.#faults.lacksPulsesIn(vsync)
  }

  /**
   * @param scanline where the leading edge falls, with fraction
   * @param frameScanlines scanlines since the vsync before, NaN for the first after a break
   */
  addVsync(pulse: VsyncPulse, scanline: number, frameScanlines: number, periodTicks: number): FrameSync {
    this.vsyncPolarity = pulse.polarity
    this.#faults.placeMissing(pulse.leadTick - periodTicks, this.#vsyncTime)
    this.#lastVsync = pulse
    this.vsyncPulses++
    const firstScanline = wholeScanline(scanline)
    const frame = {
      startTick: pulse.leadTick,
      firstScanline,
      phase: scanline - firstScanline,
      scanlines: NaN,
      countedEdges: 0,
      // vsync is told as it ends
      scanlinesBefore: Math.max(0, this.scanlines - this.#counter.between(firstScanline, Infinity)),
      widthTicks: pulse.trailTick - pulse.leadTick,
      longestPieceTicks: pulse.longestPieceTicks,
    }
    this.#frames.add(frame, frameScanlines, (from, to) => this.#counter.between(from, to))
    return frame
  }

  /** Pulses missing within vsync turned out to be no faults. */
  forgiveMissingInVsync(): void {
    this.#faults.forgiveMissingInVsync()
  }

  /**
   * The segment is over: judges its vsync, and puts the faults in order.
   * @param whole whether the capture begins and ends with this segment: next to a change of timing no vsync is missed
   */
  finish(resolutionTicks: number, composite: boolean, whole: { first: boolean; last: boolean }): void {
    this.#faults.placeMissing(Infinity, this.#vsyncTime)
    const periodTicks = this.#series.periodTicks ?? this.timing.periodTicks
    this.#frames.finish(periodTicks)
    this.#verdict = judgeVsync({
      frames: this.frames,
      startTick: whole.first ? this.startTick : NaN,
      endTick: whole.last && this.#frames.areAllListed ? this.endTick : NaN,
      periodTicks,
      resolutionTicks,
      composite,
    })
    for (const fault of this.#verdict.faults) this.#faults.addVsync(fault)
    this.#faults.finish()
    this.#measureVsync(new Set(this.#verdict.right.map(({ tick }) => tick)), periodTicks)
  }

  /** Widths of the pulses that nothing is wrong with: a false or damaged one tells nothing of the card's. */
  #measureVsync(rightTicks: ReadonlySet<number>, periodTicks: number): void {
    for (const { startTick, firstScanline, phase, widthTicks } of this.frames) {
      if (!rightTicks.has(startTick)) continue
      this.#vsyncWidth.add(widthTicks / periodTicks)
      this.#vsyncTicks.add(firstScanline + phase, widthTicks)
    }
  }

  /** Vsync pulses as they were judged, missing ones too. Of a composite sync only those that something is wrong with: the
   * others are pulses of scanlines as well. */
  get judgedVsyncs(): VsyncJudgement[] {
    const { faults = [], right = [] } = this.#verdict ?? {}
    return [...faults, ...right.filter(({ channel }) => channel === 'vsync')].sort((a, b) => a.tick - b.tick)
  }

  /** False pulses that a filter on hsync or csync has to reject, and the true ones it has to keep. */
  get falseEdges(): FilterTask {
    return filterTask(this.#faults.falseEdges, this.shortestGapTicks, this.shortestPulseTicks)
  }

  /** The same for vsync. */
  get falseVsyncs(): FilterTask {
    const { shortestGapTicks = Infinity, shortestPulseTicks = Infinity } = this.#verdict ?? {}
    return filterTask(this.#faults.falseVsyncs, shortestGapTicks, shortestPulseTicks)
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
    this.#faults.handOver(to.#faults, tick)
  }

  /** Takes the last frames out, for the segment that turned out to begin with them. */
  takeLastFrames(count: number): FrameSync[] {
    const taken = this.#frames.takeLast(count)
    this.vsyncPulses -= taken.length
    return taken
  }

  /** Adds a frame that was first taken for one of another segment. */
  adoptFrame(frame: FrameSync, polarity: Polarity | null): void {
    this.vsyncPolarity = polarity
    this.vsyncPulses++
    this.#frames.adopt(frame)
  }

  get frames(): readonly FrameSync[] {
    return this.#frames.listed
  }

  /** The last few frames, also such as are not listed. */
  get newestFrames(): readonly FrameSync[] {
    return this.#frames.newest
  }

  /** Frames from vsync to vsync, also those not listed. */
  get wholeFrames(): number {
    return this.#frames.whole
  }

  /** Lengths of frames in scanlines (to the half), with how often each was seen. */
  get frameLengths(): ReadonlyMap<number, number> {
    return this.#frames.lengths
  }

  /** The commonest frame length, to the half scanline; null without a whole frame. */
  get usualFrameScanlines(): number | null {
    return this.#verdict ? this.#verdict.usualScanlines : this.#frames.usualLength
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

  /** Mean vsync width in ticks, once the segment is over; null without a right pulse. @param jitterSamples of vsync's edges */
  vsyncWidth(line: LineFit, jitterSamples: number, resolutionTicks: number): Measurement | null {
    return this.#vsyncTicks.mean(line.period.value, jitterSamples, resolutionTicks)
  }

  /** The same in scanlines. */
  get vsyncWidthScanlines(): number | null {
    return this.#vsyncWidth.count > 0 ? this.#vsyncWidth.mean : null
  }

  get faultCount(): number {
    return this.#faults.total
  }
}

/** False pulses of a wire, and the true ones between which they lie. */
export interface FilterTask {
  edges: FalseEdgeFront
  truePulses: TruePulses
}

function filterTask(
  { edges, latestPieceTicks }: FalseEdges,
  shortestGapTicks: number,
  shortestWidthTicks: number,
): FilterTask {
  return { edges, truePulses: { shortestGapTicks, shortestWidthTicks, latestPieceTicks } }
}
