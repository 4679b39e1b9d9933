// The shape of what `output --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { OutputReport } from './output-report.ts'
import { cautionsSchema, pllSchema } from './sampling-schema.ts'

const count = z.number().int().nonnegative()
const positive = z.number().positive()
const polarity = z.enum(['positive', 'negative'])

const input = z.object({
  hsyncHz: positive,
  vsyncHz: positive,
  dotsPerScanline: count,
  scanlinesPerFrame: positive,
  activeDots: count,
  activeScanlines: count,
  dotClockHz: positive,
  standard: z.string().nullable(),
  name: z.string(),
  assumed: z.array(z.string()),
})

const clock = z.object({
  wantedHz: positive,
  madeHz: positive,
  clockHz: positive,
  clocksPerDot: z.number().int().positive(),
  errorPpm: z.number(),
  withinTolerance: z.boolean(),
  pll: pllSchema.nullable(),
})

const choice = z.object({
  id: z.string(),
  name: z.string(),
  scanlineRepeat: z.literal([1, 2, 3]),
  dotRepeat: z.number().int().positive(),
  borders: z.object({ leftDots: count, rightDots: count, topScanlines: count, bottomScanlines: count }),
  hsyncHz: positive,
  vsyncHz: positive,
  hsyncPolarity: polarity.nullable(),
  vsyncPolarity: polarity.nullable(),
  bufferBytes: count,
  buffers: z.object({ scanlineBytes: count, framePackedBytes: count, frameBytePerDotBytes: count }),
  fits: z.boolean(),
  frameRateBeatHz: z.number().nonnegative(),
  beatSeconds: positive.nullable(),
  lineBufferOnly: z.boolean(),
  dotClockHz: positive,
  clock: clock.nullable(),
  monitors: z.array(z.string()),
  mark: z.enum(['published', 'published, derived', 'common practice', 'from memory']),
  notes: z.array(z.string()),
})

const value = z.union([z.number(), z.string()]).nullable()

const check = z.object({
  id: z.string(),
  name: z.string(),
  findings: z.array(
    z.object({
      what: z.string(),
      measured: value,
      expected: value,
      unit: z.enum(['Hz', 'dots', 'scanlines', 'polarity']),
      deviationPpm: z.number().nullable(),
      uncertaintyPpm: z.number().nonnegative().nullable(),
      tolerancePpm: z.number().nonnegative().nullable(),
      pass: z.boolean().nullable(),
    }),
  ),
  pass: z.boolean(),
})

/** `rastertap.output/1`. Hertz, seconds, dots, scanlines, bytes, as the names say. */
export const outputSchema: z.ZodType<OutputReport> = z.object({
  format: z.literal('rastertap.output/1'),
  file: z.string().nullable(),
  input: input.nullable(),
  ramBytes: count.nullable(),
  bitsPerDot: z.number().int().positive().nullable(),
  whyNotDirect: z.array(z.string()),
  choices: z.array(choice),
  check: check.nullable(),
  cautions: cautionsSchema,
})
