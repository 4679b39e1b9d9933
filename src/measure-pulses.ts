// A measured segment → its sync faults with causes, its jitter, and the filters that would remove the faults. SI units.

import type { CaptureMeasurement } from './measure.ts'
import { NEAR_SAMPLES, type SegmentMeasurement } from './measure-segment.ts'
import type { Measurement } from './measurement.ts'
import { causeOf, crosstalkEvidence, type CrosstalkEvidence, type FaultCause } from './sync/fault-cause.ts'
import { measureJitter, type JitterFigure } from './sync/jitter.ts'
import { findRemedy, type TickRange } from './sync/remedy.ts'
import type { FrameSync } from './sync/frame-sync.ts'
import type { FaultKind, SyncFault } from './sync/sync-fault.ts'

/** One fault, where a person can find it. */
export interface PulseFault {
  kind: FaultKind
  channel: SyncFault['channel']
  /** From the capture's first time mark. */
  timeSeconds: number
  /** Index of the frame in its segment, -1 before the first vsync. */
  frame: number
  /** Scanline in the frame, from 0; before the first vsync counted from the segment's first. */
  scanline: number
  offsetSeconds: number
  widthSeconds: number
  cause: FaultCause
  lineCountError: -1 | 0 | 1
}

/** One frame as a counter of leading edges would count it. */
export interface PulseFrame {
  frame: number
  scanlines: number
  countedEdges: number
}

/** An observed figure and the part that the instrument's sampling explains, in seconds. */
export interface JitterSeconds {
  observedSeconds: number
  resolutionSeconds: number
}

export interface PulseJitter {
  periodRmsSeconds: number
  periodPeakToPeakSeconds: number
  cycleToCycleRmsSeconds: number
  timeIntervalErrorRmsSeconds: number
  timeIntervalErrorPeakSeconds: number
  /** What sampling alone would show as period RMS. */
  resolutionSeconds: number
  /** The same figures, each beside its own resolution. */
  details: Record<
    'periodRms' | 'periodPeakToPeak' | 'cycleToCycleRms' | 'timeIntervalErrorRms' | 'timeIntervalErrorPeak',
    JitterSeconds
  >
  /** Random jitter of one edge, sampling taken out; value 0 where it is below what the capture can resolve. */
  randomSeconds: Measurement
  wanderRmsSeconds: number
  periodic: { frequencyHz: Measurement; amplitudeSeconds: number } | null
  belowResolution: boolean
}

/** Range of values that work, in seconds. */
export interface SecondsRange {
  min: number
  max: number
}

export interface PulseRemedy {
  holdOffSeconds: SecondsRange | null
  minimumPulseSeconds: SecondsRange | null
  /** Both together, where neither alone suffices. */
  combined: { holdOffSeconds: SecondsRange; minimumPulseSeconds: SecondsRange } | null
}

/** Where faults would not have been seen. */
export const NOT_JUDGED = [
  'first-pulses',
  'last-pulses',
  'vertical-intervals',
  'half-scanline-pulses',
] as const

export interface NotJudged {
  /**
   * Pulses that may be missing before the capture's first or after its last, next to a vsync or where nothing shows one;
   * or vertical intervals of a composite sync that are too few, or too unlike, to be held against each other; or its pulses
   * at half a scanline where they may belong to a vsync that was not captured whole.
   */
  what: (typeof NOT_JUDGED)[number]
  /** Scanlines, intervals, or pulses. */
  count: number
}

/** Sync pulses of one segment, judged. */
export interface PulseMeasurement {
  faults: PulseFault[]
  /** Faults that were counted but not listed. */
  faultsNotListed: number
  faultCounts: Record<FaultKind, number>
  /** Scanlines that a counter of leading edges gains and loses over the segment. */
  miscounted: { gained: number; lost: number }
  frames: PulseFrame[]
  /** Scanlines of a usual frame, null without a whole one. */
  usualScanlines: number | null
  /** Frames whose length differs. */
  oddFrames: number
  jitter: PulseJitter | null
  /** How often the scanlines went on in another phase: the card stopped for a moment, or the probe came off. */
  phaseBreaks: number
  /** Where faults would not have been seen; empty where everything was looked at. */
  notJudged: NotJudged[]
  /** For hsync or csync; null without false edges: nothing to remove. */
  remedy: PulseRemedy | null
  /** The same for vsync. */
  vsyncRemedy: PulseRemedy | null
  crosstalk: CrosstalkEvidence
  hsyncWidthSeconds: number
  scanlineSeconds: number
}

