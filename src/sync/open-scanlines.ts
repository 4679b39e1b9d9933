// Scanlines and faults that are not told yet, because they may turn out to belong to another timing: a scanline that is
// as expected confirms them. Several in a row that disagree in one way are a new timing.

import type { SyncFault } from './sync-fault.ts'

/** One scanline with its sync pulse, in ticks. */
export interface OpenScanline {
  scanline: number
  tick: number
  widthTicks: number
  regular: boolean
  longestPieceTicks: number
  offsetTicks: number
}

/** Scanlines in a row that disagree before the timing counts as changed. */
export const BREAK_RUN = 6

/** Events in order of time. */
export class OpenScanlines {
  #events: (SyncFault | OpenScanline)[] = []

  push(event: SyncFault | OpenScanline): void {
    this.#events.push(event)
  }

  get isEmpty(): boolean {
    return this.#events.length === 0
  }

  dropFaults(): void {
    if (this.#events.length > 0) this.#events = this.#events.filter((event) => !('kind' in event))
  }

  /** Keeps those of earlier scanlines alone. */
  keepBefore(scanline: number): void {
    this.#events = this.#events.filter((event) => event.scanline < scanline)
  }

  /** Takes out what is waiting. */
  take(): (SyncFault | OpenScanline)[] {
    const events = this.#events
    this.#events = []
    return events
  }
}

/** How many scanlines in a row disagree in the same way. */
export class TimingDoubt {
  count = 0
  /** The first of them, and its leading edge. */
  number: number = NaN
  tick: number = NaN
  /** Doubts up to this tick do not count. */
  holdUntil: number = -Infinity
  /** Pulses in their place among them, each alone there. */
  #lonely = 0
  #kind: 'phase' | 'width' = 'phase'
  #width = NaN

  /** One pulse in its place may be the first of those that go on as before. */
  get isChange(): boolean {
    return this.count >= BREAK_RUN && this.#lonely !== 1
  }

  /** Whether pulses in their place take part in it. */
  get hasLonely(): boolean {
    return this.#lonely > 0
  }

  /** A pulse that is not in its place. */
  addPhase(number: number, lead: number): void {
    if (lead <= this.holdUntil) return
    if (this.#kind !== 'phase') this.count = 0
    this.#kind = 'phase'
    this.#begin(number, lead)
    this.count++
  }

  /**
   * A pulse in its place, but not that of the scanline before it: of a timing whose period is a simple ratio of this one,
   * now and then one falls there.
   */
  addLonely(number: number, lead: number): void {
    if (lead <= this.holdUntil) return
    this.addPhase(number, lead)
    this.#lonely++
  }

  /** @param tolerance how far two widths may be apart and still be the same, in ticks */
  addWidth(number: number, lead: number, width: number, tolerance: number): void {
    if (lead <= this.holdUntil) return
    if (this.#kind !== 'width' || !(Math.abs(width - this.#width) <= tolerance)) this.count = 0
    this.#kind = 'width'
    this.#width = width
    this.#begin(number, lead)
    this.count++
  }

  #begin(number: number, lead: number): void {
    if (this.count > 0) return
    this.#lonely = 0
    this.number = number
    this.tick = lead
  }
}
