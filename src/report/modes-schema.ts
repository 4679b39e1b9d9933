// The shape of what `modes --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { ModesReport } from './modes-report.ts'

const count = z.number().int().positive()
const polarity = z.enum(['positive', 'negative']).nullable()

/** `rastertap.modes/1`. Rates in hertz. */
export const modesSchema: z.ZodType<ModesReport> = z.object({
  format: z.literal('rastertap.modes/1'),
  modes: z.array(
    z.object({
      id: z.string(),
      name: z.string(),
      dotClockHz: z.number().positive(),
      dotsPerScanline: count,
      scanlinesPerFrame: count,
      activeDots: count,
      activeScanlines: count,
      hsyncPolarity: polarity,
      vsyncPolarity: polarity,
      channels: z.string(),
      scanlineHz: z.number().positive(),
      frameHz: z.number().positive(),
      interlaced: z.boolean(),
      sameTimingAs: z.string().nullable(),
      note: z.string().nullable(),
      source: z.string(),
      mark: z.enum(['published', 'published, derived', 'common practice', 'from memory']),
    }),
  ),
})
