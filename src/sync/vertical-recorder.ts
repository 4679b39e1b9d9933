// Edges of a composite sync, and the scanlines they were given to → one vertical interval after the other. Bounded memory:
// only what lies around the latest vsync is kept.

import type { FrameSync } from './frame-sync.ts'
import {
  AFTER_SCANLINES,
  BEFORE_SCANLINES,
  GAP_SCANLINES,
  ScanlineScale,
  type VerticalInterval,
} from './vertical-interval.ts'

/** Scanlines that an interval may begin before its vsync, and end after it: the longest vsync, and what belongs to it. */
const REACH_SCANLINES = 90
/** Scanlines after which nothing of them is asked for: a lock takes 128 at once, and vsync is told after them. */
export const LOOK_BACK_SCANLINES = 256
/** Edges kept at most; more in so few scanlines are noise, and nothing is judged. */
const MAX_EDGES = 8192

/** How long before a pulse that is cut off an interval ends: more than samples are off. */
const CUT_SCANLINES = 0.02

/** An interval before it is known what was wrong in it. */
export type RecordedInterval = Omit<VerticalInterval, 'faults'>

/** What is followed. */
export interface PulseTrain {
  periodTicks: number
  /** Of the wire while a pulse lasts. */
  pulseLevel: number
}

/** A vsync whose interval is not over. */
interface Begun {
  frame: FrameSync
  leadTick: number
  trailTick: number
}

export class VerticalRecorder {
  #edgeTick: number[] = []
  #edgeLevel: number[] = []
  /** Edges before this were let go of. */
  #edgesFrom = -Infinity
  #number: number[] = []
  #centre: number[] = []
  #begun: Begun[] = []

  edge(tick: number, level: number): void {
    this.#edgeTick.push(tick)
    this.#edgeLevel.push(level)
    if (this.#edgeTick.length < 2 * MAX_EDGES) return
    this.#edgeTick.splice(0, MAX_EDGES)
    this.#edgeLevel.splice(0, MAX_EDGES)
    this.#edgesFrom = this.#edgeTick[0]!
  }

  /**
   * A scanline was told.
   * @param centreTick where its leading edge is to be seen, on average
   */
  scanline(number: number, centreTick: number): void {
    this.#number.push(number)
    this.#centre.push(centreTick)
    if (this.#number.length < 2 * LOOK_BACK_SCANLINES) return
    this.#number.splice(0, LOOK_BACK_SCANLINES)
    this.#centre.splice(0, LOOK_BACK_SCANLINES)
  }

  vsync(frame: FrameSync, leadTick: number, trailTick: number): void {
    this.#begun.push({ frame, leadTick, trailTick })
  }

  /** Scanlines begin again, or count anew; edges that came before may be theirs. */
  clear(): void {
    this.#number = []
    this.#centre = []
    this.#begun = []
  }

  get isWaiting(): boolean {
    return this.#begun.length > 0
  }

  /** @param isEnd takes intervals that are not over as well, as far as they go */
  take(train: PulseTrain, isEnd: boolean): RecordedInterval[] {
    const taken: RecordedInterval[] = []
    while (this.#begun.length > 0) {
      const interval = this.#interval(this.#begun[0]!, train, isEnd)
      if (interval === 'not over') break
      this.#begun.shift()
      if (interval) taken.push(interval)
    }
    return taken
  }

  #interval(
    begun: Begun,
    { periodTicks, pulseLevel }: PulseTrain,
    isEnd: boolean,
  ): RecordedInterval | undefined | 'not over' {
    const { frame, leadTick, trailTick } = begun
    const last = this.#number.at(-1)
    if (last === undefined) return isEnd ? undefined : 'not over'
    if (!isEnd && this.#centre.at(-1)! < trailTick + AFTER_SCANLINES * periodTicks) return 'not over'
    const since = leadTick - REACH_SCANLINES * periodTicks
    const first = Math.max(
      0,
      this.#centre.findIndex((tick) => tick >= since),
    )
    const number = this.#number.slice(first)
    const scale = new ScanlineScale(number, this.#centre.slice(first), periodTicks)
    const vsyncPlace = scale.placeOf(leadTick)
    const end = Math.ceil(scale.placeOf(trailTick)) + AFTER_SCANLINES
    if (last <= end && !isEnd) return 'not over'
    const from = Math.max(Math.floor(vsyncPlace) - BEFORE_SCANLINES, number[0]!) - GAP_SCANLINES
    const to = Math.min(end, last) - GAP_SCANLINES
    const edges = this.#edges(scale, pulseLevel, from, to)
    if (!edges) return undefined
    const told = new Set(number)
    // of a pulse that has no end here, nothing is known
    const cut = edges.length % 2 === 1 ? edges.pop()! - CUT_SCANLINES : to
    return { frame, vsyncPlace, from, to: cut, edges, told, scale, periodTicks }
  }

  /** @returns undefined where they are not all there any more */
  #edges(scale: ScanlineScale, pulseLevel: number, from: number, to: number): number[] | undefined {
    const begin = scale.tickOf(from)
    const end = scale.tickOf(to)
    if (begin < this.#edgesFrom) return undefined
    let first = this.#edgeTick.length
    while (first > 0 && this.#edgeTick[first - 1]! >= begin) first--
    // a pulse that begins before is none of these, nor is one that ends after
    if (this.#edgeLevel[first] !== pulseLevel) first++
    const edges: number[] = []
    for (let i = first; i < this.#edgeTick.length && this.#edgeTick[i]! < end; i++)
      edges.push(scale.placeOf(this.#edgeTick[i]!))
    return edges
  }
}
