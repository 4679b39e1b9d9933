// The pulses of a composite sync around one vsync, as places in scanlines: what is compared from frame to frame.

import type { FrameSync } from './frame-sync.ts'
import type { SyncFault } from './sync-fault.ts'

/** Scanlines before vsync, and after it, that belong to it: three of equalizing pulses (ITU-R BT.470), and some more. */
export const BEFORE_SCANLINES = 5
export const AFTER_SCANLINES = 6
/** Part of a scanline before a leading edge in which no pulse is: there an interval begins and ends. */
export const GAP_SCANLINES = 0.25

/** Times and places of scanlines that were followed, so that any time between them has a place. */
export class ScanlineScale {
  readonly #number: readonly number[]
  readonly #tick: readonly number[]
  readonly #period: number

  /**
   * @param number of scanlines, rising, at least one
   * @param tick where each one's leading edge is to be seen, on average
   */
  constructor(number: readonly number[], tick: readonly number[], periodTicks: number) {
    this.#number = number
    this.#tick = tick
    this.#period = periodTicks
  }

  placeOf(tick: number): number {
    return this.#across(this.#tick, this.#number, 1 / this.#period, tick)
  }

  tickOf(place: number): number {
    return this.#across(this.#number, this.#tick, this.#period, place)
  }

  /** Straight lines between neighbours, and the mean slope beyond both ends. */
  #across(from: readonly number[], to: readonly number[], slope: number, at: number): number {
    let low = 0
    let high = from.length - 1
    if (at <= from[0]!) return to[0]! + (at - from[0]!) * slope
    if (at >= from[high]!) return to[high]! + (at - from[high]!) * slope
    while (high - low > 1) {
      const middle = (low + high) >> 1
      if (from[middle]! <= at) low = middle
      else high = middle
    }
    const share = (at - from[low]!) / (from[high]! - from[low]!)
    return to[low]! + share * (to[high]! - to[low]!)
  }
}

/** One vsync with what is around it. */
export interface VerticalInterval {
  frame: FrameSync
  /** Where vsync begins, in scanlines of the segment; and the whole, to which all below belongs. */
  vsyncPlace: number
  from: number
  to: number
  /** Places of edges between `from` and `to`, rising; the first is a leading edge, and they alternate. */
  edges: readonly number[]
  /** Scanlines that were told with their pulse. */
  told: ReadonlySet<number>
  scale: ScanlineScale
  periodTicks: number
  /** What scanlines alone show wrong here. */
  faults: readonly SyncFault[]
}