/** @param segment one of `measurement.segments`; the longest without it */
export function measurePulses(
  measurement: CaptureMeasurement,
  segment: SegmentMeasurement = measurement.main,
): PulseMeasurement {
  const { sync } = segment
  const { secondsPerTick, firstTick, resolutionTicks } = measurement.timebase
  const period = 1 / segment.hsync.frequencyHz.value / secondsPerTick
  const shape = {
    hsyncWidthTicks: segment.hsync.widthSeconds.value / secondsPerTick,
    vsyncWidthTicks: (segment.vsync?.widthSeconds.value ?? NaN) / secondsPerTick,
    nearTicks: NEAR_SAMPLES * resolutionTicks,
  }
  const crosstalk = crosstalkEvidence(sync.faults, shape, segment.colourEdgeShare ?? 0)
  const faults = sync.faults.map((fault): PulseFault => {
    const place = placeInFrames(fault, sync.frames)
    return {
      kind: fault.kind,
      channel: fault.channel,
      timeSeconds: (fault.tick - firstTick) * secondsPerTick,
      ...place,
      offsetSeconds: fault.offsetTicks * secondsPerTick,
      widthSeconds: fault.widthTicks * secondsPerTick,
      cause: causeOf(fault, shape, crosstalk),
      lineCountError: fault.lineCountError,
    }
  })
  return {
    faults,
    faultsNotListed: sync.faultCount - faults.length,
    faultCounts: { ...sync.faultCounts },
    miscounted: { ...sync.miscounted },
    frames: sync.frames.flatMap((frame, index) =>
      Number.isNaN(frame.scanlines)
        ? []
        : [
            {
              frame: index,
              scanlines: Math.round(frame.scanlines * 100) / 100,
              countedEdges: frame.countedEdges,
            },
          ],
    ),
    usualScanlines: sync.usualFrameScanlines,
    oddFrames: segment.oddFrames,
    jitter: jitterOf(segment, period, measurement),
    remedy: remedyOf(sync.falseEdges, resolutionTicks, secondsPerTick),
    vsyncRemedy: remedyOf(sync.falseVsyncs, resolutionTicks, secondsPerTick),
    phaseBreaks: sync.phaseBreaks,
    notJudged: notJudgedOf(sync),
    crosstalk,
    hsyncWidthSeconds: segment.hsync.widthSeconds.value,
    scanlineSeconds: 1 / segment.hsync.frequencyHz.value,
  }
}

function notJudgedOf({
  endsNotJudged,
  intervalsNotJudged,
  halvesNotJudged,
}: SegmentMeasurement['sync']): NotJudged[] {
  const counts = {
    'first-pulses': endsNotJudged.first,
    'last-pulses': endsNotJudged.last,
    'vertical-intervals': intervalsNotJudged,
    'half-scanline-pulses': halvesNotJudged,
  }
  return NOT_JUDGED.flatMap((what) => (counts[what] > 0 ? [{ what, count: counts[what] }] : []))
}

function placeInFrames(fault: SyncFault, frames: readonly FrameSync[]): { frame: number; scanline: number } {
  let low = 0
  let high = frames.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (frames[middle]!.firstScanline <= fault.scanline) low = middle + 1
    else high = middle
  }
  const frame = low - 1
  return { frame, scanline: fault.scanline - (frames[frame]?.firstScanline ?? 0) }
}

