// A sync channel → the sample interval that its own intervals betray, where no grid of all edges was found.

import { LEVEL_UNKNOWN } from '../capture/transition-batch.ts'
import { IntervalCounts, intervalSteps } from './interval-steps.ts'
import type { TransitionStore } from './transition-store.ts'

/** Share of the scanline that an interval may differ from the usual one, and still be that one, shaken by samples. */
const SHAKEN_SHARE = 0.005
/** Share of intervals that differ by a sample, from which on it is no fault that makes them. */
const LEAST_SHARE = 0.02
/** Edges looked at. */
const MAX_EDGES = 20_000

/**
 * @param channel of the scanlines' sync
 * @param periodTicks the scanline
 * @param pulseTicks width of the pulse
 * @returns ticks per sample, roughly; null where the intervals do not tell
 */
export function syncSteps(
  store: TransitionStore,
  channel: number,
  periodTicks: number,
  pulseTicks: number,
): number | null {
  const reach = SHAKEN_SHARE * periodTicks
  // rise to rise, fall to fall, and from one to the other
  const intervals = [periodTicks, periodTicks, pulseTicks, pulseTicks].map((usual) => ({
    usual,
    counts: new IntervalCounts(),
  }))
  const since: [number, number] = [NaN, NaN]
  let before = -1
  let edges = 0
  for (let row = 0; row < store.count && edges < MAX_EDGES; row++) {
    const level = store.level[row]!
    if (store.channel[row] !== channel || level === before || level >= LEVEL_UNKNOWN) continue
    before = level
    edges++
    const tick = store.tick[row]!
    const same = tick - since[level as 0 | 1]
    const other = tick - since[(1 - level) as 0 | 1]
    since[level as 0 | 1] = tick
    if (Math.abs(same - periodTicks) <= reach) intervals[level]!.counts.add(same)
    if (Math.abs(other - pulseTicks) <= reach) intervals[2 + level]!.counts.add(other)
  }
  const steps = intervals.flatMap(
    ({ usual, counts }) => intervalSteps(counts, LEAST_SHARE, usual === periodTicks)?.stepTicks ?? [],
  )
  return steps.length === 0 ? null : Math.min(...steps)
}
