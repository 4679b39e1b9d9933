// A part of the raster that changes → the same in pixels of the picture and hertz, for reports.

import type { Area } from './dots/active-area.ts'
import type { ChangingPart } from './dots/changing-parts.ts'
import { framesThatShow } from './dots/dot-evidence.ts'
import type { Measurement } from './measurement.ts'
import type { MergedPart } from './merge-summary.ts'

/** A part in pixels of the picture; undefined where it lies outside. */
export function partIn(
  { kind, area, dotsInDispute, periodFrames, drawn }: ChangingPart,
  window: Area,
  fields: number,
  below: number,
  frameHz: Measurement | null,
): MergedPart | undefined {
  const left = Math.max(area.left, window.left)
  const right = Math.min(area.right, window.right)
  const top = Math.max(area.top, window.top)
  const bottom = Math.min(area.bottom, window.bottom)
  if (left >= right || top >= bottom) return undefined
  return {
    kind,
    left: left - window.left,
    top: (top - window.top) * fields + below,
    dots: right - left,
    scanlines: (bottom - top - 1) * fields + 1,
    dotsInDispute,
    blinkHz: periodFrames && frameHz && blinkRate(frameHz, periodFrames),
    framesDrawn: framesThatShow(drawn, 0),
  }
}

/** First-order propagation, GUM (JCGM 100:2008) 5.1.2. */
function blinkRate(frameHz: Measurement, periodFrames: Measurement): Measurement {
  const value = frameHz.value / periodFrames.value
  const relative = Math.hypot(
    frameHz.uncertainty / frameHz.value,
    periodFrames.uncertainty / periodFrames.value,
  )
  return { value, uncertainty: value * relative }
}
