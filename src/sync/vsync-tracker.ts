// vsync edges → frames, once scanlines are known. A pulse shorter than half a scanline cannot be vsync, a gap that short
// cannot end one; the level that lasts longer than any vsync is the idle level, whatever came first.

import type { Polarity } from '../measurement.ts'
import type { SyncFault } from './sync-fault.ts'

/** One vsync pulse. */
export interface VsyncPulse {
  leadTick: number
  trailTick: number
  polarity: Polarity
  /** What a minimum pulse width meets: less than the whole where it was cut. */
  longestPieceTicks: number
}

/** What may become a pulse: pieces with short gaps between them. */
interface Pieces {
  lead: number
  trail: number
  /** Time within the pieces, gaps left out. */
  lastedTicks: number
  leads: number[]
  widths: number[]
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
/** Shortest piece of a composite sync's vsync: half a scanline less the serration. */
const SHORTEST_PIECE_SCANLINES = 0.25
/** Longest gap in a composite sync's: where the broad pulse of a whole scanline is missing. */
const LONGEST_COMPOSITE_GAP_SCANLINES = 1.3
/** How much longer than the other a level must last to be the idle one. */
const IDLE_RATIO = 2
/** Longest gap after a piece too short to be vsync that ringing can make, in scanlines. */
const RINGING_SCANLINES = 0.03
/** Pieces of one pulse that are told one by one. */
const MAX_PIECES = 256
/** Edges that may wait for the idle level to become clear. */
const MAX_WAITING = 4096

/** Follows one vsync channel, or the broad pulses of a composite sync. */
export class VsyncTracker {
  readonly #listener: VsyncListener
  readonly #channel: 'vsync' | 'csync'
  readonly #shortestPulse: number
  #idle: 0 | 1 | undefined
  #waitingTick: number[] = []
  #waitingLevel: number[] = []
  readonly #startTick: number
  #lastEdge: number
  #lead = NaN
  #pulse: Pieces | undefined
  #lastTrueLead = NaN
  /** Width of the last vsync. */
  #lastTicks = NaN
  #period = NaN

  /** @param startTick where the capture begins: the first level counts from there */
  constructor(channel: 'vsync' | 'csync', startTick: number, listener: VsyncListener) {
    this.#channel = channel
    this.#shortestPulse = channel === 'csync' ? SHORTEST_PIECE_SCANLINES : SHORTEST_SCANLINES
    this.#startTick = startTick
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
    this.#period = periodTicks
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
    this.#replay()
    this.#edge(tick, level)
  }

