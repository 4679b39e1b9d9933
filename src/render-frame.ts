// A measured capture → the picture of one frame, as codes with a palette and as a PNG. The PNG writer is called by the
// caller, so that this stays free of Node.

import type { Area } from './dots/active-area.ts'
import { frameRaster, isFrameTooLarge, type FrameRaster } from './dots/frame-raster.ts'
import { CaptureError, SignalError } from './errors.ts'
import type { CaptureMeasurement } from './measure.ts'
import { isOtherFieldUpper, type FieldPicture, type SegmentPicture } from './measure-picture.ts'
import type { SegmentMeasurement } from './measure-segment.ts'
import type { MergeSummary } from './merge-summary.ts'
import { checkPictureSize } from './picture/picture-size.ts'
import { choosePalette, paletteByName, type Palette } from './picture/palette.ts'
import { weave, type CodeRows } from './picture/weave.ts'

/** Which picture is wanted. */
export interface RenderOptions {
  /** Index of the segment; the longest without it. */
  segment?: number | undefined
  /** Index of the frame in its segment, as it was given to the measuring pass; the first whole one without it. */
  frame?: number | undefined
  /** A name of PALETTE_NAMES; chosen by the mode without it. */
  palette?: string | undefined
  /** Sync and porches too, not only the active area. */
  fullRaster?: boolean | undefined
}

/** One frame, ready to be written. */
export interface RenderedFrame {
  widthPixels: number
  heightPixels: number
  codes: Uint16Array
  palette: Palette
  /** Width over height of one pixel on the monitor that the mode was made for. */
  pixelAspect: number
  /** Id of the standard that chose palette and window, null without one. */
  standard: string | null
  /** Index of the frame in its segment; null where no vsync begins it. */
  frame: number | null
  /** False where part of the frame was not captured. */
  whole: boolean
  /** Dots of the picture in which the instrument took no sample: they show a neighbour's level. */
  dotsWithoutSample: number
  /** Dots of the raster that these are counted in: blanking and all. */
  rasterDots: number
  /** Dots about which several frames disagree; always 0 for a single frame. */
  dotsInDispute: number
  /** What several frames together told; null for a single frame. */
  merge: MergeSummary | null
}

/** Aspect of the picture where no standard tells: the monitors of the time are 4:3. */
const DISPLAY_ASPECT = 4 / 3

/**
 * Draws a frame of a measured capture.
 * @throws {CaptureError} SEGMENT_NOT_FOUND, FRAME_NOT_FOUND, PALETTE_UNKNOWN, PICTURE_TOO_LARGE
 * @throws {SignalError} VIDEO_NOT_FOUND without colour channels; DOT_CLOCK_UNKNOWN where dots cannot be told apart
 */
export function renderFrame(measurement: CaptureMeasurement, options: RenderOptions = {}): RenderedFrame {
  const segment = chooseSegment(measurement, options.segment)
  const { picture } = segment
  if (!picture) throw noPicture(segment)
  const { raster } = picture
  if (options.frame !== undefined && raster.frame !== options.frame) {
    const frames = segment.wholeFrames
    throw new CaptureError(
      'FRAME_NOT_FOUND',
      `there is no whole frame ${options.frame} in this segment`,
      {},
      { hint: frames > 0 ? `frames 0 to ${frames - 1} are whole` : 'capture for at least two frame times' },
    )
  }
  return draw(segment, picture, options)
}

/**
 * Draws every whole frame that the measuring pass kept (`frames`, with `keepSignal`), in order.
 * @throws {CaptureError} as `renderFrame`; FRAME_NOT_FOUND where no frame is whole, or the signal was not kept
 */
export function renderFrames(
  measurement: CaptureMeasurement,
  options: Omit<RenderOptions, 'frame'> = {},
): RenderedFrame[] {
  const segment = chooseSegment(measurement, options.segment)
  const { picture, signal } = segment
  if (!picture) throw noPicture(segment)
  const fields = picture.otherField ? 2 : 1
  const list: RenderedFrame[] = []
  let rows = 0
  const captured = signal?.source.recording.frames.length ?? 0
  for (let index = 0; signal && index + fields <= captured; index += fields) {
    const { dotsPerScanline, scanlines } = picture.raster
    const raster = frameRaster(signal.source, dotsPerScanline, scanlines, index)
    // where this frame is cut, another is offered in its place
    if (!raster?.whole || raster.frame !== signal.source.recording.firstFrame + index) continue
    const next = picture.otherField
      ? frameRaster(signal.source, dotsPerScanline, picture.otherField.raster.scanlines, index + 1)
      : undefined
    if (picture.otherField && !next?.whole) continue
    const otherField = picture.otherField && next ? { ...picture.otherField, raster: next } : null
    const frame = draw(segment, { ...picture, raster, otherField }, options)
    list.push(frame)
    checkPictureSize(frame.widthPixels, (rows += frame.heightPixels))
  }
  if (list.length > 0) return list
  throw new CaptureError(
    'FRAME_NOT_FOUND',
    'no whole frame was kept of this segment',
    {},
    { hint: 'capture for at least two frame times' },
  )
}

/** Dots in which two frames of one size differ: 1 where they do. */
export function differenceOf(a: RenderedFrame, b: RenderedFrame): Uint16Array {
  return a.codes.map((code, dot) => (code === b.codes[dot] ? 0 : 1))
}

