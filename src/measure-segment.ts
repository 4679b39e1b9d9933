// One finished segment → its measurement: rates, raster, active area, standard and a frame of dots. Pulls the stages
// sync, dots and classify together; no state of its own.

import type { Role } from './capture/role.ts'
import { classify, type Candidate, type Classification, type MeasuredTiming } from './classify/classify.ts'
import type { Standard } from './classify/standard.ts'
import { countDots, MAX_DOTS, MIN_SAMPLES_PER_DOT, type DotCount, type NoDotCount } from './dots/dot-clock.ts'
import { edgePhases, type EdgePhases } from './dots/edge-phases.ts'
import type { FrameSource } from './dots/frame-raster.ts'
import { scanlineGrid } from './dots/scanline-grid.ts'
import { colourEdgeShare, type Recording } from './dots/recording.ts'
import {
  activeArea,
  measurePicture,
  nominalActive,
  provedPicture,
  rowForPorches,
  type ActiveArea,
  type PictureLayout,
  type SegmentPicture,
} from './measure-picture.ts'
import type { Measurement, Polarity } from './measurement.ts'
import type { NoticeList } from './notices.ts'
import { forgiveAbsentHsync } from './sync/hsync-in-vsync.ts'
import type { LineFit } from './sync/line-series.ts'
import { hardlyBeats } from './sync/sampling-beat.ts'
import { MAX_FAULTS_LISTED } from './sync/fault-list.ts'
import { MAX_FRAMES_LISTED } from './sync/frame-list.ts'
import type { SegmentSync } from './sync/segment-sync.ts'
import type { FaultKind } from './sync/sync-fault.ts'
import { hertz, seconds, type Timebase } from './timebase.ts'

export type { ActiveArea, SegmentPicture } from './measure-picture.ts'

/** What is known of the capture as a whole when a segment ends. */
export interface CaptureContext {
  timebase: Timebase
  /** Tick that counts as time 0. */
  firstTick: number
  sampleIntervalTicks: number
  /** Whether edges of sync were placed between two samples, by their voltages. */
  placesSync: boolean
  /** Roles of the recording's planes, in bit order; null = an unnamed channel. */
  planes: readonly (Role | null)[]
  roles: ReadonlySet<Role>
  composite: boolean
  /** Ticks per dot where a dot clock was probed, else null. */
  probedDotTicks: number | null
  timeScaleTrusted: boolean
  /** Whether measurements keep what they were measured from. */
  keepSignal: boolean
  notices: NoticeList
}

/** Where the dot clock comes from. */
export type DotClockOrigin = 'measured' | 'standard' | null

/** One segment, in SI units. */
export interface SegmentMeasurement {
  startSeconds: number
  endSeconds: number
  scanlines: number
  wholeFrames: number
  hsync: { frequencyHz: Measurement; polarity: Polarity; widthSeconds: Measurement }
  vsync: {
    frequencyHz: Measurement | null
    polarity: Polarity
    widthSeconds: Measurement
    widthScanlines: number
  } | null
  raster: {
    scanlinesPerFrame: number | null
    interlaced: boolean
    dotsPerScanline: number | null
    dotClockHz: Measurement | null
    dotClockFrom: DotClockOrigin
    /** Dots per scanline that the picture itself proves: half of the card's where dots are doubled. */
    pictureDotsPerScanline: number | null
    /** Why the dots were not measured; null where they were. */
    dotsNotMeasured: NoDotCount['reason'] | null
    samplesPerDot: number | null
  }
  active: ActiveArea | null
  classification: Classification
  faults: Record<FaultKind, number>
  /** Frames whose length differs from the usual one. */
  oddFrames: number
  /** Share of time that lies within NEAR_SAMPLES of a colour edge, 0 to 1; null without colours. */
  colourEdgeShare: number | null
  sync: SegmentSync
  picture: SegmentPicture | null
  /** What it was measured from; null unless it was to be kept. */
  signal: SegmentSignal | null
}

/** The kept frames of a segment as they came from the wires. */
export interface SegmentSignal {
  source: FrameSource
  /** Roles of the source's planes, in bit order; null = an unnamed channel. */
  planes: readonly (Role | null)[]
  /** What sync alone tells of the timing: what the classification began with. */
  rates: MeasuredTiming
  secondsPerTick: number
}

