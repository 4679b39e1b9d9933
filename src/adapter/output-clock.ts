// A wanted dot clock for the output -> how near a described clock comes to it.

import type { AdapterDescription } from './adapter-description.ts'
import { clockChoices, type PllSetting } from './pll.ts'

/** The nearest dot clock that an adapter can make. */
export interface OutputClock {
  /** Hertz. */
  wantedHz: number
  madeHz: number
  clockHz: number
  /** Whole. */
  clocksPerDot: number
  errorPpm: number
  withinTolerance: boolean
  pll: PllSetting | null
}

/** Makes output clocks from one description; its frequencies are worked out once. */
export class OutputClocks {
  readonly #adapter: AdapterDescription
  readonly #known: ReturnType<typeof clockChoices> | undefined

  constructor(adapter: AdapterDescription) {
    this.#adapter = adapter
    if (adapter.clockHz !== undefined || adapter.pll !== undefined) this.#known = clockChoices(adapter, 0)
  }

  /**
   * @param tolerance of the wanted clock, relative
   * @returns undefined where the description names no clock, or none that reaches the wanted rate
   */
  nearest(wantedHz: number, tolerance: number): OutputClock | undefined {
    if (this.#known === undefined) return undefined
    const most = this.#adapter.maxClocksPerDot ?? Infinity
    let best: OutputClock | undefined
    for (const { clockHz, pll } of this.#known) {
      const clocksPerDot = Math.min(Math.max(1, Math.round(clockHz / wantedHz)), most)
      const madeHz = clockHz / clocksPerDot
      const errorPpm = (madeHz / wantedHz - 1) * 1e6
      if (best !== undefined && Math.abs(errorPpm) >= Math.abs(best.errorPpm)) continue
      const withinTolerance = Math.abs(errorPpm) <= tolerance * 1e6
      best = { wantedHz, madeHz, clockHz, clocksPerDot, errorPpm, withinTolerance, pll }
    }
    return best
  }
}
