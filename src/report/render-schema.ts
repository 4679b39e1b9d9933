// The shape of what `render --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { RenderReport } from './render-report.ts'

const count = z.number().int().nonnegative()

const measurement = z.object({ value: z.number(), uncertainty: z.number().nonnegative() })

const part = z.object({
  kind: z.enum(['blinking', 'changed', 'moving']),
  left: count,
  top: count,
  dots: z.number().int().positive(),
  scanlines: z.number().int().positive(),
  dotsInDispute: count,
  blinkHz: measurement.nullable(),
  framesDrawn: count,
})

const merge = z.object({
  frames: count,
  framesInPart: count,
  moreFrames: count.nullable(),
  dotsPerScanline: z.number().int().positive(),
  dotClockHz: measurement,
  dotClockFrom: z.enum(['measured', 'standard']),
  otherDotsPerScanline: z.array(z.number().int().positive()),
  samplesPerDot: z.number().positive(),
  frameStepSamples: measurement,
  sampleGridMoves: z.boolean(),
  jitterSeconds: z.number().nonnegative(),
  guardSeconds: z.number().nonnegative(),
  parts: z.array(part),
  partsNotListed: count,
})

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
  merge: merge.nullable(),
})
