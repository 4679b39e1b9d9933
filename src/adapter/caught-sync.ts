// Sync pulses as captured -> the edges an adapter catches: on its own sampling grid, every edge or only those that pass
// its filter.
//
//   pulse       ____|¯¯¯¯¯¯¯¯¯¯|________|¯|______________
//   clocks      |   |   |   |   |   |   |   |   |   |   |
//   edges               ^                   ^
//   filtered            ^     (a pulse too short, or one within the hold-off, is none)

import type { SyncEdges } from '../dots/sync-recorder.ts'
import type { Polarity } from '../measurement.ts'

/** One pulse, in ticks. */
export interface SyncPulse {
  leadTick: number
  /** Infinity where the capture ends before it. */
  trailTick: number
}

/** How edges are caught. */
export interface CatchRule {
  count: 'edges' | 'filtered'
  /** `filtered`: shortest pulse that passes. */
  filterTicks: number
  /** `filtered`: edges are ignored for so long after an accepted one. */
  holdOffTicks: number
  /** The adapter's clock; its first tick is at time 0. */
  clockTicks: number
}

/** Pulses of one channel, in time order. */
export function pulsesOf(sync: SyncEdges, bit: number, polarity: Polarity): SyncPulse[] {
  const active = polarity === 'positive' ? bit : 0
  const pulses: SyncPulse[] = []
  let before = sync.initialLevels & bit
  for (const [row, tick] of sync.tick.entries()) {
    const level = sync.levels[row]! & bit
    if (level === before) continue
    before = level
    if (level === active) pulses.push({ leadTick: tick, trailTick: Infinity })
    // a pulse that was on when the recording began has no leading edge in it
    else if (pulses.length > 0) pulses.at(-1)!.trailTick = tick
  }
  return pulses
}

/** An edge that the adapter took for the begin of a scanline or of a frame. */
export interface CaughtEdge {
  /** Index of its pulse. */
  pulse: number
  /** The clock tick from which the adapter counts. A filter's own delay is constant and taken out. */
  tick: number
}

/** @param pulses in time order */
export function catchEdges(pulses: readonly SyncPulse[], rule: CatchRule): CaughtEdge[] {
  const { count, filterTicks, holdOffTicks, clockTicks } = rule
  const caught: CaughtEdge[] = []
  let readyTick = -Infinity
  for (const [pulse, { leadTick, trailTick }] of pulses.entries()) {
    const tick = Math.ceil(leadTick / clockTicks) * clockTicks
    // shorter than a clock, and between two of them
    if (tick >= trailTick) continue
    if (count === 'filtered') {
      if (leadTick < readyTick || trailTick - leadTick < filterTicks) continue
      readyTick = leadTick + holdOffTicks
    }
    caught.push({ pulse, tick })
  }
  return caught
}
