// A measured capture → the picture that several of its frames show together: for instruments too slow to show every dot
// in one frame. Beside render-frame.ts, which draws a single one.

import { classify } from './classify/classify.ts'
import { STANDARDS } from './classify/standards.ts'
import type { Area } from './dots/active-area.ts'
import { fittingCounts } from './dots/dot-clock.ts'
import {
  countMergedDots,
  mergedSamplesPerScanline,
  mergeFrames,
  mergeSetup,
  type MergedFrames,
  type MergeSetup,
} from './dots/merge-frames.ts'
import { MAX_MERGED_FRAMES } from './dots/merged-frames.ts'
import { CaptureError, SignalError } from './errors.ts'
import type { CaptureMeasurement } from './measure.ts'
import { isOtherFieldUpper, litIn, placePicture, type SegmentPicture } from './measure-picture.ts'
import {
  dotsOf,
  likelyDots,
  MIN_DOT_COUNT,
  SLACK_DOTS,
  type SegmentMeasurement,
  type SegmentSignal,
} from './measure-segment.ts'
import type { MergeSummary } from './merge-summary.ts'
import { partIn } from './merged-part.ts'
import {
  chooseSegment,
  draw,
  noPicture,
  wholeOf,
  type RenderedFrame,
  type RenderOptions,
} from './render-frame.ts'
import { hertz } from './timebase.ts'

/** Which picture is wanted, and of how many frames. */
export interface MergeOptions extends Omit<RenderOptions, 'frame'> {
  /** Most frames to merge, 1 to MAX_MERGED_FRAMES; all that were kept without it. */
  frames?: number | undefined
}

/** Parts that are listed one by one. */
const MAX_PARTS = 64
/** How far from a likely count others are tried, where the picture does not prove one. */
const NEIGHBOURS = 20
/** Share of dots between samples from which on the picture's own edges prove no size. */
const MANY_UNSAMPLED = 1e-3

/**
 * Draws what the kept frames show together (`frames`, with `keepSignal`, tell the measuring pass to keep them).
 *
 * Each sample that lies safely inside a dot tells its level; where frames contradict each other the picture moves or
 * blinks, and that part is drawn as some of them show it.
 * @throws {CaptureError} SEGMENT_NOT_FOUND, PALETTE_UNKNOWN; FRAME_NOT_FOUND where no frame is whole, or the signal was
 *   not kept
 * @throws {SignalError} VIDEO_NOT_FOUND, DOT_CLOCK_UNKNOWN as `renderFrame`; FRAMES_NOT_MERGEABLE
 */
export function renderMerged(measurement: CaptureMeasurement, options: MergeOptions = {}): RenderedFrame {
  const segment = chooseSegment(measurement, options.segment)
  const { signal } = segment
  const frameScanlines = segment.sync.usualFrameScanlines
  if (!signal || frameScanlines === null) throw noFrames()
  const setups = setupsOf(segment, signal, frameScanlines, options.frames)
  const first = setups[0]!
  if (!first.frames.some(({ whole }) => whole)) throw noFrames()
  const dots = countOf(segment, signal, first)
  const fields = setups.map((setup) => {
    const merged = mergeFrames(signal.source, setup, dots.count)
    if (!merged) throw notMergeable('a frame has more dots than are merged', 'capture fewer channels')
    return { setup, merged }
  })
  const classified = withClassification(segment, signal, fields[0]!.merged, dots)
  const picture = pictureOf(
    classified,
    signal,
    fields.map(({ merged }) => merged),
    dots.count,
  )
  if (!picture) throw noPicture(segment)
  const drawn = draw(classified, picture, options)
  const windows = windowsOf(picture, options.fullRaster ?? false)
  const inWindows = (marks: (merged: MergedFrames) => Uint8Array): number =>
    windows.reduce((sum, window, i) => sum + countIn(marks(fields[i]!.merged), dots.count, window), 0)
  return {
    ...drawn,
    dotsWithoutSample: inWindows(({ unsampled }) => unsampled),
    dotsInDispute: inWindows(({ disputed }) => disputed),
    merge: summaryOf(classified, signal, fields, dots, windows, isOtherFieldUpper(picture)),
  }
}

/** One for each field. */
function setupsOf(
  segment: SegmentMeasurement,
  { source }: SegmentSignal,
  frameScanlines: number,
  frames: number | undefined,
): MergeSetup[] {
  const step = segment.raster.interlaced ? 2 : 1
  const doubt = segment.sync.fit(source.sampleIntervalTicks)?.period.uncertainty ?? 0
  const mostFrames = Math.min(frames ?? MAX_MERGED_FRAMES, MAX_MERGED_FRAMES)
  const list = Array.from({ length: step }, (_, from) =>
    mergeSetup(source, { frameScanlines, mostFrames, step, from }, doubt),
  )
  if (list[0] === undefined) {
    throw notMergeable(
      'the edges of this capture lie on no sample grid, so that nothing says when levels were looked at',
      'render one frame, without --merge',
    )
  }
  return list.filter((setup) => setup !== undefined)
}

/** Dots per scanline and where they come from. */
interface MergedCount {
  count: number
  from: MergeSummary['dotClockFrom']
  /** As the picture itself proves it; null where it does not. */
  picture: number | null
  others: number[]
}