/** Samples on either side within which two edges count as simultaneous. */
export const NEAR_SAMPLES = 2
/** Steps of a sample that voltages tell at best: what is left of a curved ramp, taken for straight. A judgement. */
const MOST_STEPS = 20
/** Fewest dots per scanline that count as dots rather than as cells of several. */
export const MIN_DOT_COUNT = 300
/** Confidence, against the best standard's, from which another one's dots are likely as well. */
const LIKELY_RATIO = 0.05
/** What edges of the picture are worth where a sample is longer than a dot. */
export const SLACK_DOTS = 2
/** Off the standard's rate by more than any crystal: the time scale is to be doubted (crystals: 150 ppm, common practice). */
const OFF_STANDARD = 500e-6
/** Labels and columns of time are off by less: 1.6 % where whole nanoseconds were written for 41.667. A judgement. */
const WRONG_LABEL = 0.03
const RATES: ReadonlySet<string> = new Set(['scanline rate', 'frame rate'])

/** @returns undefined where the segment is too short to have a rate */
export function measureSegment(
  segment: SegmentSync,
  recording: Recording | undefined,
  context: CaptureContext,
): SegmentMeasurement | undefined {
  const { timebase, notices, sampleIntervalTicks } = context
  const stepTicks = syncStepTicks(segment, context)
  const fit = segment.fit(stepTicks)
  if (!fit) return undefined
  const absent = forgiveAbsentHsync(segment)
  if (absent > 0) {
    notices.add(
      'HSYNC_STOPS_IN_VSYNC',
      () => `the source sends no hsync in ${absent.toFixed(0)} scanlines of each vsync`,
    )
  }
  const { width: hsyncWidth, commonJitterSamples } = segment.hsyncWidth(fit, stepTicks)
  const usual = segment.usualFrameScanlines
  const vsync = vsyncOf(segment, fit, commonJitterSamples, stepTicks, context)
  const rates = ratesOf(segment, fit.period, hsyncWidth, vsync, context)
  const { hsyncHz, interlaced } = rates
  const source = sourceOf(recording, context)
  const samplesPerScanline = fit.period.value / sampleIntervalTicks
  const counted = source && countDotsOf(source, samplesPerScanline, rates)
  const pictureDots = pictureDotsOf(counted, fit.period, context)
  const measuredDots = pictureDots !== null && pictureDots >= MIN_DOT_COUNT ? pictureDots : null
  const layout = {
    fieldScanlines: usual,
    syncShare: hsyncWidth.value / fit.period.value,
    vsyncScanlines: segment.vsyncWidthScanlines,
    planes: context.planes,
  }
  const proved =
    source && measuredDots !== null ? provedPicture(source, { ...layout, dots: measuredDots }) : null
  const content = proved?.lit.content ?? null
  const classification = classify({
    ...rates,
    dotsPerScanline: measuredDots,
    litDots: content && content.right - content.left,
    litScanlines: content && (content.bottom - content.top) * (interlaced ? 2 : 1),
  })
  const row = classification.standard?.standard ?? null
  const dots = dotsOf(pictureDots, row)
  const notMeasured = dots.from === 'measured' ? null : reasonOf(counted)
  const placed: PictureLayout | null =
    dots.count === null
      ? null
      : {
          ...layout,
          dots: dots.count,
          standard: row,
          slackDots: samplesPerScanline / dots.count < MIN_SAMPLES_PER_DOT ? SLACK_DOTS : 0,
        }
  const picture = source && placed ? measurePicture(source, placed, proved) : null
  noteOffStandard(hsyncHz, classification, notices)
  noteUnlisted(segment, notices)
  noteDots(counted, notMeasured, dots, row, fit.period.value * timebase.secondsPerTick, notices)
  if (picture && !picture.raster.whole)
    notices.add('FRAME_NOT_WHOLE', () => 'no frame is captured whole; what is missing stays black')
  return {
    startSeconds: (segment.startTick - context.firstTick) * timebase.secondsPerTick,
    endSeconds: (segment.endTick - context.firstTick) * timebase.secondsPerTick,
    scanlines: segment.scanlines,
    wholeFrames: segment.wholeFrames,
    hsync: {
      frequencyHz: hsyncHz,
      polarity: segment.timing.polarity,
      widthSeconds: seconds(timebase, hsyncWidth),
    },
    vsync,
    raster: {
      scanlinesPerFrame: rates.scanlinesPerFrame,
      interlaced,
      dotsPerScanline: dots.count,
      dotClockHz: dots.count === null ? null : hertz(timebase, fit.period, dots.count),
      dotClockFrom: dots.from,
      pictureDotsPerScanline: measuredDots,
      dotsNotMeasured: notMeasured,
      samplesPerDot: dots.count === null ? null : samplesPerScanline / dots.count,
    },
    active: activeOf(picture, placed, row),
    classification,
    faults: { ...segment.faultCounts },
    oddFrames: segment.oddFrames,
    colourEdgeShare: source ? colourEdgeShare(source.recording, NEAR_SAMPLES * sampleIntervalTicks) : null,
    sync: segment,
    picture,
    signal:
      source && context.keepSignal
        ? { source, planes: context.planes, rates, secondsPerTick: timebase.secondsPerTick }
        : null,
  }
}

