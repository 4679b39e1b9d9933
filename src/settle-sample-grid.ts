// Which grid a capture's edges lie on: what the file's layout proves, what the edges show, and what could be the card's
// dots instead. Beside measure.ts, because it takes the header, the edges and the catalogue together.

import type { CaptureHeader } from './capture/capture-header.ts'
import { STANDARDS } from './classify/standards.ts'
import { median } from './sync/median.ts'
import type { ChannelActivity } from './transitions/channel-activity.ts'
import { findSampleGrid, TICK_GRID, type SampleGrid } from './transitions/sample-grid.ts'
import type { TransitionStore } from './transitions/transition-store.ts'
import { isUsualRate } from './transitions/usual-rates.ts'
import { NO_LEVEL } from './capture/transition-batch.ts'

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
export function isRoundedCoarsely(store: TransitionStore, channelCount: number): boolean {
  const { tick, channel, level, count } = store
  const changedAt = new Float64Array(channelCount).fill(NaN)
  const levelOf = new Uint8Array(channelCount).fill(NO_LEVEL)
  let undone = 0
  for (let row = 0; row < count; row++) {
    const wire = channel[row]!
    if (levelOf[wire] === level[row]) continue
    if (changedAt[wire] === tick[row]) undone++
    levelOf[wire] = level[row]!
    changedAt[wire] = tick[row]!
  }
  return undone >= Math.max(LEAST_UNDONE, UNDONE_SHARE * count)
}

/** Samples longer than so many last digits show in each gap between edges; shorter ones in all edges together alone. */
const SHOWN_DIGITS = 3.5
/** Times that the scanline must slip against the samples over the capture for its edges to tell of these. */
const TELLING_SLIPS = 3
/** Whole turns per digit that a rate and another one may differ by and still be taken for each other. */
const ALIASES = [-2, -1, 0, 1]
/** Spans grow by this factor, each counted by the period that the one before gave. */
const SPAN_GROWTH = 16

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
 * Samples hardly longer than the file's last digit are seen by all edges together falling on them. Where a scanline is a
 * whole number of them, edges of sync do so of themselves, and the digit may as well be the sample. So it is where it is a
 * whole number of an alias: times in whole digits cannot tell a rate from one that makes whole turns more in each.
 *
 * @param channel of the scanlines
 */
export function withoutScanlineGrid(
  grid: SampleGrid,
  store: TransitionStore,
  channel: number,
  { periodTicks }: ChannelActivity,
): SampleGrid {
  const { intervalTicks, roundedToTicks } = grid
  if (roundedToTicks === undefined || intervalTicks >= SHOWN_DIGITS * roundedToTicks) return grid
  const leads = risingTicks(store, channel)
  const scanlineDigits = meanPeriod(leads, periodTicks) / roundedToTicks
  const scanlines = leads.length > 0 ? (leads.at(-1)! - leads[0]!) / periodTicks : 0
  const isTold = ALIASES.every((more) => {
    const turns = (roundedToTicks / intervalTicks + more) * scanlineDigits
    return Math.abs(turns - Math.round(turns)) * scanlines >= TELLING_SLIPS
  })
  if (isTold) return grid
  return digitGrid(roundedToTicks)
}

/** The file's last digit, or its tick, of which nothing tells whether it is the sample. */
function digitGrid(digitTicks: number): SampleGrid {
  return { intervalTicks: digitTicks, uncertaintyTicks: 0, coarserThanTick: false, rounded: false }
}

function risingTicks({ tick, channel: channels, level, count }: TransitionStore, channel: number): number[] {
  const rising: number[] = []
  for (let row = 0; row < count; row++) {
    if (channels[row] === channel && level[row] === 1) rising.push(tick[row]!)
  }
  return rising
}

/** Period of edges that mostly come regularly, from medians over ever longer spans: neither false nor missing ones count. */
function meanPeriod(leads: readonly number[], periodTicks: number): number {
  let period = periodTicks
  for (let span = SPAN_GROWTH, reach = 0; reach < leads.length >> 1; span *= SPAN_GROWTH) {
    reach = Math.min(span, leads.length >> 1)
    period = median(spanPeriods(leads, reach, period)) ?? period
  }
  return period
}

function spanPeriods(leads: readonly number[], reach: number, period: number): number[] {
  return leads.slice(reach).map((lead, i) => {
    const ticks = lead - leads[i]!
    return ticks / Math.round(ticks / period)
  })
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
  return digitGrid(roundedToTicks ?? 1)
}
