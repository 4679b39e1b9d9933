// What the scanline tracker tells, in time order.

import type { Polarity } from '../measurement.ts'
import type { SyncFault } from './sync-fault.ts'

/** Timing that a lock began with. */
export interface TrackedTiming {
  polarity: Polarity
  periodTicks: number
  widthTicks: number
}

/** Who is told. */
export interface ScanlineListener {
  /** A new rate, polarity or width: what follows is another segment. */
  timingStarted(timing: TrackedTiming, tick: number): void
  /** The same timing went on, but in another phase, after a gap. */
  phaseBroken(tick: number): void
  /** Sync went away, or stopped being regular, at this tick, which may lie a while back. */
  lockLost(tick: number): void
  /** The lock that was lost goes on as if it had not been. */
  lockResumed(): void
  /**
   * One scanline with its sync pulse. `regular` is false where the pulse is early or late: its tick must not
   * enter the fit. `widthTicks` is NaN where the width tells nothing (a broad pulse of a composite sync).
   * `longestPieceTicks` is what a minimum pulse width meets: less than the width where ringing cut the pulse.
   * `offsetTicks` is how far the leading edge is from where edges of the other scanlines have it.
   */
  scanline(
    number: number,
    tick: number,
    widthTicks: number,
    regular: boolean,
    longestPieceTicks: number,
    offsetTicks: number,
  ): void
  fault(fault: SyncFault): void
  /**
   * Before the capture's first pulse, or after its last, there was time for more, and whether they are missing cannot be
   * known: as in a vsync, which some sources send no hsync in.
   */
  endNotJudged(end: 'first' | 'last', scanlines: number): void
  /** Whether scanlines may lack their pulses around this tick, because vsync is about. */
  isVsyncAbout(tick: number, periodTicks: number): boolean
  /** Composite sync only: a pulse so wide that it belongs to vsync. */
  broadPulse(lead: number, trail: number): void
}
