// hsync and vsync on one wire, in the three ways cards and computers make it.

import type { CardScanline } from './card-scanlines.ts'
import { scanlinesPerFrame, vsyncMarks } from './card-scanlines.ts'
import { ToggleList } from './toggle-list.ts'
import type { Timing } from './timings.ts'

export type CompositeKind =
  | 'xor' // one gate: hsync goes on through vsync, inverted
  | 'or' // hsync vanishes in one long vsync pulse
  | 'serrated' // broad pulses at twice the scanline rate in vsync, equalizing pulses around it

/** Equalizing pulses before and after vsync: three scanlines of them, as in ITU-R BT.470 for 525-line systems. */
const EQUALIZING_HALF_SCANLINES = 6

/** Pulses of hsync and vsync (times of their changes, pulse first) as one: high wherever exactly one, or any, is high. */
export function combineSyncs(kind: 'xor' | 'or', hsync: Float64Array, vsync: Float64Array): ToggleList {
  const combined = new ToggleList()
  let h = 0
  let v = 0
  let before = 0
  while (h < hsync.length || v < vsync.length) {
    const next = Math.min(hsync[h] ?? Infinity, vsync[v] ?? Infinity)
    while (hsync[h] === next) h++
    while (vsync[v] === next) v++
    const level = kind === 'xor' ? (h ^ v) & 1 : (h | v) & 1
    if (level !== before) combined.push(next)
    before = level
  }
  return combined
}

/**
 * Pulses of one scanline of serrated sync, as [leading, trailing] dots (absolute).
 *
 * Broad pulses fill half a scanline but for a gap of hsync's width; equalizing pulses have half hsync's width. All
 * leading edges but the gaps' keep to the scanline or its middle. `vsyncOffsetDots` has no meaning here.
 */
export function serratedPulses(timing: Timing, scanline: CardScanline): [number, number][] {
  const half = timing.h.total / 2
  const perFrame = 2 * scanlinesPerFrame(timing)
  const marks = vsyncMarks(timing).map((mark) => Math.round(2 * mark))
  const pulses: [number, number][] = []
  for (let j = 0; j < 2; j++) {
    const begin = scanline.startDot + j * half
    const kind = halfScanlineKind(2 * scanline.scanline + j, marks, perFrame)
    if (kind === 'broad') pulses.push([begin, begin + half - timing.h.sync])
    else if (kind === 'equalizing') pulses.push([begin, begin + timing.h.sync / 2])
    else if (j === 0) pulses.push([begin, begin + timing.h.sync])
  }
  return pulses
}

function halfScanlineKind(
  half: number,
  marks: readonly number[],
  perFrame: number,
): 'broad' | 'equalizing' | 'plain' {
  for (let i = 0; i < marks.length; i += 2) {
    const begin = marks[i]!
    const end = marks[i + 1]!
    if (half >= begin && half < end) return 'broad'
    if (half >= end && half < end + EQUALIZING_HALF_SCANLINES) return 'equalizing'
    // equalizing pulses before the next frame's vsync stand at this frame's end
    for (const at of [begin, begin + perFrame])
      if (half >= at - EQUALIZING_HALF_SCANLINES && half < at) return 'equalizing'
  }
  return 'plain'
}
