// Vsync pulses of a finished segment → which are false, missing, misplaced or misshapen. Judged at the end, because only
// then is it known how long a frame usually is. A frame that the card itself made longer or shorter is no fault of vsync.

import type { FrameSync } from './frame-sync.ts'
import { median } from './median.ts'
import type { FaultKind, SyncFault } from './sync-fault.ts'
import { MAX_MISSING, runsOf, usualLength, type FrameRun } from './usual-frame.ts'

/** What is to be judged. */
export interface VsyncPulses {
  /** One per vsync, in order of time; `scanlines` is NaN where the next one does not follow in unbroken phase. */
  frames: readonly FrameSync[]
  /** Where the segment begins and ends, in ticks; NaN where no pulse is to be missed beyond the first or last. */
  startTick: number
  endTick: number
  periodTicks: number
  resolutionTicks: number
  /** Widths mean nothing in a composite sync: the gaps in its vsync are its own. */
  composite: boolean
}

/** One pulse of vsync, or one that is missing. */
export interface VsyncJudgement extends Pick<
  SyncFault,
  'channel' | 'tick' | 'scanline' | 'offsetTicks' | 'widthTicks'
> {
  kind: 'true' | FaultKind
}

export interface VsyncVerdict {
  /** Length of a usual frame in scanlines, to the half; null without a whole frame. */
  usualScanlines: number | null
  faults: SyncFault[]
  /** Those that nothing is wrong with, with their offsets from where the frame before has them; NaN where none is. */
  right: VsyncJudgement[]
  /** Frames whose scanline count is another, whether the card made it so or a fault of vsync. */
  oddFrames: number
  /** Shortest time between true leading edges, and shortest true pulse, in ticks; Infinity where there are none. */
  shortestGapTicks: number
  shortestPulseTicks: number
}

/** How far a vsync may be off, in scanlines, or in samples where these are longer. */
const OFF_SCANLINES = 0.03
const OFF_SAMPLES = 3
/** The same in a composite sync: where vsync falls with hsync, the gate shows it only as hsync ends. */
const OFF_COMPOSITE_SCANLINES = 0.25
/** A frame that is longer or shorter by so many scanlines has another count of them. */
const OTHER_SCANLINES = 0.4
/** How far its width may be off: what ringing adds at most, or a share of it. */
const WIDTH_SCANLINES = 0.6
const WIDTH_SHARE = 0.1
/** Shares of a frame within which a vsync is early or late; one further away is another. */
const MISPLACED_SHARE = 0.1
/** Pulses looked at for the next true one. */
const LOOK_AHEAD = 12

export function judgeVsync(pulses: VsyncPulses): VsyncVerdict {
  return new VsyncJudge(pulses).verdict()
}

class VsyncJudge {
  readonly #pulses: VsyncPulses
  readonly #runs: FrameRun[]
  readonly #usualWidth: number
  readonly #usual: number | null
  readonly #near: number
  readonly #faults: SyncFault[] = []
  readonly #right: VsyncJudgement[] = []
  #shortestGap = Infinity
  #shortestPulse = Infinity
  #lastTrue: FrameSync | undefined

  constructor(pulses: VsyncPulses) {
    this.#pulses = pulses
    this.#runs = runsOf(pulses.frames)
    this.#usualWidth = median(pulses.frames.map((frame) => frame.widthTicks)) ?? 0
    const off = pulses.composite ? OFF_COMPOSITE_SCANLINES : OFF_SCANLINES
    this.#near = Math.max(off, (OFF_SAMPLES * pulses.resolutionTicks) / pulses.periodTicks)
    this.#usual = usualLength(this.#runs, (frame) => this.#isNarrow(frame), this.#near)
  }

