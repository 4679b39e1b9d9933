// A measurement → the object that `identify --json` prints, and the type of it. The contract's names live here; the schema
// that checks them is in identify-schema.ts, so that only those who check load the schema library.

import type { Candidate } from '../classify/classify.ts'
import type { AnalogThreshold } from '../capture/analog-threshold.ts'
import type { CaptureMeasurement } from '../measure.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import type { Notice } from '../notices.ts'
import { differenceText } from './difference-text.ts'
import { missingEvidence, type MissingEvidence } from './missing-evidence.ts'

/** A standard with how sure the answer is, 0 to 1. */
export interface NamedStandard {
  id: string
  name: string
  confidence: number
}

/** One segment as JSON: what was measured, and what it is taken for. */
export interface SegmentReport extends Omit<
  SegmentMeasurement,
  'classification' | 'sync' | 'picture' | 'signal' | 'colourEdgeShare'
> {
  standard: NamedStandard | null
  alternatives: NamedStandard[]
  /** The row at the smallest distance, also where none matches; differences in words. */
  nearest: { id: string; name: string; differences: string[] }
  familyNote: string | null
  /** The standard with those that nothing measured tells from it; several where too little is captured to name one. */
  family: NamedStandard[]
  /** Probability that one of `family` is right; 0 without one. */
  familyConfidence: number
  /** Probability of "none of the known standards". */
  noneConfidence: number
  /** What the capture leaves open. */
  missing: MissingEvidence[]
}

/** `rastertap.identify/1`. Times in seconds from the first time mark, rates in hertz, uncertainties k = 1. */
export interface IdentifyReport {
  format: 'rastertap.identify/1'
  capture: {
    file: string
    kind: 'vcd' | 'csv'
    durationSeconds: number
    sampleIntervalSeconds: number | null
    /** k = 1; 0 where the interval is a whole number of the file's ticks. */
    sampleIntervalUncertaintySeconds: number | null
    transitions: number
    channels: {
      name: string
      role: string | null
      /** Of a channel of voltages: where it was cut into levels, and the usual voltage of either, null where not seen. */
      threshold?:
        | {
            volts: number
            lowBelowVolts: number
            highAboveVolts: number
            lowLevelVolts: number | null
            highLevelVolts: number | null
            from: AnalogThreshold['from']
          }
        | undefined
    }[]
    notices: (Omit<Notice, 'code'> & { code: string })[]
  }
  segments: SegmentReport[]
  /** The longest of `segments`, repeated. */
  main: SegmentReport
}

/** @param file name as the user gave it, `-` for standard input */
export function identifyReport(measurement: CaptureMeasurement, file: string): IdentifyReport {
  const { kind, durationSeconds, sampleIntervalSeconds, sampleIntervalUncertaintySeconds } = measurement
  const { transitions, channels, notices } = measurement
  const segments = measurement.segments.map((segment) => segmentReport(segment, measurement))
  return {
    format: 'rastertap.identify/1',
    capture: {
      file,
      kind,
      durationSeconds,
      sampleIntervalSeconds,
      sampleIntervalUncertaintySeconds,
      transitions,
      channels: channels.map(channelReport),
      notices,
    },
    segments,
    main: segments[measurement.segments.indexOf(measurement.main)]!,
  }
}

function segmentReport(segment: SegmentMeasurement, measurement: CaptureMeasurement): SegmentReport {
  const {
    classification,
    sync: _sync,
    picture: _picture,
    signal: _signal,
    colourEdgeShare: _share,
    ...values
  } = segment
  const { standard, alternatives, nearest, familyNote, family, familyConfidence, noneConfidence } =
    classification
  return {
    ...values,
    standard: standard && named(standard),
    alternatives: alternatives.map(named),
    nearest: { id: nearest.id, name: nearest.name, differences: nearest.differences.map(differenceText) },
    familyNote,
    family: family.map(named),
    familyConfidence,
    noneConfidence,
    missing: missingEvidence(segment, measurement),
  }
}

function named({ id, name, confidence }: Candidate): NamedStandard {
  return { id, name, confidence }
}

function channelReport({
  name,
  role,
  threshold,
}: CaptureMeasurement['channels'][number]): IdentifyReport['capture']['channels'][number] {
  if (!threshold) return { name, role }
  const { voltsPerUnit, middle, low, high, lowLevel, highLevel, from } = threshold
  return {
    name,
    role,
    threshold: {
      volts: middle * voltsPerUnit,
      lowBelowVolts: low * voltsPerUnit,
      highAboveVolts: high * voltsPerUnit,
      lowLevelVolts: lowLevel === null ? null : lowLevel * voltsPerUnit,
      highLevelVolts: highLevel === null ? null : highLevel * voltsPerUnit,
      from,
    },
  }
}