function jitterOf(
  segment: SegmentMeasurement,
  periodTicks: number,
  { timebase: { secondsPerTick, resolutionTicks }, sampleIntervalSeconds }: CaptureMeasurement,
): PulseJitter | null {
  const residuals = segment.sync.residuals()
  const jitter =
    residuals &&
    measureJitter(segment.sync.jitter, residuals, periodTicks, {
      ticks: resolutionTicks,
      isExact: sampleIntervalSeconds !== null,
    })
  if (!jitter) return null
  const pair = (figure: JitterFigure): JitterSeconds => ({
    observedSeconds: figure.observedTicks * secondsPerTick,
    resolutionSeconds: figure.resolutionTicks * secondsPerTick,
  })
  const details = {
    periodRms: pair(jitter.periodRms),
    periodPeakToPeak: pair(jitter.periodPeakToPeak),
    cycleToCycleRms: pair(jitter.cycleToCycleRms),
    timeIntervalErrorRms: pair(jitter.timeIntervalErrorRms),
    timeIntervalErrorPeak: pair(jitter.timeIntervalErrorPeak),
  }
  const scanlineHz = segment.hsync.frequencyHz.value
  const { periodic } = jitter
  return {
    periodRmsSeconds: details.periodRms.observedSeconds,
    periodPeakToPeakSeconds: details.periodPeakToPeak.observedSeconds,
    cycleToCycleRmsSeconds: details.cycleToCycleRms.observedSeconds,
    timeIntervalErrorRmsSeconds: details.timeIntervalErrorRms.observedSeconds,
    timeIntervalErrorPeakSeconds: details.timeIntervalErrorPeak.observedSeconds,
    resolutionSeconds: details.periodRms.resolutionSeconds,
    details,
    randomSeconds: {
      value: jitter.random.value * secondsPerTick,
      uncertainty: jitter.random.uncertainty * secondsPerTick,
    },
    wanderRmsSeconds: jitter.wanderRmsTicks * secondsPerTick,
    periodic: periodic && {
      frequencyHz: {
        value: periodic.cyclesPerScanline * scanlineHz,
        uncertainty: periodic.uncertaintyCyclesPerScanline * scanlineHz,
      },
      amplitudeSeconds: periodic.amplitudeTicks * secondsPerTick,
    },
    belowResolution: jitter.belowResolution,
  }
}

function remedyOf(
  { edges, truePulses }: SegmentMeasurement['sync']['falseEdges'],
  resolutionTicks: number,
  secondsPerTick: number,
): PulseRemedy | null {
  if (edges.count === 0) return null
  const remedy = findRemedy(edges.edges, truePulses, resolutionTicks)
  const inSeconds = (range: TickRange): SecondsRange => ({
    min: range.min * secondsPerTick,
    max: range.max * secondsPerTick,
  })
  return {
    holdOffSeconds: remedy.holdOff && inSeconds(remedy.holdOff),
    minimumPulseSeconds: remedy.minimumPulse && inSeconds(remedy.minimumPulse),
    combined: remedy.combined && {
      holdOffSeconds: inSeconds(remedy.combined.holdOff),
      minimumPulseSeconds: inSeconds(remedy.combined.minimumPulse),
    },
  }
}

/** Scanline period against scanline number (from the segment's first), in seconds; of a long segment, short means. */
export function scanlinePeriods(
  measurement: CaptureMeasurement,
  segment: SegmentMeasurement = measurement.main,
): { x: Float64Array; y: Float64Array } {
  const residuals = segment.sync.residuals()
  const count = Math.max(0, (residuals?.count ?? 0) - 1)
  const x = new Float64Array(count)
  const y = new Float64Array(count)
  const mean = 1 / segment.hsync.frequencyHz.value
  for (let i = 0; residuals && i < count; i++) {
    const scanlines = residuals.number[i + 1]! - residuals.number[i]!
    x[i] = residuals.number[i]!
    const change = (residuals.offset[i + 1]! - residuals.offset[i]!) / scanlines
    y[i] = mean + change * measurement.timebase.secondsPerTick
  }
  return { x, y }
}
