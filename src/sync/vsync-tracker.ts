// vsync edges → frames, once scanlines are known. A pulse shorter than half a scanline cannot be vsync, a gap that short
// cannot end one; the level that lasts longer than any vsync is the idle level, whatever came first.

import type { Polarity } from '../measurement.ts'
import type { SyncFault } from './sync-fault.ts'

/** One vsync pulse. */
export interface VsyncPulse {
  leadTick: number
  trailTick: number
  polarity: Polarity
}

/** What the tracker tells, in time order. */
export interface VsyncListener {
  vsync(pulse: VsyncPulse): void
  fault(fault: Omit<SyncFault, 'scanline'>): void
}

/** Scanlines that no vsync lasts: the longest in the catalogue is 16. */
const LONGEST_PULSE_SCANLINES = 60
/** Shortest vsync, and shortest gap between two, in scanlines. */
const SHORTEST_SCANLINES = 0.5
/** Edges that may wait for the idle level to become clear. */
const MAX_WAITING = 4096

/** Follows one vsync channel, or the broad pulses of a composite sync. */
export class VsyncTracker {
  readonly #listener: VsyncListener
  readonly #channel: 'vsync' | 'csync'
  #idle: 0 | 1 | undefined
  #waitingTick: number[] = []
  #waitingLevel: number[] = []
  #lastEdge: number
  #lead = NaN
  #pulse: { lead: number; trail: number } | undefined

  /** @param startTick where the capture begins: the first level counts from there */
  constructor(channel: 'vsync' | 'csync', startTick: number, listener: VsyncListener) {
    this.#channel = channel
    this.#lastEdge = startTick
    this.#listener = listener
    // broad pulses arrive as rising and falling edges, whatever the wire's polarity is
    if (channel === 'csync') this.#idle = 0
  }

  /**
   * One edge; levels alternate, ticks never fall.
   * @param periodTicks scanline period at this time
   */
  push(tick: number, level: number, periodTicks: number): void {
    const lasted = (tick - this.#lastEdge) / periodTicks
    this.#lastEdge = tick
    if (this.#channel === 'vsync' && lasted > LONGEST_PULSE_SCANLINES) {
      const idle = level === 1 ? 0 : 1
      if (this.#idle !== undefined && this.#idle !== idle) this.#forget()
      this.#idle = idle
    }
    if (this.#idle === undefined) {
      if (this.#waitingTick.length < MAX_WAITING) {
        this.#waitingTick.push(tick)
        this.#waitingLevel.push(level)
      }
      return
    }
    this.#replay(periodTicks)
    this.#edge(tick, level, periodTicks)
  }

  /** Tells how far time has come, so that a finished pulse need not wait for the next edge. */
  progress(tick: number, periodTicks: number): void {
    const pulse = this.#pulse
    if (pulse && Number.isNaN(this.#lead) && tick - pulse.trail > SHORTEST_SCANLINES * periodTicks)
      this.#emit()
  }

  /** @param level the channel's level at the end */
  end(tick: number, level: number, periodTicks: number): void {
    if (this.#idle === undefined && (tick - this.#lastEdge) / periodTicks > LONGEST_PULSE_SCANLINES) {
      this.#idle = level === 1 ? 1 : 0
      this.#replay(periodTicks)
    }
    this.#emit()
  }

  #replay(periodTicks: number): void {
    const ticks = this.#waitingTick
    const levels = this.#waitingLevel
    this.#waitingTick = []
    this.#waitingLevel = []
    ticks.forEach((tick, i) => this.#edge(tick, levels[i]!, periodTicks))
  }

  /** The polarity has turned round: what was taken for pulses was the idle time between them. */
  #forget(): void {
    this.#lead = NaN
    this.#pulse = undefined
  }

  #edge(tick: number, level: number, periodTicks: number): void {
    const shortest = SHORTEST_SCANLINES * periodTicks
    if (level !== this.#idle) {
      this.#lead = tick
      const pulse = this.#pulse
      if (pulse && tick - pulse.trail > shortest) this.#emit()
      return
    }
    if (Number.isNaN(this.#lead)) return
    const lead = this.#lead
    this.#lead = NaN
    const pulse = this.#pulse
    if (pulse) {
      // a gap too short to be one: the pulse goes on, and a counter has counted once more
      pulse.trail = tick
      this.#extra(lead, tick - lead)
    } else if (tick - lead >= shortest) {
      this.#pulse = { lead, trail: tick }
    } else {
      this.#extra(lead, tick - lead)
    }
  }

  #extra(lead: number, width: number): void {
    // serrations split the vsync of a composite sync on purpose
    if (this.#channel === 'csync') return
    this.#listener.fault({
      kind: 'extra',
      channel: 'vsync',
      tick: lead,
      offsetTicks: 0,
      widthTicks: width,
      sinceTrueTicks: NaN,
      rejectWidthTicks: width,
      colourEdgeNear: false,
      lineCountError: 0,
    })
  }

  #emit(): void {
    const pulse = this.#pulse
    this.#pulse = undefined
    if (!pulse) return
    this.#listener.vsync({
      leadTick: pulse.lead,
      trailTick: pulse.trail,
      polarity: this.#idle === 0 ? 'positive' : 'negative',
    })
  }
}