  /** Tells how far time has come, so that a finished pulse need not wait for the next edge. */
  progress(tick: number, periodTicks: number): void {
    this.#period = periodTicks
    const pulse = this.#pulse
    if (pulse && Number.isNaN(this.#lead) && tick - pulse.trail > this.#longestGap(pulse)) this.#emit()
  }

  /** @param level the channel's level at the end */
  end(tick: number, level: number, periodTicks: number): void {
    this.#period = periodTicks
    if (this.#idle === undefined) {
      const lasted = (tick - this.#lastEdge) / periodTicks
      this.#idle = lasted > LONGEST_PULSE_SCANLINES ? (level === 1 ? 1 : 0) : this.#commonLevel(tick)
      if (this.#idle !== undefined) this.#replay()
    }
    this.#endCutPulse(tick)
    this.#emit()
  }

  /** A pulse that the capture cuts off still ends a frame; it is taken to last as long as the one before. */
  #endCutPulse(endTick: number): void {
    const lead = this.#lead
    if (this.#idle === undefined || Number.isNaN(lead) || Number.isNaN(this.#lastTicks)) return
    if (endTick - lead < this.#shortestPulse * this.#period) return
    this.#edge(Math.max(endTick, lead + this.#lastTicks), this.#idle)
  }

  /** In a capture too short for the idle level to show its length, the one that plainly takes more of the time. */
  #commonLevel(endTick: number): 0 | 1 | undefined {
    const ticks = this.#waitingTick
    if (ticks.length === 0) return undefined
    let high = 0
    let low = 0
    const add = (level: number, ticksLong: number): void => {
      if (level === 1) high += ticksLong
      else low += ticksLong
    }
    add(1 - this.#waitingLevel[0]!, ticks[0]! - this.#startTick)
    ticks.forEach((tick, i) => add(this.#waitingLevel[i]!, (ticks[i + 1] ?? endTick) - tick))
    if (Math.max(high, low) < IDLE_RATIO * Math.min(high, low)) return undefined
    return high > low ? 1 : 0
  }

  #replay(): void {
    const ticks = this.#waitingTick
    const levels = this.#waitingLevel
    this.#waitingTick = []
    this.#waitingLevel = []
    ticks.forEach((tick, i) => this.#edge(tick, levels[i]!))
  }

  /** The polarity has turned round: what was taken for pulses was the idle time between them. */
  #forget(): void {
    this.#lead = NaN
    this.#pulse = undefined
    this.#lastTrueLead = NaN
    this.#lastTicks = NaN
  }

  #edge(tick: number, level: number): void {
    const pulse = this.#pulse
    if (level !== this.#idle) {
      this.#lead = tick
      if (pulse && tick - pulse.trail > this.#longestGap(pulse)) this.#emit()
      return
    }
    if (Number.isNaN(this.#lead)) return
    const lead = this.#lead
    this.#lead = NaN
    if (pulse) {
      // a gap too short to be one: the pulse goes on, and a counter has counted once more
      pulse.trail = tick
      pulse.lastedTicks += tick - lead
      if (pulse.leads.length < MAX_PIECES) {
        pulse.leads.push(lead)
        pulse.widths.push(tick - lead)
      }
    } else {
      this.#pulse = { lead, trail: tick, lastedTicks: tick - lead, leads: [lead], widths: [tick - lead] }
    }
  }

  #isLong({ lastedTicks }: Pieces): boolean {
    return lastedTicks >= this.#shortestPulse * this.#period
  }

  #longestGap(pulse: Pieces): number {
    const ofLong = this.#channel === 'csync' ? LONGEST_COMPOSITE_GAP_SCANLINES : SHORTEST_SCANLINES
    return (this.#isLong(pulse) ? ofLong : RINGING_SCANLINES) * this.#period
  }

  #emit(): void {
    const pulse = this.#pulse
    this.#pulse = undefined
    if (!pulse) return
    const { lead, trail, leads, widths } = pulse
    const isVsync = this.#isLong(pulse)
    const longest = widths.reduce((best, width, i) => (width > widths[best]! ? i : best), 0)
    leads.forEach((at, i) => {
      if (isVsync && i === 0) return
      // where the longest piece is not the first, a filter rejects the first and keeps this one
      const rejected = isVsync && i === longest ? widths[0]! : widths[i]!
      this.#extra(at, widths[i]!, at - (isVsync ? lead : this.#lastTrueLead), rejected)
    })
    if (!isVsync) return
    this.#lastTrueLead = lead
    this.#lastTicks = trail - lead
    this.#listener.vsync({
      leadTick: lead,
      trailTick: trail,
      polarity: this.#idle === 0 ? 'positive' : 'negative',
      longestPieceTicks: widths[longest]!,
    })
  }

  #extra(lead: number, width: number, sinceTrueTicks: number, rejectWidthTicks: number): void {
    // serrations split the vsync of a composite sync on purpose
    if (this.#channel === 'csync') return
    this.#listener.fault({
      kind: 'extra',
      channel: 'vsync',
      tick: lead,
      offsetTicks: Number.isNaN(sinceTrueTicks) ? 0 : sinceTrueTicks,
      widthTicks: width,
      sinceTrueTicks,
      rejectWidthTicks,
      colourEdgeNear: false,
      colourShareNear: NaN,
      lineCountError: 0,
    })
  }
}
