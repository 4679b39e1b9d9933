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
  #kind: 'phase' | 'width' = 'phase'
  #width = NaN

  get isChange(): boolean {
    return this.count >= BREAK_RUN
  }

  /** @param widthTolerance how far two widths may be apart and still be the same, in ticks */
  add(kind: 'phase' | 'width', number: number, lead: number, width: number, widthTolerance: number): void {
    if (lead <= this.holdUntil) return
    const isSameWidth = Math.abs(width - this.#width) <= widthTolerance
    if (this.count === 0 || kind !== this.#kind || (kind === 'width' && !isSameWidth)) {
      this.count = 0
      this.tick = lead
      this.number = number
    }
    this.#kind = kind
    this.#width = width
    this.count++
  }
}
