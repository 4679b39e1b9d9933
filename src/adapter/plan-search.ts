// Signal and described clock -> the sampling plans that keep samples furthest from the edges of the dots.

import type { AdapterDescription } from './adapter-description.ts'
import { clockChoices, type ClockChoice } from './pll.ts'
import { samplingPlan, type SampledSignal, type SamplingPlan } from './sampling-plan.ts'

/** What bounds the search. */
export interface PlanSearch {
  /** Plans returned at most; default 10. */
  count?: number
  /** Default: the description's, else 64. */
  maxClocksPerDot?: number
}

/** Plans found, and how many were tried. */
export interface FoundPlans {
  plans: SamplingPlan[]
  clocksTried: number
  plansTried: number
}

const USUAL_COUNT = 10
const USUAL_MAX_CLOCKS_PER_DOT = 64

/**
 * Tries every clock the description can make, with the whole and the fractional clocks per dot just below and just above
 * the ideal; any other number of clocks per dot errs more with the same clock.
 *
 * Order: whole plans that hold, fractional plans that hold, all others; within each the larger worst-case margin first,
 * then the smaller error. A plan holds while its margin outlasts the clock tolerance of the description (0 if unstated).
 * `clocksPerDot` in the description is the only number tried.
 *
 * @throws {RangeError} a rate or the width is not positive, or the PLL has too many settings
 */
export function findPlans(
  signal: SampledSignal,
  adapter: AdapterDescription,
  search: PlanSearch = {},
): FoundPlans {
  const clocks = clockChoices(adapter, signal.dotClockHz.value)
  const most = search.maxClocksPerDot ?? adapter.maxClocksPerDot ?? USUAL_MAX_CLOCKS_PER_DOT
  const plans: SamplingPlan[] = []
  for (const clock of clocks)
    for (const clocksPerDot of divisionsOf(clock, signal, adapter, most))
      plans.push(
        samplingPlan(signal, {
          clockHz: clock.clockHz,
          clocksPerDot,
          pll: clock.pll,
          ...(adapter.setupSeconds === undefined ? {} : { setupSeconds: adapter.setupSeconds }),
        }),
      )
  const plansTried = plans.length
  const tolerancePpm = adapter.clockTolerancePpm ?? 0
  plans.sort(
    (a, b) =>
      rank(a, tolerancePpm) - rank(b, tolerancePpm) ||
      b.worstMarginFraction - a.worstMarginFraction ||
      Math.abs(a.errorPpm) - Math.abs(b.errorPpm) ||
      a.sampleClockHz - b.sampleClockHz,
  )
  return { plans: plans.slice(0, search.count ?? USUAL_COUNT), clocksTried: clocks.length, plansTried }
}

/**
 * The plan for a clock that is given: with the clocks per dot stated, else the best whole or, if the divider has binary
 * places and no whole number leaves a margin, the best fractional one.
 */
export function planForClock(
  signal: SampledSignal,
  clockHz: number,
  adapter: AdapterDescription = {},
): SamplingPlan {
  // the clock is what was asked for, whatever number of clocks per dot that takes
  const maxClocksPerDot = Math.max(1, Math.ceil(clockHz / signal.dotClockHz.value))
  const { pll: _pll, ...rest } = adapter
  return findPlans(signal, { ...rest, clockHz }, { count: 1, maxClocksPerDot }).plans[0]!
}

function rank({ clockTolerancePpm, clocksPerDot }: SamplingPlan, tolerancePpm: number): number {
  // without any margin the tolerance is 0
  if (clockTolerancePpm <= 0 || clockTolerancePpm < tolerancePpm) return 2
  return Number.isInteger(clocksPerDot) ? 0 : 1
}

function divisionsOf(
  { clockHz }: ClockChoice,
  { dotClockHz }: SampledSignal,
  { clocksPerDot, fractionBits }: AdapterDescription,
  most: number,
): Set<number> {
  if (clocksPerDot !== undefined) return new Set([clocksPerDot])
  const ideal = clockHz / dotClockHz.value
  const steps = 2 ** (fractionBits ?? 0)
  const near = [ideal, ideal * steps].flatMap((value, n) => {
    const by = n === 0 ? 1 : steps
    return [Math.floor(value) / by, Math.ceil(value) / by]
  })
  return new Set(near.map((value) => Math.max(1, value)).filter((value) => value <= most))
}
