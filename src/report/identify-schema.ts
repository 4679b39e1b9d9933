// The shape of what `identify --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import type { IdentifyReport } from './identify-report.ts'

const measurement = z.object({ value: z.number(), uncertainty: z.number().nonnegative() })
const polarity = z.enum(['positive', 'negative'])
const named = z.object({ id: z.string(), name: z.string(), confidence: z.number().min(0).max(1) })
const count = z.number().int().nonnegative()
/** A porch of an interlaced field may end in mid-scanline. */
const halves = z.number().multipleOf(0.5)

const segment = z.object({
  startSeconds: z.number(),
  endSeconds: z.number(),
  scanlines: count,
  wholeFrames: count,
  hsync: z.object({ frequencyHz: measurement, polarity, widthSeconds: measurement }),
  vsync: z
    .object({
      frequencyHz: measurement.nullable(),
      polarity,
      widthSeconds: measurement,
      widthScanlines: z.number().nonnegative(),
    })
    .nullable(),
  raster: z.object({
    scanlinesPerFrame: z.number().positive().nullable(),
    interlaced: z.boolean(),
    dotsPerScanline: z.number().int().positive().nullable(),
    dotClockHz: measurement.nullable(),
    dotClockFrom: z.enum(['measured', 'standard']).nullable(),
    pictureDotsPerScanline: z.number().int().positive().nullable(),
    dotsNotMeasured: z.enum(['no-edges', 'few-places', 'sample-rate-too-low', 'not-periodic']).nullable(),
    samplesPerDot: z.number().positive().nullable(),
  }),
  active: z
    .object({
      dots: count,
      scanlines: count,
      from: z.enum(['measured', 'standard']),
      hBackPorchDots: z.number().int(),
      hFrontPorchDots: z.number().int(),
      vBackPorchScanlines: halves.nullable(),
      vFrontPorchScanlines: halves.nullable(),
    })
    .nullable(),
  standard: named.nullable(),
  alternatives: z.array(named),
  nearest: z.object({ id: z.string(), name: z.string(), differences: z.array(z.string()) }),
  familyNote: z.string().nullable(),
  family: z.array(named),
  familyConfidence: z.number().min(0).max(1),
  noneConfidence: z.number().min(0).max(1),
  missing: z.array(
    z.object({
      what: z.enum(['vsync', 'frame', 'polarity', 'dots', 'picture', 'active-area', 'active-height']),
      message: z.string(),
    }),
  ),
  oddFrames: count,
  faults: z.object({ extra: count, missing: count, short: count, early: count, late: count, width: count }),
})

/** `rastertap.identify/1`. Times in seconds from the first time mark, rates in hertz, uncertainties k = 1. */
export const identifySchema: z.ZodType<IdentifyReport> = z.object({
  format: z.literal('rastertap.identify/1'),
  capture: z.object({
    file: z.string(),
    kind: z.enum(['vcd', 'csv']),
    durationSeconds: z.number().nonnegative(),
    sampleIntervalSeconds: z.number().positive().nullable(),
    sampleIntervalUncertaintySeconds: z.number().nonnegative().nullable(),
    transitions: count,
    channels: z.array(
      z.object({
        name: z.string(),
        role: z.string().nullable(),
        threshold: z
          .object({
            volts: z.number(),
            lowBelowVolts: z.number(),
            highAboveVolts: z.number(),
            lowLevelVolts: z.number().nullable(),
            highLevelVolts: z.number().nullable(),
            from: z.enum(['levels', 'other-channels', 'ttl']),
          })
          .optional(),
      }),
    ),
    notices: z.array(
      z.object({
        code: z.string(),
        message: z.string(),
        firstAtByte: count.nullable(),
        count: z.number().int().positive(),
      }),
    ),
  }),
  segments: z.array(segment),
  main: segment,
})
