// Places of colour edges in the scanline → their places in the dot: the eye through which every dot is read. Edges stand
// at its corners, the dot is read where there are none.

import type { EdgePhases } from '../dots/edge-phases.ts'
import { firstBoundary } from '../adapter/segment-signal.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import type { Role } from '../capture/role.ts'

/** Bins over one dot: finer than any sample that shows dots at all. */
export const EYE_BINS = 96
/** Share of a channel's edges in one bin that counts as noise rather than as the eye's edge. */
const NOISE_SHARE = 0.0005

/** The eye of one channel. */
export interface DotEye {
  role: Role | null
  /** Edges by place in the dot, EYE_BINS long; bin 0 begins where dots begin. Not whole: bins are shared out. */
  rising: Float64Array
  falling: Float64Array
  edges: number
  /** Where this channel's dots are read, by direction of the edges, 0 to 1; the middle but for the channel's own delay. */
  readAt: { rising: number; falling: number }
  /** The stretch around the middle without edges, in dots; null where there is none. */
  open: { from: number; to: number } | null
}

/** @returns one eye per channel with edges; empty without dots, or where the signal was not kept */
export function dotEyes({ signal, picture, raster }: SegmentMeasurement): DotEye[] {
  const dots = raster.dotsPerScanline
  if (!signal || !picture || dots === null) return []
  const { commonDots, byEdge } = picture.raster.phase
  const begin = firstBoundary(commonDots)
  return picture.planes.flatMap((role, plane): DotEye[] => {
    const [falling, rising] = [0, 1].map((direction) =>
      signal.source.phases.find((entry) => entry.plane === plane && entry.rising === (direction === 1)),
    )
    const edges = (rising?.edges ?? 0) + (falling?.edges ?? 0)
    if (edges === 0) return []
    const folded = [rising, falling].map((entry) => foldedIntoDot(entry, dots, begin))
    const middle = (direction: number): number => 0.5 + byEdge[2 * plane + direction]! - commonDots
    return [
      {
        role,
        rising: folded[0]!,
        falling: folded[1]!,
        edges,
        readAt: { rising: middle(1), falling: middle(0) },
        open: openStretch(folded[0]!, folded[1]!, edges),
      },
    ]
  })
}

/** A bin of the scanline is a small part of a dot, but not a whole number of bins: it is shared out by overlap. */
function foldedIntoDot(entry: EdgePhases | undefined, dots: number, begin: number): Float64Array {
  const eye = new Float64Array(EYE_BINS)
  if (!entry) return eye
  const { histogram } = entry
  const wide = (dots / histogram.length) * EYE_BINS
  for (let bin = 0; bin < histogram.length; bin++) {
    const count = histogram[bin]!
    if (count === 0) continue
    let from = ((bin * dots) / histogram.length - begin) * EYE_BINS
    const end = from + wide
    while (from < end) {
      const next = Math.min(end, Math.floor(from) + 1)
      eye[((Math.floor(from) % EYE_BINS) + EYE_BINS) % EYE_BINS]! += (count * (next - from)) / wide
      from = next
    }
  }
  return eye
}

function openStretch(rising: Float64Array, falling: Float64Array, edges: number): DotEye['open'] {
  const isOpen = (bin: number): boolean => rising[bin]! + falling[bin]! <= NOISE_SHARE * edges
  const middle = EYE_BINS / 2
  if (!isOpen(middle) && !isOpen(middle - 1)) return null
  let from = middle
  let to = middle
  while (from > 0 && isOpen(from - 1)) from--
  while (to < EYE_BINS && isOpen(to)) to++
  return to > from ? { from: from / EYE_BINS, to: to / EYE_BINS } : null
}
