// The pulses that fall into one scanline → which of them are its sync. Ringing may have cut that into pieces.

import type { ScanlinePrediction } from './scanline-prediction.ts'

/** Pulses looked at in one scanline; further ones are left out. */
const MAX_PULSES = 256
/** Pieces that a pulse may be cut into. */
const MAX_PIECES = 12
/** How near to the half scanline an equalizing pulse is. */
const HALFWAY_SCANLINES = 0.05

/** Whether a leading edge lies half a scanline from where the sync is expected. */
export function isHalfway(lead: number, { expected, period }: ScanlinePrediction): boolean {
  return isHalfScanline(lead - expected, period)
}

/** Whether that is how far equalizing pulses are from those of scanlines. */
export function isHalfScanline(offsetTicks: number, periodTicks: number): boolean {
  return Math.abs(Math.abs(offsetTicks) / periodTicks - 0.5) < HALFWAY_SCANLINES
}

/** Pulses in columns, in ticks. */
export class ScanlinePulses {
  readonly lead: Float64Array = new Float64Array(MAX_PULSES)
  readonly trail: Float64Array = new Float64Array(MAX_PULSES)
  count = 0

  push(lead: number, trail: number): void {
    if (this.count === MAX_PULSES) return
    this.lead[this.count] = lead
    this.trail[this.count++] = trail
  }

  clear(): void {
    this.count = 0
  }

  width(index: number): number {
    return this.trail[index]! - this.lead[index]!
  }

  /** Whether there is no pulse that is not half a scanline away. */
  isHalfwayOnly(prediction: ScanlinePrediction): boolean {
    for (let i = 0; i < this.count; i++) if (!isHalfway(this.lead[i]!, prediction)) return false
    return true
  }

  hasHalfway(prediction: ScanlinePrediction): boolean {
    for (let i = 0; i < this.count; i++) if (isHalfway(this.lead[i]!, prediction)) return true
    return false
  }

  /**
   * Cheapest explanation: from which pulse to which the sync lasts. The width tells the pieces of a pulse from a pulse
   * with something beside it, so it is held against a few samples, not against what a width may be off by; of equal
   * explanations the one with fewer pieces is the simpler.
   */
  bestUnion({ sharpTicks, centreTick, line, width: { mean } }: ScanlinePrediction): [number, number] {
    let best: [number, number] = [0, 0]
    let lowest = Infinity
    for (let first = 0; first < this.count; first++) {
      const off = Math.abs(this.lead[first]! - centreTick) / line.tolerance
      const end = Math.min(this.count, first + MAX_PIECES)
      for (let last = first; last < end; last++) {
        const wrong = Math.abs(this.trail[last]! - this.lead[first]! - mean) / sharpTicks
        const cost = off * off + wrong * wrong + 0.01 * (last - first)
        if (cost < lowest) {
          lowest = cost
          best = [first, last]
        }
      }
    }
    return best
  }

  /** Index of the longest of the pieces from one to another. */
  longest(first: number, last: number): number {
    let longest = first
    for (let i = first + 1; i <= last; i++) if (this.width(i) > this.width(longest)) longest = i
    return longest
  }
}
