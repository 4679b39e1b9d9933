// A measured segment → the parts of a scanline and of a frame in the order in which they come: sync, back porch, active,
// front porch. Counted from the leading edge of sync, borders with the porches.

import type { SegmentMeasurement } from '../measure-segment.ts'

export type PartName = 'sync' | 'back porch' | 'active' | 'front porch' | 'not measured'

/** One part; the next begins where it ends. */
export interface RasterPart {
  name: PartName
  /** Dots of a scanline, or scanlines of a frame. */
  start: number
  length: number
  seconds: number
}

/** A whole scanline, or a whole frame (one field of it, if interlaced). */
export interface RasterAxis {
  parts: RasterPart[]
  total: number
  seconds: number
}

/** @returns undefined where the dots per scanline are not known */
export function scanlineAxis({ raster, active, hsync }: SegmentMeasurement): RasterAxis | undefined {
  const total = raster.dotsPerScanline
  if (total === null) return undefined
  const seconds = 1 / hsync.frequencyHz.value
  if (!active) return axis([['sync', (hsync.widthSeconds.value / seconds) * total]], total, seconds)
  const { dots, hBackPorchDots: back, hFrontPorchDots: front } = active
  return axis(
    [
      ['sync', total - back - dots - front],
      ['back porch', back],
      ['active', dots],
      ['front porch', front],
    ],
    total,
    seconds,
  )
}

/** @returns undefined where the scanlines per frame are not known */
export function frameAxis(segment: SegmentMeasurement): RasterAxis | undefined {
  const { raster, active, hsync, vsync } = segment
  if (raster.scanlinesPerFrame === null) return undefined
  const fields = raster.interlaced ? 2 : 1
  const total = raster.scanlinesPerFrame / fields
  const seconds = total / hsync.frequencyHz.value
  const { vBackPorchScanlines: back = null, vFrontPorchScanlines: front = null } = active ?? {}
  if (!active || back === null || front === null)
    return axis(vsync ? [['sync', vsync.widthScanlines]] : [], total, seconds)
  // a picture of one field alone counts that field, everything else the whole frame
  const isOneField = segment.picture !== null && segment.picture.otherField === null
  const scanlines = isOneField ? active.scanlines : active.scanlines / fields
  return axis(
    [
      ['sync', total - back - scanlines - front],
      ['back porch', back],
      ['active', scanlines],
      ['front porch', front],
    ],
    total,
    seconds,
  )
}

/** Parts laid end to end; one that measuring left without a length is left out, what is not covered is not measured. */
function axis(lengths: readonly (readonly [PartName, number])[], total: number, seconds: number): RasterAxis {
  const parts: RasterPart[] = []
  let start = 0
  for (const [name, wanted] of lengths) {
    const length = Math.min(wanted, total - start)
    if (!(length > 0)) continue
    parts.push({ name, start, length, seconds: (length / total) * seconds })
    start += length
  }
  const rest = total - start
  if (rest > 0.01)
    parts.push({ name: 'not measured', start, length: rest, seconds: (rest / total) * seconds })
  return { parts, total, seconds }
}
