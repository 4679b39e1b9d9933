// Sampling plans → the object that `sampling --json` prints. The text is in sampling-text.ts, the schema in
// sampling-schema.ts.

import type { Caution } from '../adapter/cautions.ts'
import { cautionsFor } from '../adapter/cautions.ts'
import type { FoundPlans } from '../adapter/plan-search.ts'
import type { SampledSignal, SamplingPlan } from '../adapter/sampling-plan.ts'
import type { KnownJitter } from '../adapter/segment-signal.ts'
import type { Measurement } from '../measurement.ts'

/** What `sampling` was asked and found. */
export interface SamplingAnswer {
  /** The capture's name; null where the numbers were given by hand. */
  file: string | null
  signal: SampledSignal
  jitter: KnownJitter
  /** True where the standard supplied what the capture does not show. */
  dotClockAssumed: boolean
  activeAssumed: boolean
  /** The plan for the clock that was asked about. */
  given: SamplingPlan | null
  found: FoundPlans
  /** Where the plans' clocks come from: the PLL described, or whole multiples of the dot clock. */
  plansFrom: 'pll' | 'multiples'
  /** How far off the description says its clock may be; null where it does not. */
  clockTolerancePpm: number | null
}

/** `rastertap.sampling/1`. Hertz, seconds, dots; uncertainties k = 1. */
export interface SamplingReport {
  format: 'rastertap.sampling/1'
  file: string | null
  dotClockHz: Measurement
  dotClockAssumed: boolean
  activeDots: number
  activeAssumed: boolean
  leadDots: number | null
  jitter: KnownJitter
  given: SamplingPlan | null
  plans: SamplingPlan[]
  plansFrom: 'pll' | 'multiples'
  clocksTried: number
  plansTried: number
  cautions: Caution[]
}

export function samplingReport(answer: SamplingAnswer): SamplingReport {
  const { file, signal, jitter, dotClockAssumed, activeAssumed, given, found, plansFrom } = answer
  return {
    format: 'rastertap.sampling/1',
    file,
    dotClockHz: signal.dotClockHz,
    dotClockAssumed,
    activeDots: signal.activeDots,
    activeAssumed,
    leadDots: signal.leadDots ?? null,
    jitter,
    given,
    plans: found.plans,
    plansFrom,
    clocksTried: found.clocksTried,
    plansTried: found.plansTried,
    cautions: [...cautionsFor('capture')],
  }
}
