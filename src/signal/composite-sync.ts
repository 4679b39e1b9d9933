// hsync and vsync on one wire, in the three ways cards and computers make it.

import type { CardScanline } from './card-scanlines.ts'
import type { CompositeKind } from './choices.ts'
import { totalOf, type SignalTiming } from './signal-timing.ts'

/** Equalizing pulses before and after the broad ones: three scanlines of them (SMPTE 170M, 525-line systems). */
const EQUALIZING_HALVES = 6

/** Makes the changes of the one wire, scanline by scanline. */
export class CompositeSync {
  readonly #kind: CompositeKind
  readonly #timing: SignalTiming
  #vsync = false
  #level = false

  constructor(kind: CompositeKind, timing: SignalTiming) {
    this.#kind = kind
    this.#timing = timing
  }

  /**
   * @param pulses hsync of this scanline as [leading, trailing] dots, none where it is missing
   * @param vsyncDots where vsync changes in it
   * @returns changes of the wire in dots, rising
   */
  changes(
    scanline: CardScanline,
    pulses: readonly (readonly [number, number])[],
    vsyncDots: readonly number[],
  ): number[] {
    if (this.#kind === 'serrated') return this.#serrated(scanline, pulses.length > 0, vsyncDots)
    const h = pulses.flat()
    const v = [...vsyncDots]
    const dots: number[] = []
    let hsync = false
    while (h.length + v.length > 0) {
      const dot = Math.min(h[0] ?? Infinity, v[0] ?? Infinity)
      for (; h[0] === dot; h.shift()) hsync = !hsync
      for (; v[0] === dot; v.shift()) this.#vsync = !this.#vsync
      const level = this.#kind === 'xor' ? hsync !== this.#vsync : hsync || this.#vsync
      if (level !== this.#level) dots.push(dot)
      this.#level = level
    }
    return dots
  }

  #serrated({ scanline, startDot }: CardScanline, hasHsync: boolean, vsyncDots: readonly number[]): number[] {
    const { horizontal, interlaced } = this.#timing
    const half = totalOf(horizontal) / 2
    const v = [...vsyncDots]
    const dots: number[] = []
    for (let j = 0; j < 2; j++) {
      const begin = startDot + j * half
      for (; v.length > 0 && v[0]! <= begin; v.shift()) this.#vsync = !this.#vsync
      const width = this.#pulseDots(2 * scanline + j, j === 1, hasHsync)
      if (width > 0) dots.push(begin, begin + width)
      // a whole scanline's broad pulse leaves no room for one at its half
      if (!interlaced) break
    }
    for (; v.length > 0; v.shift()) this.#vsync = !this.#vsync
    return dots
  }

  /** Width of the pulse that begins with a half scanline, 0 for none. */
  #pulseDots(halfOfFrame: number, isSecondHalf: boolean, hasHsync: boolean): number {
    const { horizontal, vertical, interlaced } = this.#timing
    const { sync } = horizontal
    if (this.#vsync) return totalOf(horizontal) / (interlaced ? 2 : 1) - sync
    if (interlaced) {
      const halves = 2 * totalOf(vertical)
      const inField = halfOfFrame % halves
      const afterVsync = inField - 2 * vertical.sync
      if (afterVsync < EQUALIZING_HALVES || inField >= halves - EQUALIZING_HALVES) return sync / 2
    }
    return isSecondHalf || !hasHsync ? 0 : sync
  }
}