/**
 * Steps in which edges of sync are seen, in ticks: samples; finer where voltages place them between two. How much finer
 * depends on how many samples a ramp lasts, and shows in how far edges are off their line.
 */
function syncStepTicks(segment: SegmentSync, { sampleIntervalTicks, placesSync }: CaptureContext): number {
  const fit = placesSync ? segment.fit(sampleIntervalTicks) : undefined
  // an edge faster than a sample lies anywhere between two; where all do so alike, none is off the line
  if (!fit || hardlyBeats(fit.period.value / sampleIntervalTicks, fit.scanlines)) return sampleIntervalTicks
  const off = fit.residualRmsTicks
  // an even distribution over a step has a standard deviation of its root-12th
  return Math.min(sampleIntervalTicks, Math.max(sampleIntervalTicks / MOST_STEPS, Math.sqrt(12) * off))
}

/** What sync alone tells of the timing. */
function ratesOf(
  segment: SegmentSync,
  period: Measurement,
  hsyncWidth: Measurement,
  vsync: SegmentMeasurement['vsync'],
  { timebase, composite, roles, timeScaleTrusted }: CaptureContext,
): MeasuredTiming {
  const usual = segment.usualFrameScanlines
  const interlaced = usual !== null && usual % 1 !== 0
  return {
    hsyncHz: hertz(timebase, period),
    vsyncHz: vsync?.frequencyHz ?? null,
    scanlinesPerFrame: usual === null ? null : interlaced ? usual * 2 : usual,
    interlaced,
    dotsPerScanline: null,
    // a composite sync has a polarity of its own, whatever those that were joined had
    hsyncPolarity: composite ? null : segment.timing.polarity,
    vsyncPolarity: composite ? null : segment.vsyncPolarity,
    hsyncWidthSeconds: seconds(timebase, hsyncWidth),
    vsyncWidthScanlines: segment.vsyncWidthScanlines,
    litDots: null,
    litScanlines: null,
    roles,
    timeScaleTrusted,
  }
}

function countDotsOf(
  source: FrameSource,
  samplesPerScanline: number,
  rates: MeasuredTiming,
): DotCount | NoDotCount {
  const { start, jitterTicks, periodTicks } = source.grid
  const likely = likelyDots(classify(rates))
  return countDots(source.phases, samplesPerScanline, start.length - 1, jitterTicks / periodTicks, likely)
}

/** Dots per scanline as a probed dot clock or the picture gives them. */
function pictureDotsOf(
  counted: DotCount | NoDotCount | undefined,
  period: Measurement,
  { probedDotTicks }: CaptureContext,
): number | null {
  const probed = probedDotTicks === null ? NaN : Math.round(period.value / probedDotTicks)
  // what is probed as a dot clock may be something else
  if (probed >= 1 && probed <= MAX_DOTS) return probed
  return counted && 'dotsPerScanline' in counted ? counted.dotsPerScanline : null
}

/** A count too small to be one of dots says that the picture is made of wide cells. */
function reasonOf(counted: DotCount | NoDotCount | undefined): NoDotCount['reason'] {
  if (!counted) return 'no-edges'
  return 'reason' in counted ? counted.reason : 'few-places'
}

function activeOf(
  picture: SegmentPicture | null,
  layout: PictureLayout | null,
  row: Standard | null,
): ActiveArea | null {
  if (picture && layout) return activeArea(picture, layout)
  return row && nominalActive(layout ? rowForPorches(row, layout) : row)
}

/** Dots per scanline of the standards that the rates alone do not rule out. */
export function likelyDots({ standard, alternatives }: Classification): number[] {
  if (!standard) return []
  const close = alternatives.filter(({ confidence }) => confidence >= LIKELY_RATIO * standard.confidence)
  return [standard, ...close].map((candidate) => candidate.standard.dotsPerScanline)
}

function vsyncOf(
  segment: SegmentSync,
  line: LineFit,
  jitterSamples: number,
  stepTicks: number,
  context: CaptureContext,
): SegmentMeasurement['vsync'] {
  const { timebase } = context
  const width = segment.vsyncWidthScanlines
  const widthTicks = segment.vsyncWidth(line, jitterSamples, stepTicks)
  if (width === null || widthTicks === null || segment.vsyncPolarity === null) return null
  const { period } = line
  const usual = segment.usualFrameScanlines
  const polarity = context.composite ? segment.timing.polarity : segment.vsyncPolarity
  // the frame is a whole (or half) number of scanlines, so its rate is as well known as theirs
  const frequencyHz =
    usual === null
      ? null
      : hertz(timebase, { value: period.value * usual, uncertainty: period.uncertainty * usual })
  return { frequencyHz, polarity, widthSeconds: seconds(timebase, widthTicks), widthScanlines: width }
}

