// Edges that ought to come regularly → the line they lie on, and how they lie about it. Right edges of a steady source are
// within one sample of their line, wherever that is; least squares alone do not know that.

import { strayVariance, type Steps } from './edge-steps.ts'
import { median } from './median.ts'

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

/** Of all edges of a train. */
export interface TrainSpread extends EdgeSpread {
  /** Whether the steps prove jitter. */
  isJittery: boolean
}

/** Edges in order, each with its scanline counted from the first, and roughly how far scanlines are apart. */
interface EdgeTrain {
  slot: readonly number[]
  periodTicks: number
}

/** Times that the line is drawn again. */
const LINE_ROUNDS = 3
/** Samples that right values lie within: one, and what a line through a slow beat is off by and rounding to ticks adds. */
const ONE_SAMPLE = 1.3
/** Share of values that lie together where there is no jitter; the rest are faults. */
const STEADY_SHARE = 0.85
/** Samples that all edges of a steady line lie within; rounding to ticks adds a little. */
const STRIP_SAMPLES = 1.04
/** Most samples that a line is tilted by from one end to the other, either way, and in how many steps. */
const MOST_TILT = 2
const TILTS = 24
/** Share of edges that must lie within a sample for a line to be a steady one. */
const SURE_SHARE = 0.93
/** Share of the edges that lie together without jitter, however many faults there are. */
const NEAR_SHARE = 0.7
/** Samples that an edge may lie beside the others and not be one that was moved by two, and how many prove jitter. */
const BESIDE_SAMPLES = 0.6
const STRAGGLERS = 3
/** Left-over variance of steps, in samples², that rounding to ticks may make. */
const STRAY_LIMIT = 0.003

/** A line through leading edges, and how far each is off it, in ticks. */
interface FittedLine {
  periodTicks: number
  startTick: number
  offsets: number[]
}

/**
 * Least squares lie flat along a slow beat, and leave the edges at both ends off by more than a sample. Where a line a
 * little steeper or less has nearly all edges within one sample, as a steady source's must be, that is the line. Trailing
 * edges, which slip at other times, say so too.
 */
function steadyLine(
  line: FittedLine,
  slot: readonly number[],
  trail: readonly number[],
  resolutionTicks: number,
): FittedLine {
  const { offsets } = line
  const scanlines = slot.at(-1)! + 1
  const trailOffsets = trail.map((tick, at) => tick - line.startTick - slot[at]! * line.periodTicks)
  const slopeOf = (step: number): number => (step * resolutionTicks * MOST_TILT) / TILTS / scanlines
  const tilted = (values: readonly number[], step: number): number[] =>
    values.map((off, at) => off - slopeOf(step) * slot[at]!)
  const together = (values: readonly number[], step: number): number =>
    densest(sortedCopy(tilted(values, step)), STRIP_SAMPLES * resolutionTicks).count
  const all = offsets.length + trail.length
  let best = 0
  let most = together(offsets, 0) + together(trailOffsets, 0)
  for (let step = -TILTS; step <= TILTS && most < all; step++) {
    const count = together(offsets, step) + together(trailOffsets, step)
    if (count > most) {
      most = count
      best = step
    }
  }
  if (best === 0 || most < SURE_SHARE * all) return line
  return {
    periodTicks: line.periodTicks + slopeOf(best),
    startTick: line.startTick,
    offsets: tilted(offsets, best),
  }
}

/**
 * The line again, without those members that are not on it.
 * @param trail trailing edges of the same pulses, which are as regular; they do not move the line's begin
 */
export function lineThroughMost(
  { slot, periodTicks }: EdgeTrain,
  lead: readonly number[],
  trail: readonly number[],
  resolutionTicks: number,
): FittedLine {
  let period = periodTicks
  let startTick = lead[0]!
  for (let round = 0; ; round++) {
    const off = lead.map((tick, at) => tick - startTick - slot[at]! * period)
    const leads = inliers(off, resolutionTicks)
    const kept = off.flatMap((value, at) => (value >= leads.lowest && value <= leads.highest ? [at] : []))
    const fit = straightLine(
      kept.map((at) => slot[at]!),
      kept.map((at) => lead[at]!),
    )
    if (round === LINE_ROUNDS || Number.isNaN(fit.slope))
      return steadyLine({ periodTicks: period, startTick, offsets: off }, slot, trail, resolutionTicks)
    period = fit.slope
    startTick = fit.atZero
  }
}

/**
 * Offsets of a chain's edges that are not plainly wrong, and how they differ from one scanline to the next. Jitter shows
 * in these differences, and in edges a little beside those that lie together: moved ones lie further away.
 */
export function withSteps(
  { slot }: EdgeTrain,
  offsets: readonly number[],
  periodTicks: number,
  resolutionTicks: number,
): TrainSpread {
  const near = together(offsets, resolutionTicks)
  const { steps } = stepsWithin(near, slot, offsets, periodTicks)
  const isSteady =
    near.count >= NEAR_SHARE * offsets.length &&
    strayVariance(steps, resolutionTicks) <= STRAY_LIMIT &&
    countStragglers(near, offsets, resolutionTicks) < STRAGGLERS
  const spread = isSteady ? near : scattered(offsets, resolutionTicks)
  return { ...stepsWithin(spread, slot, offsets, periodTicks), isJittery: !isSteady }
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

export function straightLine(
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
export function inliers(values: readonly number[], resolutionTicks: number): Spread {
  const near = together(values, resolutionTicks)
  return near.count < STEADY_SHARE * values.length ? scattered(values, resolutionTicks) : near
}

/** Most of the values that lie within a sample of each other. */
function together(values: readonly number[], resolutionTicks: number): Spread {
  const sorted = sortedCopy(values)
  const { from, count } = densest(sorted, ONE_SAMPLE * resolutionTicks)
  return spreadOf(sorted.slice(from, from + count))
}

/** Where in a sorted list most values lie within `span`, and how many. */
function densest(sorted: readonly number[], span: number): { from: number; count: number } {
  let from = 0
  let count = 0
  for (let low = 0, high = 0; low < sorted.length; low++) {
    while (high < sorted.length && sorted[high]! - sorted[low]! <= span) high++
    if (high - low > count) {
      count = high - low
      from = low
    }
  }
  return { from, count }
}

function sortedCopy(values: readonly number[]): number[] {
  return [...values].sort((a, b) => a - b)
}

/** Those values that are not plainly wrong, where there is jitter. */
export function scattered(values: readonly number[], resolutionTicks: number): Spread {
  const middle = median(values)!
  // 1.4826 median absolute deviations are a standard deviation of a normal distribution
  const sigma = 1.4826 * median(values.map((value) => Math.abs(value - middle)))!
  const reach = Math.max(1.5 * resolutionTicks, 3 * sigma)
  return spreadOf(values.filter((value) => Math.abs(value - middle) <= reach).sort((a, b) => a - b))
}

function countStragglers(
  { lowest, highest }: Spread,
  values: readonly number[],
  resolutionTicks: number,
): number {
  const beside = BESIDE_SAMPLES * resolutionTicks
  return values.filter(
    (value) => (value < lowest && value > lowest - beside) || (value > highest && value < highest + beside),
  ).length
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
