// A lock is taken, or was lost → what of the edges around it belongs to it as well.

import type { SyncLock } from './acquire.ts'
import type { EdgeQueue } from './edge-queue.ts'
import { BREAK_RUN } from './open-scanlines.ts'
import { PERIOD_GAIN, PHASE_GAIN, type ScanlinePrediction } from './scanline-prediction.ts'

/** How far off the capture's first pulses may be and still be those of their scanlines. */
const FIRST_OFF_SCANLINES = 0.25
/** Share of the scanlines after a doubt that must be as before it for nothing to have changed. */
export const AS_BEFORE_SHARE = 0.5
/** And where some of those that gave rise to the doubt were in their place: of a period twice as long, each second one is. */
export const MOST_AS_BEFORE_SHARE = 0.75

/**
 * Was the lock given up for a few scanlines that went astray, while the rest went on as before?
 * @param end looks at the edges that are kept, up to this one
 * @param prediction of the lock that was given up
 * @param share of the scanlines that must be as before
 * @returns the first leading edge that is as before; undefined where most are not
 */
export function firstAsBefore(
  { tick, level, keepFrom }: EdgeQueue,
  end: number,
  pulseLevel: number,
  prediction: ScanlinePrediction,
  share: number,
): number | undefined {
  let { expected, period } = prediction
  let first: number | undefined
  let hits = 0
  let scanlines = 0
  for (let i = keepFrom; i + 1 < end; i++) {
    if (level[i] !== pulseLevel) continue
    const lead = tick[i]!
    const ahead = Math.round((lead - expected) / period)
    expected += ahead * period
    scanlines += ahead
    const off = lead - expected
    if (Math.abs(off) > 2 * prediction.line.tolerance) continue
    if (prediction.width.isWrong(tick[i + 1]! - lead, false)) continue
    hits++
    first ??= lead
    expected += off * PHASE_GAIN
    period += off * PERIOD_GAIN
  }
  return hits >= scanlines * share ? first : undefined
}

/**
 * The capture may begin with pulses that are too far off to lead to a lock: scanlines that these make, up to a few.
 * @param start index of the edge that the lock begins with
 */
export function scanlinesBefore(
  { tick, level, keepFrom }: EdgeQueue,
  start: number,
  pulseLevel: number,
  lock: SyncLock,
): number {
  let scanlines = 0
  for (let edge = start - 1; edge >= keepFrom && scanlines < BREAK_RUN; edge--) {
    if (level[edge] !== pulseLevel) continue
    const width = tick[edge + 1]! - tick[edge]!
    const before = (lock.startTick - tick[edge]!) / lock.periodTicks
    if (Math.abs(width - lock.widthTicks) > lock.widthTicks / 4) continue
    if (Math.abs(before - scanlines - 1) < FIRST_OFF_SCANLINES) scanlines++
  }
  return scanlines
}

/** Of the edges that the capture begins with, the first that is less than a scanline before the first pulse. */
export function edgesBefore(
  { tick }: EdgeQueue,
  from: number,
  { expected, period, line }: ScanlinePrediction,
): number {
  // the pulse of a scanline before it may be late by as much as any is
  const since = expected - period + line.tolerance
  let first = from
  while (tick[first]! <= since) first++
  return first
}