function countOf(segment: SegmentMeasurement, { source }: SegmentSignal, setup: MergeSetup): MergedCount {
  const row = segment.classification.standard?.standard ?? null
  const { raster } = segment
  const likely = likelyDots(segment.classification)
  const counted = countMergedDots(source, setup, likely)
  // what one frame proves needs no others
  const own = raster.dotClockFrom === 'measured' ? raster.pictureDotsPerScanline : null
  const picture = 'dotsPerScanline' in counted ? counted.dotsPerScanline : own
  if (picture !== null && picture >= MIN_DOT_COUNT) {
    const { count } = dotsOf(picture, row)
    return { count: count!, from: 'measured', picture, others: [] }
  }
  const count = raster.dotsPerScanline
  if (count === null) {
    throw source.phases.length === 0 ? noPicture(segment) : noDotClock()
  }
  const near = [...likely, count].flatMap((dots) =>
    Array.from({ length: 2 * NEIGHBOURS + 1 }, (_, i) => dots - NEIGHBOURS + i),
  )
  const tried = new Set([...near, ...STANDARDS.map(({ dotsPerScanline }) => dotsPerScanline)])
  const { periodTicks, jitterTicks } = source.grid
  const fitting = fittingCounts(
    setup.edges.phases,
    [...tried],
    mergedSamplesPerScanline(source, setup),
    jitterTicks / periodTicks,
  )
  return {
    count,
    from: raster.dotClockFrom ?? 'standard',
    picture: null,
    others: fitting.filter((dots) => dots !== count),
  }
}

/** The segment with what its merged dots add to the answer. */
function withClassification(
  segment: SegmentMeasurement,
  signal: SegmentSignal,
  { raster }: MergedFrames,
  dots: MergedCount,
): SegmentMeasurement {
  if (dots.picture === null || segment.raster.dotClockFrom === 'measured') return segment
  const { content } = litIn(raster, {
    planes: signal.planes,
    syncShare: syncShareOf(segment),
    dots: dots.count,
  })
  const shrink = dots.picture / dots.count
  const classification = classify({
    ...signal.rates,
    dotsPerScanline: dots.picture,
    litDots: content && (content.right - content.left) * shrink,
    litScanlines: content && (content.bottom - content.top) * (segment.raster.interlaced ? 2 : 1),
  })
  return { ...segment, classification }
}

function syncShareOf({ hsync }: SegmentMeasurement): number {
  return hsync.widthSeconds.value * hsync.frequencyHz.value
}

function pictureOf(
  segment: SegmentMeasurement,
  { source, planes }: SegmentSignal,
  merged: readonly MergedFrames[],
  dots: number,
): SegmentPicture | null {
  const [first, second] = merged
  const { raster } = first!
  const unsampled = raster.dotsWithoutSample / raster.codes.length
  return placePicture(source.recording.frames, raster, second?.raster, {
    dots,
    fieldScanlines: segment.sync.usualFrameScanlines,
    syncShare: syncShareOf(segment),
    vsyncScanlines: segment.vsync?.widthScanlines ?? null,
    standard: segment.classification.standard?.standard ?? null,
    planes,
    slackDots: unsampled > MANY_UNSAMPLED ? SLACK_DOTS : 0,
  })
}

/** What of each field is drawn. */
function windowsOf(picture: SegmentPicture, fullRaster: boolean): Area[] {
  const fields = picture.otherField ? [picture, picture.otherField] : [picture]
  return fields.map(({ raster, area }) => (fullRaster ? wholeOf(raster) : area))
}

function countIn(marks: Uint8Array, width: number, { left, right, top, bottom }: Area): number {
  let count = 0
  for (let row = top; row < bottom; row++) {
    for (let dot = left; dot < right; dot++) count += marks[row * width + dot]!
  }
  return count
}

function summaryOf(
  segment: SegmentMeasurement,
  { source, secondsPerTick }: SegmentSignal,
  fields: readonly { setup: MergeSetup; merged: MergedFrames }[],
  dots: MergedCount,
  windows: readonly Area[],
  otherFieldUpper: boolean,
): MergeSummary {
  const { setup, merged } = fields[0]!
  const frames = setup.frames.filter(({ whole }) => whole).length
  const more = fields.map((field) => field.merged.coverage.moreFrames)
  const parts = windows.flatMap((window, field) => {
    const below = windows.length > 1 && (field === 1) !== otherFieldUpper ? 1 : 0
    return fields[field]!.merged.parts.flatMap(
      (part) => partIn(part, window, windows.length, below, segment.vsync?.frequencyHz ?? null) ?? [],
    )
  })
  const period = segment.sync.fit(source.sampleIntervalTicks)?.period
  const periodTicks = period ?? { value: source.grid.periodTicks, uncertainty: 0 }
  return {
    frames,
    framesInPart: setup.frames.length - frames,
    moreFrames: more.reduce(
      (most, count) => (most === null || count === null ? null : Math.max(most, count)),
      0,
    ),
    dotsPerScanline: dots.count,
    dotClockHz: hertz({ secondsPerTick }, periodTicks, dots.count),
    dotClockFrom: dots.from,
    otherDotsPerScanline: dots.others,
    samplesPerDot: source.grid.periodTicks / dots.count / setup.instants.intervalTicks,
    frameStepSamples: merged.stepSamples,
    sampleGridMoves: merged.coverage.gridMoves,
    jitterSeconds: merged.jitterTicks * secondsPerTick,
    guardSeconds: merged.guardTicks * secondsPerTick,
    parts: parts.slice(0, MAX_PARTS),
    partsNotListed: Math.max(0, parts.length - MAX_PARTS),
  }
}

function noFrames(): CaptureError {
  return new CaptureError(
    'FRAME_NOT_FOUND',
    'no whole frame was kept of this segment',
    {},
    { hint: 'capture for at least two frame times' },
  )
}

function noDotClock(): SignalError {
  return new SignalError(
    'DOT_CLOCK_UNKNOWN',
    'the dots cannot be told apart, and no standard says how many there are',
    {},
    { hint: 'capture more frames, or at a higher sample rate, or a picture with more detail' },
  )
}

function notMergeable(message: string, hint: string): SignalError {
  return new SignalError('FRAMES_NOT_MERGEABLE', message, {}, { hint })
}
