// A recording with its dots counted → the picture: a frame of dots, where its active area lies, and the second field
// where there is one. Beside measure-segment.ts, because placing a picture takes dots and the catalogue together.

import type { Role } from './capture/role.ts'
import type { Standard } from './classify/standard.ts'
import { STANDARDS } from './classify/standards.ts'
import {
  litArea,
  placeActiveArea,
  type LitArea,
  type NominalArea,
  type PlacedArea,
} from './dots/active-area.ts'
import { frameRaster, type FrameRaster, type FrameSource } from './dots/frame-raster.ts'
import type { FrameSync } from './sync/frame-sync.ts'

/** Dots and scanlines of a picture in its raster; scanlines of the whole frame, porches of one field. */
export interface ActiveArea {
  dots: number
  scanlines: number
  from: 'measured' | 'standard'
  hBackPorchDots: number
  hFrontPorchDots: number
  /** null, as the other, where no vsync tells where a frame begins. */
  vBackPorchScanlines: number | null
  vFrontPorchScanlines: number | null
}

/** One field, or a frame that has only one. */
export interface FieldPicture {
  raster: FrameRaster
  area: PlacedArea
  lit: LitArea
  /** Where in row 0 vsync's leading edge falls, 0 to 1. */
  phase: number
}

/** A frame of dots with all that is needed to draw it. */
export interface SegmentPicture extends FieldPicture {
  planes: readonly (Role | null)[]
  /** The second field, where interlaced and captured. */
  otherField: FieldPicture | null
}

/** What is known of a picture before it is placed. */
export interface PictureLayout {
  dots: number
  /** Scanlines of a field, null where no two vsyncs were captured. */
  fieldScanlines: number | null
  /** Width of hsync as a share of the scanline. */
  syncShare: number
  /** Width of vsync in scanlines, null without one. */
  vsyncScanlines: number | null
  /** Standard that places what the picture does not prove. */
  standard: Standard | null
  planes: readonly (Role | null)[]
  /** Dots by which an edge of the picture may be misplaced: 0 unless samples are longer than dots. */
  slackDots: number
}

/** How much better a standard's sync must fit than its family's first row, in dots, to lend its porches. */
const SYNC_FITS_DOTS = 4

/** The first frame as its own dots have it, before it is known what standard it follows. */
export interface ProvedPicture {
  raster: FrameRaster
  /** The smallest area that it proves. */
  lit: LitArea
}

/** @returns null where no frame was captured */
export function provedPicture(
  source: FrameSource,
  layout: Omit<PictureLayout, 'standard' | 'slackDots'>,
): ProvedPicture | null {
  const raster = frameRaster(source, layout.dots, layout.fieldScanlines)
  return raster ? { raster, lit: litIn(raster, layout) } : null
}

/**
 * @param proved of the same source and layout: where the standard changes nothing of it, it is not read again
 * @returns null where no scanline was captured, or neither picture nor standard tells where it lies
 */
export function measurePicture(
  source: FrameSource,
  layout: PictureLayout,
  proved: ProvedPicture | null,
): SegmentPicture | null {
  const { standard, fieldScanlines, dots } = layout
  const row = standard && rowForPorches(standard, layout)
  const rows = fieldScanlines ?? (row && fieldOf(row, row.scanlinesPerFrame))
  const known = rows === fieldScanlines && proved?.raster.dotsPerScanline === dots ? proved : null
  const first = known?.raster ?? frameRaster(source, dots, rows)
  const isInterlaced = fieldScanlines !== null && fieldScanlines % 1 !== 0
  const next = isInterlaced ? frameRaster(source, dots, rows, 1) : undefined
  return first ? placePicture(source.recording.frames, first, next, layout, known?.lit) : null
}

/**
 * Says where the picture lies in rasters that were read already.
 * @param frames of the recording that the rasters were read from
 * @param next the second field, where interlaced
 * @param lit what is lit in the first, where that is known
 * @returns null where neither picture nor standard tells where it lies
 */
export function placePicture(
  frames: readonly FrameSync[],
  raster: FrameRaster,
  next: FrameRaster | undefined,
  layout: PictureLayout,
  lit: LitArea = litIn(raster, layout),
): SegmentPicture | null {
  const row = layout.standard && rowForPorches(layout.standard, layout)
  const alone = fieldPicture(frames, raster, row, layout, lit)
  if (!alone) return null
  const second = next?.whole && raster.whole ? fieldPicture(frames, next, row, layout) : null
  const first = second ? withColumnsOf(alone, second) : alone
  return { ...first, planes: layout.planes, otherField: second && alignedWith(first, second) }
}

function fieldPicture(
  frames: readonly FrameSync[],
  raster: FrameRaster,
  row: Standard | null,
  layout: PictureLayout,
  lit: LitArea = litIn(raster, layout),
): FieldPicture | null {
  const area = placeActiveArea(lit, row ? nominalArea(row, raster, lit) : null, layout.slackDots)
  if (!area) return null
  const phase = frames.find((frame) => frame.firstScanline === raster.firstScanline)?.phase
  return { raster, area: clip(area, raster), lit, phase: phase ?? 0 }
}

