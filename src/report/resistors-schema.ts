// The shape of what `resistors --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { ResistorsReport } from './resistors-report.ts'
import { cautionsSchema } from './sampling-schema.ts'

const ohms = z.number().positive()
const notNegative = z.number().nonnegative()
const code = z.number().int().nonnegative()

const picked = z.object({
  resistorsOhms: z.array(ohms),
  parts: z.array(
    z.object({ ohms, joined: z.enum(['single', 'series', 'parallel']), values: z.array(ohms).readonly() }),
  ),
  levels: z.array(
    z.object({
      code,
      volts: z.number(),
      idealVolts: z.number(),
      minVolts: z.number(),
      maxVolts: z.number(),
    }),
  ),
  worstErrorVolts: notNegative,
  maxPinMilliamps: notNegative,
  pins: z.array(z.object({ pin: z.string(), sourceMilliamps: notNegative, sinkMilliamps: notNegative })),
  maxTotalMilliamps: notNegative,
  resistorMilliwatts: z.array(notNegative),
  powerMilliwatts: notNegative,
  colours: z
    .array(z.object({ code, redVolts: z.number(), greenVolts: z.number(), blueVolts: z.number() }))
    .nullable(),
})

/** `rastertap.resistors/1`. Volts, ohms, milliamperes, milliwatts, as the names say. */
export const resistorsSchema: z.ZodType<ResistorsReport> = z.object({
  format: z.literal('rastertap.resistors/1'),
  network: z.enum(['weighted', 'rgbi', 'mono']),
  bits: z.number().int().min(1).max(4).nullable(),
  supplyVolts: z.number().positive(),
  loadOhms: ohms,
  fullScaleVolts: z.number().positive(),
  pinOhms: notNegative,
  series: z.enum(['E12', 'E24', 'E48', 'E96']),
  tolerancePercent: notNegative,
  ideal: z.object({ parallelOhms: ohms, resistorsOhms: z.array(z.number()) }),
  picked,
  brown: z.object({ explanation: z.string(), pullDownOhms: ohms, pullDownMilliamps: notNegative }).nullable(),
  warnings: z.array(z.string()),
  cautions: cautionsSchema,
})
