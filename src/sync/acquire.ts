// A few dozen sync edges with nothing known → polarity, period, width and a first scanline to follow from. Robust
// against extra and missing pulses; the tracker does the rest.

import type { Polarity } from '../measurement.ts'
import { timeWeightedMedian } from '../transitions/channel-activity.ts'
import { strayVariance, type Steps } from './edge-steps.ts'

/** What is needed to follow sync from pulse to pulse. */
export interface SyncLock {
  polarity: Polarity
  periodTicks: number
  widthTicks: number
  /** Scatter of the widths as a standard deviation, in ticks; wrong ones do not count. */
  widthScatterTicks: number
  /** Leading and trailing edges from the straight line of the leading ones, in ticks; misplaced ones do not count. */
  leads: EdgeSpread
  trails: EdgeSpread
  /** Where the line has the leading edge to start from. */
  startTick: number
  /** Index, in the given edges, of the leading edge to start from. */
  startEdge: number
}

/** What a list of values has in common. */
export interface Spread {
  lowest: number
  highest: number
  mean: number
  /** Standard deviation. */
  scatter: number
  count: number
}

/** Offsets of edges from a line, with what neighbouring ones differ by. */
export interface EdgeSpread extends Spread {
  steps: Steps
}

/** Pulses in columns. */
interface PulseList {
  lead: number[]
  trail: number[]
  edge: number[]
}

/** Share of scanlines in the window that must have a pulse where one is expected. */
const MIN_HIT_SHARE = 0.5
const MIN_HITS = 3
/** Times that the line is drawn again. */
const LINE_ROUNDS = 3
/** Share of the usual gap between pulses that no hsync lasts: the widest there is takes 17.5 %. */
const WIDEST_SHARE = 0.4
/** Samples that right values lie within: one, and what a line through a slow beat is off by and rounding to ticks adds. */
const ONE_SAMPLE = 1.3
/** Share of values that lie together where there is no jitter; the rest are faults. */
const STEADY_SHARE = 0.85
/** Left-over variance of steps, in samples², that rounding to ticks may make. */
const STRAY_LIMIT = 0.003
/** A pulse put together from pieces may be this much wider than the median piece. */
const JOINED_WIDTH = 1.3

/** The level that takes less of the time is the pulse. */
export function polarityOf(tick: ArrayLike<number>, level: ArrayLike<number>, count: number): Polarity {
  let high = 0
  let low = 0
  for (let i = 0; i + 1 < count; i++) {
    if (level[i] === 1) high += tick[i + 1]! - tick[i]!
    else low += tick[i + 1]! - tick[i]!
  }
  return high <= low ? 'positive' : 'negative'
}

/**
 * @param tick edge times, rising, the first `count` valid
 * @param level level after each edge, 0 or 1, alternating
 * @param resolutionTicks sample interval, in ticks
 * @returns undefined where no regular pulse train is found
 */
export function acquireSync(
  tick: Float64Array,
  level: Uint8Array,
  count: number,
  resolutionTicks: number,
): SyncLock | undefined {
  const polarity = polarityOf(tick, level, count)
  const pieces = pulsesOf(tick, level, count, polarity === 'positive' ? 1 : 0)
  if (pieces.lead.length < MIN_HITS) return undefined
  const pulses = joined(pieces, usualWidth(pieces))
  const width = usualWidth(pulses)
  const period = roughPeriod(pulses, resolutionTicks)
  if (!(period > 4 * resolutionTicks)) return undefined
  let best: Chain | undefined
  for (let start = 0; start < pulses.lead.length; start++) {
    const chain = followFrom(pulses, start, period, width, resolutionTicks)
    if (!best || chain.score > best.score) best = chain
    if (chain.hits >= pulses.lead.length - start && start === 0) break
  }
  if (!best || best.hits < MIN_HITS || best.hits < best.slots * MIN_HIT_SHARE) return undefined
  const line = lineThroughMost(best, pulses, resolutionTicks)
  const widths = best.members.map((i) => pulses.trail[i]! - pulses.lead[i]!)
  const { mean: widthTicks, scatter: widthScatterTicks } = inliers(widths, resolutionTicks)
  const trails = best.members.map(
    (i, at) => pulses.trail[i]! - line.startTick - best.slot[at]! * line.periodTicks,
  )
  return {
    polarity,
    periodTicks: line.periodTicks,
    widthTicks,
    widthScatterTicks,
    leads: withSteps(best, line.offsets, line.periodTicks, resolutionTicks),
    trails: withSteps(best, trails, line.periodTicks, resolutionTicks),
    startTick: line.startTick,
    startEdge: pulses.edge[best.members[0]!]!,
  }
}

