// The shape of what `render --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { RenderReport } from './render-report.ts'

const count = z.number().int().nonnegative()

/** `rastertap.render/1` */
export const renderSchema: z.ZodType<RenderReport> = z.object({
  format: z.literal('rastertap.render/1'),
  file: z.string(),
  widthPixels: z.number().int().positive(),
  heightPixels: z.number().int().positive(),
  standard: z.string().nullable(),
  palette: z.string(),
  frame: count.nullable(),
  whole: z.boolean(),
  dotsWithoutSample: count,
  dotsInDispute: count,
})
