// Composite sync: what scanlines alone show wrong waits here until it is known whether a vsync is near. There, where
// pulses come twice a scanline and have other widths, the interval as a whole is judged in their place.

import type { FrameSync } from './frame-sync.ts'
import type { TrackedTiming } from './scanline-listener.ts'
import { isHalfScanline } from './scanline-pulses.ts'
import type { SyncFault } from './sync-fault.ts'
import type { EdgesBeside } from './vertical-faults.ts'
import { AFTER_SCANLINES, BEFORE_SCANLINES, type VerticalInterval } from './vertical-interval.ts'
import { VerticalJudge, type JudgedInterval } from './vertical-judge.ts'
import { LOOK_BACK_SCANLINES, VerticalRecorder } from './vertical-recorder.ts'

/** What becomes of faults. */
export interface VerticalListener {
  /** It is one. */
  settled(fault: SyncFault): void
  /** It is none, or was judged better. */
  dropped(fault: SyncFault): void
  edgesBeside(edges: EdgesBeside): void
  /** Pulses at half a scanline that may be equalizing ones, where no interval that could be held against others holds them. */
  halvesNotJudged(pulses: number): void
  /** Whether an interval could be judged, and by how many scanlines its vsync begins later than it seems to. */
  intervalJudged(frame: FrameSync, isJudged: boolean, shift: number): void
}

/** Scanlines at either end of what is followed that may hold equalizing pulses of a vsync beyond it. */
const AT_ENDS = 4
/** Pulses that wait for an interval around them, at most: many more than all intervals have that are not judged yet. */
const MAX_UNSURE = 4096

export class VerticalWatch {
  readonly #listener: VerticalListener
  readonly #resolution: number
  readonly #recorder = new VerticalRecorder()
  #judge = new VerticalJudge()
  #held: SyncFault[] = []
  /** Pulses that may be equalizing ones, until an interval says more about them. */
  #unsure: SyncFault[] = []
  #period = NaN
  #pulseLevel = NaN
  #jitter = NaN
  #first = NaN
  #lastBroad = -Infinity
  #last = NaN

  /** @param resolutionTicks sample interval */
  constructor(resolutionTicks: number, listener: VerticalListener) {
    this.#resolution = resolutionTicks
    this.#listener = listener
  }

  edge(tick: number, level: number): void {
    this.#recorder.edge(tick, level)
  }

  /** Another timing is followed; edges may have come before. */
  begin({ polarity, periodTicks }: TrackedTiming): void {
    this.#judge = new VerticalJudge()
    this.#pulseLevel = polarity === 'positive' ? 1 : 0
    this.#period = periodTicks
  }

  /** Whether a false pulse lies where equalizing pulses do. */
  isHalfway({ kind, offsetTicks }: SyncFault): boolean {
    return kind === 'extra' && isHalfScanline(offsetTicks, this.#period)
  }

  /** What was found wrong, in order of scanlines. */
  hold(fault: SyncFault): void {
    const isEarly = !(fault.scanline > this.#first + AT_ENDS)
    const isAfterBroad = fault.tick < this.#lastBroad + AFTER_SCANLINES * this.#period
    if ((isEarly || isAfterBroad) && this.isHalfway(fault)) this.#leave(fault)
    else this.#held.push(fault)
  }

  /**
   * A scanline was told.
   * @param centreTick where its leading edge is to be seen, on average
   * @param jitterTicks standard deviation of real jitter of its edges
   */
  scanline(number: number, centreTick: number, periodTicks: number, jitterTicks: number): void {
    if (Number.isNaN(this.#first)) this.#first = number
    this.#last = number
    this.#period = periodTicks
    this.#jitter = jitterTicks
    this.#recorder.scanline(number, centreTick)
    if (this.#recorder.isWaiting) this.#takeIntervals(false)
    while (this.#held.length > 0 && this.#held[0]!.scanline < number - LOOK_BACK_SCANLINES)
      this.#listener.settled(this.#held.shift()!)
  }

  /** Pulses around a broad one may be equalizing ones, whether or not a vsync comes of it. */
  broadPulse(leadTick: number): void {
    this.#lastBroad = leadTick
    const since = leadTick - BEFORE_SCANLINES * this.#period
    this.#held = this.#held.filter((fault) => {
      if (fault.tick < since || !this.isHalfway(fault)) return true
      this.#leave(fault)
      return false
    })
  }

  vsync(frame: FrameSync, leadTick: number, trailTick: number): void {
    this.#recorder.vsync(frame, leadTick, trailTick)
  }

  /** What follows is another timing or phase, or nothing: judges what there is. */
  flush(): void {
    this.#takeIntervals(true)
    this.#tell(this.#judge.judge(this.#accuracy))
    for (const fault of this.#held) {
      const mayBeRight = fault.scanline > this.#last - AT_ENDS && this.isHalfway(fault)
      if (mayBeRight) this.#leave(fault)
      else this.#listener.settled(fault)
    }
    this.#held = []
    this.#tellUnsure(this.#unsure.length)
    this.#recorder.clear()
    this.#first = NaN
  }

  /** It may be an equalizing pulse. */
  #leave(fault: SyncFault): void {
    this.#listener.dropped(fault)
    this.#unsure.push(fault)
    if (this.#unsure.length === MAX_UNSURE) this.#tellUnsure(MAX_UNSURE / 2)
  }

  /** No interval came around the first of them. */
  #tellUnsure(pulses: number): void {
    this.#unsure.splice(0, pulses)
    if (pulses > 0) this.#listener.halvesNotJudged(pulses)
  }

  get #accuracy(): { sample: number; jitter: number } {
    return { sample: this.#resolution / this.#period, jitter: this.#jitter / this.#period }
  }

  #takeIntervals(isEnd: boolean): void {
    const train = { periodTicks: this.#period, pulseLevel: this.#pulseLevel }
    for (const recorded of this.#recorder.take(train, isEnd)) {
      const [faults, others] = divided(this.#held, recorded)
      this.#held = others
      this.#tell(this.#judge.add({ ...recorded, faults }, this.#accuracy))
    }
  }

  #tell(judged: readonly JudgedInterval[]): void {
    for (const { interval, judgement, shift } of judged) {
      this.#listener.intervalJudged(interval.frame, judgement !== undefined, shift)
      this.#unsure = divided(this.#unsure, interval)[1]
      const [within, beside] = judgement ? divided(interval.faults, interval) : [[], interval.faults]
      for (const fault of within) this.#listener.dropped(fault)
      for (const fault of beside) {
        if (this.isHalfway(fault)) this.#listener.dropped(fault)
        else this.#listener.settled(fault)
      }
      for (const edges of judgement?.edgesBeside ?? []) this.#listener.edgesBeside(edges)
      for (const fault of judgement?.faults ?? []) this.#listener.settled(fault)
    }
  }
}

/** Those that fall into an interval, and the others. */
function divided(
  faults: readonly SyncFault[],
  { scale, from, to }: Pick<VerticalInterval, 'scale' | 'from' | 'to'>,
): [SyncFault[], SyncFault[]] {
  const begin = scale.tickOf(from)
  const end = scale.tickOf(to)
  const isIn = ({ tick }: SyncFault): boolean => tick >= begin && tick < end
  return [faults.filter(isIn), faults.filter((fault) => !isIn(fault))]
}