/** Spikes, which are many but short, hardly move it; nor does the vsync of a composite sync, which is one but long. */
function usualWidth({ lead, trail }: PulseList): number {
  const gap = timeWeightedMedian(lead.slice(1).map((at, i) => at - lead[i]!))
  const widths = lead.map((at, i) => trail[i]! - at)
  const narrow = widths.filter((width) => width < WIDEST_SHARE * gap)
  return timeWeightedMedian(narrow.length > 0 ? narrow : widths)
}

function pulsesOf(tick: Float64Array, level: Uint8Array, count: number, pulseLevel: number): PulseList {
  const list: PulseList = { lead: [], trail: [], edge: [] }
  for (let i = 0; i + 1 < count; i++) {
    if (level[i] !== pulseLevel) continue
    list.lead.push(tick[i]!)
    list.trail.push(tick[i + 1]!)
    list.edge.push(i)
  }
  return list
}

/**
 * Puts together what ringing has cut: pieces that begin within one pulse width of a leading edge belong to that pulse,
 * as long as they do not make it much longer than a pulse is.
 */
function joined(pieces: PulseList, width: number): PulseList {
  const list: PulseList = { lead: [], trail: [], edge: [] }
  pieces.lead.forEach((lead, i) => {
    const first = list.lead.at(-1) ?? -Infinity
    const trail = pieces.trail[i]!
    if (lead - first < width && trail - first < width * JOINED_WIDTH) {
      list.trail[list.trail.length - 1] = trail
      return
    }
    list.lead.push(lead)
    list.trail.push(trail)
    list.edge.push(pieces.edge[i]!)
  })
  return list
}

/** Median gap after ringing is held off; where each scanline carries extra pulses, the sum that repeats. */
function roughPeriod(pulses: PulseList, resolutionTicks: number): number {
  const gaps = pulses.lead.slice(1).map((lead, i) => lead - pulses.lead[i]!)
  const holdOff = 0.3 * timeWeightedMedian(gaps)
  const kept = [pulses.lead[0]!]
  for (const lead of pulses.lead) if (lead - kept.at(-1)! >= holdOff) kept.push(lead)
  let bestPeriod = NaN
  let bestShare = 0
  for (let step = 1; step <= 3 && kept.length > 2 * step; step++) {
    const sums = kept.slice(step).map((lead, i) => lead - kept[i]!)
    const period = timeWeightedMedian(sums)
    const near = Math.max(period / 100, 2 * resolutionTicks)
    const share = sums.filter((sum) => Math.abs(sum - period) <= near).length / sums.length
    if (share > bestShare + 0.25) {
      bestShare = share
      bestPeriod = period
    }
  }
  return bestPeriod
}

/** One attempt to explain the pulses as a regular train. */
interface Chain {
  hits: number
  slots: number
  members: number[]
  /** Scanline of each member, from the first. */
  slot: number[]
  periodTicks: number
  score: number
}

/** Walks from pulse to pulse, correcting phase and period a little at each, and scores how well that went. */
function followFrom(
  pulses: PulseList,
  start: number,
  period: number,
  width: number,
  resolutionTicks: number,
): Chain {
  const { lead, trail } = pulses
  const near = Math.max(3 * resolutionTicks, period / 128)
  const members = [start]
  const slot = [0]
  let expected = lead[start]! + period
  let number = 1
  let at = start + 1
  let widthHits = Math.abs(trail[start]! - lead[start]! - width) < width / 4 ? 1 : 0
  const end = lead.at(-1)!
  while (expected < end + near) {
    while (at < lead.length && lead[at]! < expected - near) at++
    let closest = -1
    for (let i = at; i < lead.length && lead[i]! <= expected + near; i++) {
      if (closest < 0 || Math.abs(lead[i]! - expected) < Math.abs(lead[closest]! - expected)) closest = i
    }
    if (closest >= 0) {
      const off = lead[closest]! - expected
      members.push(closest)
      slot.push(number)
      if (Math.abs(trail[closest]! - lead[closest]! - width) < width / 4) widthHits++
      expected += off / 4
      period += off / 32
      at = closest + 1
    }
    expected += period
    number++
  }
  const fit = straightLine(
    slot,
    members.map((i) => lead[i]!),
  )
  return {
    hits: members.length,
    slots: number,
    members,
    slot,
    periodTicks: Number.isNaN(fit.slope) ? period : fit.slope,
    // hits decide; right widths and a straight line choose between trains of equal length
    score: members.length + 0.5 * widthHits - Math.min(1, fit.rms / near),
  }
}