/** Both fields have the same columns: where each shows them only by what is lit, one may show more than the other. */
function withColumnsOf(first: FieldPicture, second: FieldPicture): FieldPicture {
  const { area } = first
  if (area.from !== 'measured' || second.area.from !== 'measured') return first
  const left = Math.min(area.left, second.area.left)
  return { ...first, area: { ...area, left, right: Math.max(area.right, second.area.right) } }
}

/** A display enable says outright what is active; without one, what is lit does. */
export function litIn(
  raster: FrameRaster,
  { planes, syncShare, dots }: Pick<PictureLayout, 'planes' | 'syncShare' | 'dots'>,
): LitArea {
  const enable = planes.indexOf('display-enable')
  if (enable < 0) return litArea(raster, syncShare * dots)
  return litArea({ ...raster, codes: raster.codes.map((code) => (code >> enable) & 1) }, syncShare * dots)
}

/** Scanlines of one field out of a frame's. */
function fieldOf(row: Standard, scanlines: number): number {
  return row.interlaced ? scanlines / 2 : scanlines
}

/** Of the rows that share a timing, the one with the hsync that was measured: its porches belong to that hsync. */
export function rowForPorches(standard: Standard, layout: { dots: number; syncShare: number }): Standard {
  const syncDots = layout.syncShare * layout.dots
  const off = (row: Standard): number => Math.abs(row.horizontal.sync - syncDots)
  const family = STANDARDS.filter(
    (row) => row.sameTimingAs === standard.id && row.dotsPerScanline === standard.dotsPerScanline,
  )
  return family.reduce((best, row) => (off(row) < off(best) - SYNC_FITS_DOTS ? row : best), standard)
}

/**
 * The standard's window from the leading edges on; without a vsync to place it, around what is lit. Where the frame is
 * shorter than the standard's, its back porch is what was left out.
 */
function nominalArea(row: Standard, raster: FrameRaster, proved: LitArea): NominalArea {
  const scanlines = fieldOf(row, row.activeScanlines)
  const left = row.horizontal.sync + row.horizontal.backPorch
  const lowest = Math.max(0, raster.scanlines - scanlines)
  const top = raster.placedByVsync
    ? Math.round(row.vertical.sync + row.vertical.backPorch)
    : (proved.lit?.top ?? 0)
  return { left, top: Math.min(top, lowest), dots: row.activeDots, scanlines }
}

function clip(area: PlacedArea, raster: FrameRaster): PlacedArea {
  return {
    ...area,
    left: Math.max(0, area.left),
    top: Math.max(0, area.top),
    right: Math.min(raster.dotsPerScanline, area.right),
    bottom: Math.min(raster.scanlines, area.bottom),
  }
}

/**
 * The second field in the first one's window, half a scanline above or below it: where its own picture says, else below
 * if its vsync falls later in the scanline.
 */
function alignedWith(first: FieldPicture, second: FieldPicture): FieldPicture {
  const { left, right, from } = first.area
  const height = first.area.bottom - first.area.top
  const centre = first.area.top - first.phase + second.phase
  const tops = [Math.round(centre - 0.5), Math.round(centre + 0.5)]
  const { lit } = second.lit
  const cuts = (top: number): number =>
    lit ? Math.max(0, top - lit.top) + Math.max(0, lit.bottom - (top + height)) : 0
  const usual = second.phase > first.phase ? 1 : 0
  const top = cuts(tops[1 - usual]!) < cuts(tops[usual]!) ? tops[1 - usual]! : tops[usual]!
  return { ...second, area: clip({ left, right, from, top, bottom: top + height }, second.raster) }
}

/** Whether the second field's rows come first in the woven frame. */
export function isOtherFieldUpper(picture: SegmentPicture): boolean {
  const { otherField } = picture
  return otherField !== null && otherField.area.top - otherField.phase < picture.area.top - picture.phase
}

/** The picture's place in numbers. */
export function activeArea(picture: SegmentPicture, layout: PictureLayout): ActiveArea {
  const { dots, syncShare, vsyncScanlines, fieldScanlines } = layout
  const upper = isOtherFieldUpper(picture) ? picture.otherField! : picture
  const { area } = upper
  // in an interlaced field porches may hold half a scanline; else row 0 is counted whole, wherever vsync begins in it
  const phase = picture.otherField ? Math.round(upper.phase * 2) / 2 : 0
  const scanlines = picture.otherField ? fieldScanlines! : picture.raster.scanlines
  const { placedByVsync } = picture.raster
  return {
    dots: area.right - area.left,
    scanlines: (area.bottom - area.top) * (picture.otherField ? 2 : 1),
    from: area.from,
    hBackPorchDots: area.left - Math.round(syncShare * dots),
    hFrontPorchDots: dots - area.right,
    vBackPorchScanlines: placedByVsync ? area.top - phase - Math.round(vsyncScanlines ?? 0) : null,
    vFrontPorchScanlines: placedByVsync ? scanlines + phase - area.bottom : null,
  }
}

/** What a standard says, where there is no picture to place. */
export function nominalActive(row: Standard): ActiveArea {
  return {
    dots: row.activeDots,
    scanlines: row.activeScanlines,
    from: 'standard',
    hBackPorchDots: row.horizontal.backPorch,
    hFrontPorchDots: row.horizontal.frontPorch,
    vBackPorchScanlines: row.vertical.backPorch,
    vFrontPorchScanlines: row.vertical.frontPorch,
  }
}
