// The shape of what `preview --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { PreviewReport } from './preview-report.ts'
import { cautionsSchema, planSchema } from './sampling-schema.ts'

const count = z.number().int().nonnegative()

/** `rastertap.preview/1` */
export const previewSchema: z.ZodType<PreviewReport> = z.object({
  format: z.literal('rastertap.preview/1'),
  file: z.string(),
  files: z.array(z.string()),
  maskFiles: z.array(z.string()),
  animated: z.boolean(),
  widthPixels: z.number().int().positive(),
  heightPixels: z.number().int().positive(),
  standard: z.string().nullable(),
  palette: z.string(),
  plan: planSchema,
  count: z.enum(['edges', 'filtered']),
  filterSeconds: z.number().nonnegative(),
  holdOffSeconds: z.number().nonnegative(),
  frames: z.array(
    z.object({
      frame: count,
      sentScanlines: z.number().positive().nullable(),
      countedScanlines: count,
      lowByRows: z.number().int().nullable(),
      differentDots: count,
    }),
  ),
  columnsDiffering: z.array(count),
  cautions: cautionsSchema,
})