  verdict(): VsyncVerdict {
    const usual = this.#usual
    if (usual === null) for (const frame of this.#pulses.frames) this.#noteRight(frame, NaN)
    else {
      this.#runs.forEach((run, index) => {
        this.#lastTrue = undefined
        this.#judgeRun(run, usual, index === 0, index === this.#runs.length - 1)
      })
    }
    return {
      usualScanlines: usual,
      faults: this.#faults.sort((a, b) => a.tick - b.tick),
      right: this.#right,
      oddFrames: usual === null ? 0 : this.#oddFrames(usual),
      shortestGapTicks: this.#shortestGap,
      shortestPulseTicks: this.#shortestPulse,
    }
  }

  #oddFrames(usual: number): number {
    return this.#pulses.frames.filter(({ scanlines }) => Math.abs(scanlines - usual) >= OTHER_SCANLINES)
      .length
  }

  #isNarrow(frame: FrameSync): boolean {
    return !this.#pulses.composite && frame.widthTicks < this.#usualWidth / 2
  }

  #judgeRun(run: FrameRun, usual: number, isFirst: boolean, isLast: boolean): void {
    const { frames } = run
    const { startTick, endTick, periodTicks } = this.#pulses
    let at = frames.findIndex((frame, i) => !this.#isNarrow(frame) && this.#nextTrue(run, i, usual) !== null)
    if (at < 0) at = frames.findIndex((frame) => !this.#isNarrow(frame))
    if (at < 0) return
    for (let i = 0; i < at; i++) {
      if (this.#isNarrow(frames[i]!)) this.#extra(frames[i]!)
      else this.#accept(frames[i]!)
    }
    const room = (this.#usualWidth / periodTicks + 1) * periodTicks
    if (isFirst && at === 0) {
      for (let back = 1; frames[0]!.startTick - back * usual * periodTicks > startTick + room; back++)
        this.#missing(frames[0]!, -back * usual)
    }
    this.#accept(frames[at]!)
    while (at < frames.length - 1) {
      const next = this.#nextTrue(run, at, usual)
      if (next) {
        this.#between(run, at, next.index, next.frames, usual)
        const off = run.place[next.index]! - run.place[at]! - next.frames * usual
        at = next.index
        this.#accept(frames[at]!, undefined, off * periodTicks)
        continue
      }
      at++
      if (this.#isNarrow(frames[at]!)) this.#extra(frames[at]!)
      else this.#accept(frames[at]!)
    }
    if (isLast && this.#lastTrue) {
      const last = this.#lastTrue
      for (let ahead = 1; last.startTick + ahead * usual * periodTicks + room < endTick; ahead++)
        this.#missing(last, ahead * usual)
    }
  }

  /** The next pulse that is a whole number of frames after this one. */
  #nextTrue(
    { frames, place }: FrameRun,
    from: number,
    usual: number,
  ): { index: number; frames: number } | null {
    let narrow: { index: number; frames: number } | null = null
    for (let i = from + 1; i < Math.min(frames.length, from + LOOK_AHEAD); i++) {
      const apart = (place[i]! - place[from]!) / usual
      const whole = Math.round(apart)
      if (whole > MAX_MISSING) break
      if (whole < 1 || Math.abs(apart - whole) * usual > this.#near) continue
      if (!this.#isNarrow(frames[i]!)) return { index: i, frames: whole }
      narrow ??= { index: i, frames: whole }
    }
    return narrow
  }

  /** Pulses from one true one to another `wholes` frames later: misplaced ones, false ones, and where one is missing. */
  #between({ frames, place }: FrameRun, from: number, to: number, wholes: number, usual: number): void {
    const slotOf = new Map<number, number>()
    for (let slot = 1; slot < wholes; slot++) {
      const expected = place[from]! + slot * usual
      let closest = -1
      for (let i = from + 1; i < to; i++) {
        const off = Math.abs(place[i]! - expected)
        if (slotOf.has(i) || off > (this.#isNarrow(frames[i]!) ? this.#near : MISPLACED_SHARE * usual))
          continue
        if (closest < 0 || off < Math.abs(place[closest]! - expected)) closest = i
      }
      if (closest < 0) this.#missing(frames[from]!, slot * usual)
      else slotOf.set(closest, slot)
    }
    // in order of time: false ones are told by the true one before them
    for (let i = from + 1; i < to; i++) {
      const slot = slotOf.get(i)
      if (slot === undefined) {
        this.#extra(frames[i]!)
        continue
      }
      const off = place[i]! - place[from]! - slot * usual
      const offsetTicks = off * this.#pulses.periodTicks
      const kind = off < 0 ? 'early' : 'late'
      this.#accept(frames[i]!, Math.abs(off) > this.#near ? { kind, offsetTicks } : undefined, offsetTicks)
    }
  }

  /** A true pulse; its width is judged unless it is wrong in another way already. */
  #accept(frame: FrameSync, wrong?: { kind: FaultKind; offsetTicks: number }, offsetTicks = NaN): void {
    const before = this.#lastTrue
    if (before && frame.startTick > before.startTick)
      this.#shortestGap = Math.min(this.#shortestGap, frame.startTick - before.startTick)
    this.#shortestPulse = Math.min(this.#shortestPulse, frame.longestPieceTicks)
    this.#lastTrue = frame
    const { periodTicks, resolutionTicks, composite } = this.#pulses
    const slack = Math.max(WIDTH_SCANLINES * periodTicks, WIDTH_SHARE * this.#usualWidth) + resolutionTicks
    if (wrong) this.#note(wrong.kind, frame, wrong.offsetTicks)
    else if (composite) this.#noteRight(frame, offsetTicks)
    else if (this.#isNarrow(frame)) this.#note('short', frame, 0)
    else if (Math.abs(frame.widthTicks - this.#usualWidth) > slack) this.#note('width', frame, 0)
    else this.#noteRight(frame, offsetTicks)
  }

  #noteRight({ startTick, firstScanline, widthTicks }: FrameSync, offsetTicks: number): void {
    this.#right.push({
      kind: 'true',
      channel: this.#pulses.composite ? 'csync' : 'vsync',
      tick: startTick,
      scanline: firstScanline,
      offsetTicks,
      widthTicks,
    })
  }

  #extra(frame: FrameSync): void {
    this.#note('extra', frame, this.#lastTrue ? frame.startTick - this.#lastTrue.startTick : 0)
  }

  #note(kind: FaultKind, frame: FrameSync, offsetTicks: number): void {
    this.#faults.push({
      kind,
      channel: this.#pulses.composite ? 'csync' : 'vsync',
      tick: frame.startTick,
      scanline: frame.firstScanline,
      offsetTicks,
      widthTicks: frame.widthTicks,
      sinceTrueTicks: kind === 'extra' && this.#lastTrue ? offsetTicks : NaN,
      rejectWidthTicks: frame.longestPieceTicks,
      colourEdgeNear: false,
      colourShareNear: NaN,
      lineCountError: 0,
    })
  }

  #missing(from: FrameSync, scanlines: number): void {
    this.#faults.push({
      kind: 'missing',
      channel: this.#pulses.composite ? 'csync' : 'vsync',
      tick: from.startTick + scanlines * this.#pulses.periodTicks,
      // near the leading edge of hsync is with it
      scanline: Math.floor(from.firstScanline + from.phase + scanlines + this.#near),
      offsetTicks: 0,
      widthTicks: 0,
      sinceTrueTicks: NaN,
      rejectWidthTicks: 0,
      colourEdgeNear: false,
      colourShareNear: NaN,
      lineCountError: 0,
    })
  }
}