/** The line again, without those members that are not on it. */
function lineThroughMost(
  { members, slot, periodTicks }: Chain,
  { lead }: PulseList,
  resolutionTicks: number,
): { periodTicks: number; startTick: number; offsets: number[] } {
  let period = periodTicks
  let startTick = lead[members[0]!]!
  for (let round = 0; ; round++) {
    const off = members.map((i, at) => lead[i]! - startTick - slot[at]! * period)
    const leads = inliers(off, resolutionTicks)
    const kept = off.flatMap((value, at) => (value >= leads.lowest && value <= leads.highest ? [at] : []))
    const fit = straightLine(
      kept.map((at) => slot[at]!),
      kept.map((at) => lead[members[at]!]!),
    )
    if (round === LINE_ROUNDS || Number.isNaN(fit.slope))
      return { periodTicks: period, startTick, offsets: off }
    period = fit.slope
    startTick = fit.atZero
  }
}

/** Offsets of a chain's edges that are not plainly wrong, and how they differ from one scanline to the next. */
function withSteps(
  { slot }: Chain,
  offsets: readonly number[],
  periodTicks: number,
  resolutionTicks: number,
): EdgeSpread {
  const steady = stepsWithin(inliers(offsets, resolutionTicks), slot, offsets, periodTicks)
  if (strayVariance(steady.steps, resolutionTicks) <= STRAY_LIMIT) return steady
  // jitter: then those that lie together are not all that are right
  return stepsWithin(scattered(offsets, resolutionTicks), slot, offsets, periodTicks)
}

function stepsWithin(
  spread: Spread,
  slot: readonly number[],
  offsets: readonly number[],
  periodTicks: number,
): EdgeSpread {
  const isIn = (at: number): boolean => offsets[at]! >= spread.lowest && offsets[at]! <= spread.highest
  const steps: number[] = []
  for (let at = 1; at < offsets.length; at++) {
    if (slot[at] === slot[at - 1]! + 1 && isIn(at) && isIn(at - 1))
      steps.push(periodTicks + offsets[at]! - offsets[at - 1]!)
  }
  if (steps.length === 0) return { ...spread, steps: { mean: periodTicks, variance: 0, last: periodTicks } }
  const mean = steps.reduce((sum, step) => sum + step, 0) / steps.length
  const squares = steps.reduce((sum, step) => sum + (step - mean) ** 2, 0)
  return { ...spread, steps: { mean, variance: squares / steps.length, last: steps.at(-1)! } }
}

function straightLine(
  x: readonly number[],
  y: readonly number[],
): { slope: number; atZero: number; rms: number } {
  const n = x.length
  const x0 = x.reduce((sum, value) => sum + value, 0) / n
  const y0 = y.reduce((sum, value) => sum + value - y[0]!, 0) / n + y[0]!
  let xx = 0
  let xy = 0
  for (let i = 0; i < n; i++) {
    xx += (x[i]! - x0) ** 2
    xy += (x[i]! - x0) * (y[i]! - y0)
  }
  // one point has no line, and nothing is off it
  if (!(xx > 0)) return { slope: NaN, atZero: y0, rms: 0 }
  const slope = xy / xx
  let squares = 0
  for (let i = 0; i < n; i++) squares += (y[i]! - y0 - slope * (x[i]! - x0)) ** 2
  return { slope, atZero: y0 - slope * x0, rms: Math.sqrt(squares / n) }
}

/**
 * Those values that are not plainly wrong. Without jitter all right ones lie within a sample of each other, wherever
 * that is; where too many do not, there is jitter, and what is normal follows from the values' own scatter.
 */
function inliers(values: readonly number[], resolutionTicks: number): Spread {
  const sorted = [...values].sort((a, b) => a - b)
  const span = ONE_SAMPLE * resolutionTicks
  let from = 0
  let most = 0
  for (let low = 0, high = 0; low < sorted.length; low++) {
    while (high < sorted.length && sorted[high]! - sorted[low]! <= span) high++
    if (high - low > most) {
      most = high - low
      from = low
    }
  }
  if (most < STEADY_SHARE * sorted.length) return scattered(values, resolutionTicks)
  return spreadOf(sorted.slice(from, from + most))
}

/** Those values that are not plainly wrong, where there is jitter. */
function scattered(values: readonly number[], resolutionTicks: number): Spread {
  const middle = median(values)
  // 1.4826 median absolute deviations are a standard deviation of a normal distribution
  const sigma = 1.4826 * median(values.map((value) => Math.abs(value - middle)))
  const reach = Math.max(1.5 * resolutionTicks, 3 * sigma)
  return spreadOf(values.filter((value) => Math.abs(value - middle) <= reach).sort((a, b) => a - b))
}

function spreadOf(sorted: readonly number[]): Spread {
  const mean = sorted.reduce((sum, value) => sum + value, 0) / sorted.length
  const squares = sorted.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  return {
    lowest: sorted[0]!,
    highest: sorted.at(-1)!,
    mean,
    scatter: Math.sqrt(squares / sorted.length),
    count: sorted.length,
  }
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!
}