/** Draws one frame that was read and placed. */
export function draw(
  segment: SegmentMeasurement,
  picture: SegmentPicture,
  options: RenderOptions,
): RenderedFrame {
  const { raster, area } = picture
  const planes = picture.planes.filter((role) => role !== 'display-enable')
  // display enable alone says where a picture would be, and black would be a lie about it
  if (planes.length === 0) throw noPicture(segment)
  const standard = segment.classification.standard?.standard ?? null
  const secondaryUse = segment.vsync?.polarity === 'positive' ? 'rgbi' : 'rgbrgb'
  const palette =
    options.palette === undefined
      ? choosePalette(planes, standard, secondaryUse)
      : paletteByName(options.palette, planes)
  const mask = (1 << planes.length) - 1
  const cropped = (field: FieldPicture): CodeRows =>
    options.fullRaster
      ? tinted(crop(field.raster, wholeOf(field.raster), mask), field.area, segment, mask + 1)
      : crop(field.raster, field.area, mask)
  const { otherField } = picture
  const fields = otherField ? [picture, otherField].map(cropped) : null
  if (isOtherFieldUpper(picture)) fields?.reverse()
  const rows = fields ? weave(fields[0]!, fields[1]!) : cropped(picture)
  const displayAspect = standard?.displayAspect ?? DISPLAY_ASPECT
  const activeScanlines = (area.bottom - area.top) * (otherField ? 2 : 1)
  return {
    widthPixels: rows.widthDots,
    heightPixels: rows.heightScanlines,
    codes: rows.codes,
    palette: options.fullRaster ? withTints(palette, mask + 1) : palette,
    pixelAspect: (displayAspect * activeScanlines) / (area.right - area.left),
    standard: standard?.id ?? null,
    frame: raster.frame,
    whole: raster.whole,
    dotsWithoutSample: raster.dotsWithoutSample,
    rasterDots: raster.dotsPerScanline * raster.scanlines,
    dotsInDispute: 0,
    merge: null,
  }
}

export function chooseSegment(
  measurement: CaptureMeasurement,
  index: number | undefined,
): SegmentMeasurement {
  if (index === undefined) return measurement.main
  const segment = measurement.segments[index]
  if (segment) return segment
  throw new CaptureError(
    'SEGMENT_NOT_FOUND',
    `there is no segment ${index}`,
    {},
    {
      hint: `the capture has ${measurement.segments.length}, counted from 0`,
    },
  )
}

export function noPicture(segment: SegmentMeasurement): CaptureError {
  const { dotsPerScanline, scanlinesPerFrame } = segment.raster
  const scanlines = segment.sync.usualFrameScanlines ?? 0
  if (dotsPerScanline !== null && scanlinesPerFrame !== null && isFrameTooLarge(dotsPerScanline, scanlines)) {
    return new CaptureError(
      'PICTURE_TOO_LARGE',
      `frames of ${scanlinesPerFrame} scanlines of ${dotsPerScanline} dots are larger than any that is drawn`,
      {},
      { hint: 'the channel taken for vsync may be another; name it with --map vsync=NAME' },
    )
  }
  if (segment.raster.dotsPerScanline === null && segment.raster.dotsNotMeasured !== 'no-edges') {
    return new SignalError(
      'DOT_CLOCK_UNKNOWN',
      'the dots cannot be told apart, and no standard says how many there are',
      {},
      {
        hint: 'capture at a higher sample rate, or a picture with more detail',
      },
    )
  }
  return new SignalError(
    'VIDEO_NOT_FOUND',
    'no colour channel changes in this capture: there is nothing to draw',
    {},
    {
      hint: 'probe the colour pins, or name the channels with --map red=NAME,green=NAME,…',
    },
  )
}

export function wholeOf(raster: FrameRaster): Area {
  return { left: 0, right: raster.dotsPerScanline, top: 0, bottom: raster.scanlines }
}

/** What a full raster shows where nothing is lit: plum during either sync, dark teal in the porches. */
const SYNC_TINT = [0x5c, 0x2a, 0x50]
const PORCH_TINT = [0x10, 0x34, 0x3a]

/** The two tints after the colours of all codes. */
function withTints(palette: Palette, codes: number): Palette {
  const entries = new Uint8Array(3 * (codes + 2))
  entries.set(palette.entries.subarray(0, 3 * codes))
  entries.set(SYNC_TINT, 3 * codes)
  entries.set(PORCH_TINT, 3 * (codes + 1))
  return { ...palette, entries }
}

/** Gives what is dark outside the active area a code of its own; lit dots there (a border) keep theirs. */
function tinted(rows: CodeRows, area: Area, segment: SegmentMeasurement, firstTint: number): CodeRows {
  const { widthDots, heightScanlines } = rows
  const syncDots = Math.round(segment.hsync.widthSeconds.value * segment.hsync.frequencyHz.value * widthDots)
  const syncScanlines = Math.round(segment.vsync?.widthScanlines ?? 0)
  const codes = rows.codes.slice()
  for (let y = 0; y < heightScanlines; y++) {
    const inRows = y >= area.top && y < area.bottom
    for (let x = 0; x < widthDots; x++) {
      if (codes[y * widthDots + x] !== 0 || (inRows && x >= area.left && x < area.right)) continue
      codes[y * widthDots + x] = x < syncDots || y < syncScanlines ? firstTint : firstTint + 1
    }
  }
  return { ...rows, codes }
}

function crop(raster: FrameRaster, window: Area, mask: number): CodeRows {
  const widthDots = window.right - window.left
  const heightScanlines = window.bottom - window.top
  const codes = new Uint16Array(widthDots * heightScanlines)
  for (let row = 0; row < heightScanlines; row++) {
    const from = (window.top + row) * raster.dotsPerScanline + window.left
    for (let dot = 0; dot < widthDots; dot++) codes[row * widthDots + dot] = raster.codes[from + dot]! & mask
  }
  return { widthDots, heightScanlines, codes }
}
