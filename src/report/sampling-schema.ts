// The shape of what `sampling --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { PllSetting } from '../adapter/pll.ts'
import type { SamplingPlan } from '../adapter/sampling-plan.ts'
import type { SamplingReport } from './sampling-report.ts'

const count = z.number().int().nonnegative()
const measurement = z.object({ value: z.number().positive(), uncertainty: z.number().nonnegative() })
const seconds = z.number().nonnegative().nullable()

/** Settings of a PLL. */
export const pllSchema: z.ZodType<PllSetting> = z.object({
  referenceHz: z.number().positive(),
  referenceDivider: z.number().int().positive(),
  multiplier: z.number().int().positive(),
  vcoHz: z.number().positive(),
  postDividers: z.array(z.number().int().positive()),
})

/** One sampling plan. */
export const planSchema: z.ZodType<SamplingPlan> = z.object({
  sampleClockHz: z.number().positive(),
  clocksPerDot: z.number().positive(),
  errorPpm: z.number(),
  slipDots: z.number().nonnegative(),
  bands: count,
  bandColumns: z.array(count),
  bandDetails: z.array(
    z.object({
      column: count,
      firstColumn: count,
      lastColumn: count,
      widthDots: z.number().int().positive(),
    }),
  ),
  disturbedFraction: z.number().min(0).max(1),
  rephasingHidesBands: z.boolean(),
  eyeMarginFraction: z.number().min(0).max(1),
  worstMarginFraction: z.number().max(1),
  clockTolerancePpm: z.number().nonnegative(),
  phaseDots: z.number(),
  pll: pllSchema.nullable(),
})

/** What a screen says before anything is connected. */
export const cautionsSchema: z.ZodType<{ id: string; text: string }[]> = z.array(
  z.object({ id: z.string(), text: z.string() }),
)

/** `rastertap.sampling/1`. Hertz, seconds, dots; uncertainties k = 1. */
export const samplingSchema: z.ZodType<SamplingReport> = z.object({
  format: z.literal('rastertap.sampling/1'),
  file: z.string().nullable(),
  dotClockHz: measurement,
  dotClockAssumed: z.boolean(),
  activeDots: z.number().int().positive(),
  activeAssumed: z.boolean(),
  leadDots: z.number().nullable(),
  jitter: z.object({ cardRmsSeconds: seconds, instrumentRmsSeconds: seconds }),
  given: planSchema.nullable(),
  plans: z.array(planSchema),
  plansFrom: z.enum(['pll', 'multiples']),
  clocksTried: count,
  plansTried: count,
  cautions: cautionsSchema,
})
