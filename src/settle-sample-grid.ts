// Which grid a capture's edges lie on: what the file's layout proves, what the edges show, and what could be the card's
// dots instead. Beside measure.ts, because it takes the header, the edges and the catalogue together.

import type { CaptureHeader } from './capture/capture-header.ts'
import { STANDARDS } from './classify/standards.ts'
import type { ChannelActivity } from './transitions/channel-activity.ts'
import { findSampleGrid, isUsualRate, TICK_GRID, type SampleGrid } from './transitions/sample-grid.ts'
import type { TransitionStore } from './transitions/transition-store.ts'

/** Agreement of what edges show with the mean step of a time column whose few first rows were looked at. */
const SAME_STEP = 1e-3

/** Share of transitions that undo one at the same time, from which on the file's times are too coarse. */
const UNDONE_SHARE = 1e-3
/** Fewest such transitions: simulations write a few glitches without width. */
const LEAST_UNDONE = 8

/**
 * Whether the file rounds times more coarsely than the instrument sampled: then a channel changes and changes back at one
 * and the same time.
 */
export function isRoundedCoarsely(store: TransitionStore): boolean {
  const { tick, channel, level, count } = store
  const changedAt = new Map<number, number>()
  const levelOf = new Map<number, number>()
  let undone = 0
  for (let row = 0; row < count; row++) {
    const wire = channel[row]!
    if (levelOf.get(wire) === level[row]) continue
    if (changedAt.get(wire) === tick[row]) undone++
    levelOf.set(wire, level[row]!)
    changedAt.set(wire, tick[row]!)
  }
  return undone >= Math.max(LEAST_UNDONE, UNDONE_SHARE * count)
}

/** Whether a tick is a sample: as long as one at the rate that the file states. */
function isSampleCount({ secondsPerTick, statedRateHz }: CaptureHeader): boolean {
  return (
    secondsPerTick !== null && statedRateHz !== null && Math.abs(secondsPerTick * statedRateHz - 1) < 1e-9
  )
}

/** The grid, before it is known which channel carries scanlines. */
export function sampleGridOf(header: CaptureHeader, store: TransitionStore): SampleGrid {
  const stated = header.sampleIntervalTicks
  if (stated === null) {
    const seen = findSampleGrid(store.tick, store.count, header.secondsPerTick)
    // a file that counts samples rounds nothing to them: what looks rounded are the card's dots
    return seen.rounded && isSampleCount(header) ? TICK_GRID : seen
  }
  const layout = { intervalTicks: stated, uncertaintyTicks: 0, coarserThanTick: stated > 1, rounded: false }
  if (Number.isInteger(stated)) return layout
  // rounded times: the mean of a few steps is less exact than all edges together
  const seen = findSampleGrid(store.tick, store.count, header.secondsPerTick)
  const samples = Math.round(seen.intervalTicks / stated)
  if (!seen.coarserThanTick || Math.abs(seen.intervalTicks / (samples * stated) - 1) > SAME_STEP)
    return layout
  return {
    ...seen,
    intervalTicks: seen.intervalTicks / samples,
    uncertaintyTicks: seen.uncertaintyTicks / samples,
  }
}

/**
 * Where the tick is the sample, the card's own dots look like a grid that was rounded to ticks. Such a grid divides the
 * scanline, whose length then never changes by one of it, into as many parts as a card has dots, and runs at no rate
 * that instruments offer.
 *
 * @returns the tick's grid, or that of the file's last digit, in its place; or the grid itself
 */
export function withoutDotGrid(
  grid: SampleGrid,
  scanline: ChannelActivity,
  header: CaptureHeader,
): SampleGrid {
  const { roundedToTicks } = grid
  const isUsual = isUsualRate(grid.intervalTicks, header.secondsPerTick)
  if (!grid.rounded || (isUsual && roundedToTicks === undefined)) return grid
  if (scanline.gapSpreadTicks > grid.intervalTicks / 2) return grid
  const parts = Math.round(scanline.periodTicks / grid.intervalTicks)
  // dots may be doubled, or edges retimed on both clock edges
  const isDots = STANDARDS.some(({ dotsPerScanline }) => [0.5, 1, 2].includes(parts / dotsPerScanline))
  if (!isDots) return grid
  if (roundedToTicks === undefined) return TICK_GRID
  return { intervalTicks: roundedToTicks, uncertaintyTicks: 0, coarserThanTick: true, rounded: false }
}