function sourceOf(recording: Recording | undefined, context: CaptureContext): FrameSource | undefined {
  if (!recording || context.planes.length === 0) return undefined
  const grid = scanlineGrid(recording, context.sampleIntervalTicks)
  if (!grid) return undefined
  const planeCount = context.planes.length
  const all = edgePhases(recording, grid, planeCount)
  const phases: EdgePhases[] = all.filter((entry) => context.planes[entry.plane] !== 'display-enable')
  return { recording, grid, phases, planeCount, sampleIntervalTicks: context.sampleIntervalTicks }
}

/** The card's dots per scanline: the picture's own, or the standard's where that is a multiple of it. */
export function dotsOf(
  pictureDots: number | null,
  row: Standard | null,
): { count: number | null; from: DotClockOrigin } {
  if (pictureDots !== null && row) {
    const cells = row.dotsPerScanline % pictureDots === 0
    // some cards retime edges on both clock edges: then half dots are what the picture shows
    const halves = pictureDots === 2 * row.dotsPerScanline
    if (cells || halves) {
      return { count: row.dotsPerScanline, from: pictureDots >= MIN_DOT_COUNT ? 'measured' : 'standard' }
    }
  }
  if (pictureDots !== null && pictureDots >= MIN_DOT_COUNT) return { count: pictureDots, from: 'measured' }
  return row ? { count: row.dotsPerScanline, from: 'standard' } : { count: null, from: null }
}

/** What is counted but not kept one by one. */
function noteUnlisted({ faultCount, faults, wholeFrames, frames }: SegmentSync, notices: NoticeList): void {
  if (faults.length === MAX_FAULTS_LISTED && faultCount > faults.length) {
    notices.add(
      'FAULTS_NOT_LISTED',
      () => `only the first ${MAX_FAULTS_LISTED} of ${faultCount} sync faults are kept one by one`,
      null,
      faultCount - faults.length,
    )
  }
  // the last frame listed is whole only when another vsync ends it
  if (frames.length === MAX_FRAMES_LISTED && wholeFrames >= frames.length) {
    notices.add(
      'FRAMES_NOT_LISTED',
      () => `only the first ${MAX_FRAMES_LISTED} of ${wholeFrames} frames are kept one by one`,
      null,
      wholeFrames - frames.length + 1,
    )
  }
}

function noteOffStandard(hsyncHz: Measurement, classification: Classification, notices: NoticeList): void {
  const found = classification.standard ?? offInRateAlone(classification.nearest)
  if (!found) return
  const nominal = found.dotClockHz / found.standard.dotsPerScanline
  const off = hsyncHz.value / nominal - 1
  if (Math.abs(off) < Math.max(OFF_STANDARD, (4 * hsyncHz.uncertainty) / hsyncHz.value)) return
  const alike = classification.standard ? '' : ', and everything else is as there'
  notices.add(
    'RATE_OFF_STANDARD',
    () =>
      `the scanline rate is ${(off * 100).toFixed(3)} % off ${found.name}, more than crystals are${alike}: ` +
      'the rate stated for this capture may be wrong, or the card has another crystal',
  )
}

/** The nearest row, where everything fits it but rates that a false time scale would explain. */
function offInRateAlone(nearest: Candidate): Candidate | null {
  const others = nearest.differences.filter(({ quantity }) => !RATES.has(quantity))
  const rate = nearest.differences.find(({ quantity }) => quantity === 'scanline rate')
  if (others.length > 0 || !rate) return null
  return Math.abs(Number(rate.measured) / Number(rate.nominal) - 1) < WRONG_LABEL ? nearest : null
}

function noteDots(
  counted: DotCount | NoDotCount | undefined,
  reason: NoDotCount['reason'] | null,
  dots: { count: number | null; from: DotClockOrigin },
  row: Standard | null,
  scanlineSeconds: number,
  notices: NoticeList,
): void {
  if (counted && 'sampleGridCoheres' in counted && counted.sampleGridCoheres) {
    notices.add(
      'SAMPLE_GRID_COHERES',
      () => 'a scanline is a whole number of samples: the sample grid was told apart from the dots',
    )
  }
  if (reason !== 'sample-rate-too-low' && !(reason === 'not-periodic' && row)) return
  const wanted = row ? (row.dotsPerScanline / scanlineSeconds) * MIN_SAMPLES_PER_DOT * 1.3 : null
  notices.add('DOT_CLOCK_NOT_MEASURABLE', () => {
    const rate = wanted === null ? 'a higher rate' : `${Math.ceil(wanted / 1e6)} MS/s or more`
    const assumed = dots.from === 'standard' ? "; the standard's value is assumed" : ''
    return `the dots are not measurable at this sample rate${assumed}; ${rate} would do`
  })
}
