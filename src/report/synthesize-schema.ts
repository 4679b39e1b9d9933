// The shape of what `synthesize --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import { ROLES } from '../capture/role.ts'
import type { SynthesizeReport } from './synthesize-report.ts'

const count = z.number().int().nonnegative()

/** `rastertap.synthesize/1`. Times in seconds from the first sample. */
export const synthesizeSchema: z.ZodType<SynthesizeReport> = z.object({
  format: z.literal('rastertap.synthesize/1'),
  file: z.string(),
  mode: z.string().nullable(),
  sampleRateHz: z.number().positive(),
  frames: z.number().positive(),
  transitions: count,
  defects: z.array(
    z.object({
      kind: z.enum(['ringing', 'missing', 'spike', 'dropped-scanline']),
      channel: z.string().nullable(),
      timeSeconds: z.number().nonnegative(),
      frame: z.number().int().min(-1),
      scanline: count,
    }),
  ),
  form: z.enum(['vcd', 'csv', 'csv-samples', 'csv-ns']),
  seed: count,
  samples: count,
  durationSeconds: z.number().positive(),
  channels: z.array(z.object({ name: z.string(), role: z.enum(ROLES) })),
  chart: z.string().nullable(),
  picture: z.object({ file: z.string(), scaled: z.boolean(), dotsChanged: count }).nullable(),
})
