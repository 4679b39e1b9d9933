// The shape of what `pulses --json` prints: a contract. Names are added, never changed.

import { z } from 'zod'
import { NOT_JUDGED } from '../measure-pulses.ts'
import { FAULT_CAUSES } from '../sync/fault-cause.ts'
import { FAULT_KINDS } from '../sync/sync-fault.ts'
import type { PulsesReport } from './pulses-report.ts'

const count = z.number().int().nonnegative()
const seconds = z.number().nonnegative()
const measurement = z.object({ value: z.number(), uncertainty: seconds })
const range = z.object({ min: seconds, max: seconds })
const figure = z.object({ observedSeconds: seconds, resolutionSeconds: seconds })
const remedy = z
  .object({
    holdOffSeconds: range.nullable(),
    minimumPulseSeconds: range.nullable(),
    combined: z.object({ holdOffSeconds: range, minimumPulseSeconds: range }).nullable(),
  })
  .nullable()

/** `rastertap.pulses/1` */
export const pulsesSchema: z.ZodType<PulsesReport> = z.object({
  format: z.literal('rastertap.pulses/1'),
  file: z.string(),
  faults: z.array(
    z.object({
      kind: z.enum(FAULT_KINDS),
      channel: z.enum(['hsync', 'vsync', 'csync']),
      timeSeconds: z.number(),
      frame: z.number().int().min(-1),
      scanline: z.number().int(),
      offsetSeconds: z.number(),
      widthSeconds: seconds,
      cause: z.enum(FAULT_CAUSES),
      lineCountError: z.union([z.literal(-1), z.literal(0), z.literal(1)]),
    }),
  ),
  faultsNotListed: count,
  faultCounts: z.object({
    extra: count,
    missing: count,
    short: count,
    early: count,
    late: count,
    width: count,
  }),
  miscounted: z.object({ gained: count, lost: count }),
  frames: z.array(z.object({ frame: count, scanlines: z.number().positive(), countedEdges: count })),
  usualScanlines: z.number().positive().nullable(),
  oddFrames: count,
  jitter: z
    .object({
      periodRmsSeconds: seconds,
      periodPeakToPeakSeconds: seconds,
      cycleToCycleRmsSeconds: seconds,
      timeIntervalErrorRmsSeconds: seconds,
      timeIntervalErrorPeakSeconds: seconds,
      resolutionSeconds: seconds,
      details: z.object({
        periodRms: figure,
        periodPeakToPeak: figure,
        cycleToCycleRms: figure,
        timeIntervalErrorRms: figure,
        timeIntervalErrorPeak: figure,
      }),
      randomSeconds: measurement,
      wanderRmsSeconds: seconds,
      periodic: z.object({ frequencyHz: measurement, amplitudeSeconds: seconds }).nullable(),
      belowResolution: z.boolean(),
    })
    .nullable(),
  phaseBreaks: count,
  notJudged: z.array(z.object({ what: z.enum(NOT_JUDGED), count })),
  remedy,
  vsyncRemedy: remedy,
  crosstalk: z.object({ pulses: count, withColourEdge: count, chance: z.number().min(0).max(1) }),
  hsyncWidthSeconds: seconds,
  scanlineSeconds: seconds,
})
