// A few dozen sync edges with nothing known → polarity, period, width and a first scanline to follow from. Robust
// against extra and missing pulses; the tracker does the rest.

import type { Polarity } from '../measurement.ts'
import { timeWeightedMedian } from '../transitions/channel-activity.ts'
import {
  inliers,
  lineThroughMost,
  scattered,
  straightLine,
  withSteps,
  type TrainSpread,
} from './edge-line.ts'

/** What is needed to follow sync from pulse to pulse. */
export interface SyncLock {
  polarity: Polarity
  periodTicks: number
  widthTicks: number
  /** Scatter of the widths as a standard deviation, in ticks; wrong ones do not count. */
  widthScatterTicks: number
  /** Leading and trailing edges from the straight line of the leading ones, in ticks; misplaced ones do not count. */
  leads: TrainSpread
  trails: TrainSpread
  /** Where the line has the leading edge to start from. */
  startTick: number
  /** Index, in the given edges, of the leading edge to start from. */
  startEdge: number
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
/** What a pulse in its place counts, if its width is right as well. */
const MOST_PER_HIT = 1.5
/** Share of the sums of several gaps that must be alike to be scanlines, and by how much more than of single gaps. */
const MOST_REPEATED = 0.6
const MORE_REPEATED = 0.25
/** Share of the usual gap between pulses that no hsync lasts: the widest there is takes 17.5 %. */
const WIDEST_SHARE = 0.4
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
    // later ones have no more pulses than are left, and so cannot be better
    if (best && best.score >= MOST_PER_HIT * (pulses.lead.length - start)) break
    const chain = followFrom(pulses, start, period, width, resolutionTicks)
    if (!best || chain.score > best.score) best = chain
    if (chain.hits >= pulses.lead.length - start && start === 0) break
  }
  if (!best || best.hits < MIN_HITS || best.hits < best.slots * MIN_HIT_SHARE) return undefined
  const line = lineThroughMost(
    best,
    best.members.map((i) => pulses.lead[i]!),
    best.members.map((i) => pulses.trail[i]!),
    resolutionTicks,
  )
  const widths = best.members.map((i) => pulses.trail[i]! - pulses.lead[i]!)
  const trailOffsets = best.members.map(
    (i, at) => pulses.trail[i]! - line.startTick - best.slot[at]! * line.periodTicks,
  )
  const leads = withSteps(best, line.offsets, line.periodTicks, resolutionTicks)
  const trails = withSteps(best, trailOffsets, line.periodTicks, resolutionTicks)
  // what the widths of jittery edges are spread over, those that lie closest together do not show
  const widthSpread = (leads.isJittery || trails.isJittery ? scattered : inliers)(widths, resolutionTicks)
  return {
    polarity,
    periodTicks: line.periodTicks,
    widthTicks: widthSpread.mean,
    widthScatterTicks: widthSpread.scatter,
    leads,
    trails,
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
  let near = NaN
  for (let step = 1; step <= 3 && kept.length > 2 * step; step++) {
    const sums = kept.slice(step).map((lead, i) => lead - kept[i]!)
    const period = timeWeightedMedian(sums)
    // what jitter makes of a sum does not grow with its gaps: it is that of its ends
    if (step === 1) near = Math.max(period / 100, 2 * resolutionTicks)
    const share = sums.filter((sum) => Math.abs(sum - period) <= near).length / sums.length
    if (share > bestShare + MORE_REPEATED && (step === 1 || share > MOST_REPEATED)) {
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
    score: members.length + (MOST_PER_HIT - 1) * widthHits - Math.min(1, fit.rms / near),
  }
}
