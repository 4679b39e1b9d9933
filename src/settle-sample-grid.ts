// Which grid a capture's edges lie on: what the file's layout proves, what the edges show, and what could be the card's
// dots instead. Beside measure.ts, because it takes the header, the edges and the catalogue together.

import type { CaptureHeader } from './capture/capture-header.ts'
import { STANDARDS } from './classify/standards.ts'
import type { ChannelActivity } from './transitions/channel-activity.ts'
import { findSampleGrid, isUsualRate, TICK_GRID, type SampleGrid } from './transitions/sample-grid.ts'
import type { TransitionStore } from './transitions/transition-store.ts'

/** Agreement of what edges show with the mean step of a time column whose few first rows were looked at. */
const SAME_STEP = 1e-3

/** The grid, before it is known which channel carries scanlines. */
export function sampleGridOf(header: CaptureHeader, store: TransitionStore): SampleGrid {
  const stated = header.sampleIntervalTicks
  if (stated === null) return findSampleGrid(store.tick, store.count, header.secondsPerTick)
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
 * @returns the tick's grid in its place, or the grid itself
 */
export function withoutDotGrid(
  grid: SampleGrid,
  scanline: ChannelActivity,
  header: CaptureHeader,
): SampleGrid {
  if (!grid.rounded || isUsualRate(grid.intervalTicks, header.secondsPerTick)) return grid
  if (scanline.gapSpreadTicks > grid.intervalTicks / 2) return grid
  const parts = Math.round(scanline.periodTicks / grid.intervalTicks)
  // dots may be doubled, or edges retimed on both clock edges
  const isDots = STANDARDS.some(({ dotsPerScanline }) => [0.5, 1, 2].includes(parts / dotsPerScanline))
  return isDots ? TICK_GRID : grid
}
