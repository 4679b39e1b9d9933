// Samples of several frames, put between each other → the edges of the picture, each known to a gap between neighbours:
// what an instrument that is several times as fast would have shown. The dot clock is read from these.

import { PHASE_BINS, type EdgePhases } from './edge-phases.ts'
import { FrameSamples } from './frame-samples.ts'
import { readRow, type FrameSet } from './merged-frames.ts'

/** Edges of the merged frames. */
export interface MergedEdges {
  phases: EdgePhases[]
  /** Largest gap between neighbouring samples that an edge was taken from, in ticks. */
  gapTicks: number
  /** Where in the scanline edges could have been found: length of such gaps by the phase of their middle, PHASE_BINS long. */
  places: Float64Array
}

/** Samples that are looked at: enough for any picture's edges, and a second's work. */
const MAX_SAMPLES = 4_000_000
/** A gap above this share of the sample interval tells no more of an edge than a single frame does. */
const MAX_GAP_SHARE = 0.6
/** From so many frames on, an edge must have two equal samples on each side: what moves makes edges of one. */
const FRAMES_FOR_PAIRS = 5

export function mergedEdges({ recording, grid, instants, planeCount, frames, rows }: FrameSet): MergedEdges {
  const phases: EdgePhases[] = Array.from({ length: 2 * planeCount }, (_, i) => ({
    plane: i >> 1,
    rising: (i & 1) === 1,
    edges: 0,
    histogram: new Float64Array(PHASE_BINS),
  }))
  const perRow = (frames.length * grid.periodTicks) / instants.intervalTicks
  const every = Math.max(1, Math.ceil((perRow * rows) / MAX_SAMPLES))
  const readers = frames.map(() => new FrameSamples(recording, instants))
  const pairs = frames.length >= FRAMES_FOR_PAIRS
  const step = instants.intervalTicks
  let largest = 0
  const places = new Float64Array(PHASE_BINS)
  for (let row = 0; row < rows; row += every) {
    const present: FrameSamples[] = []
    let period = 0
    for (const [i, frame] of frames.entries()) {
      const ticks = readRow(readers[i]!, grid, frame, row, 0)
      if (ticks === 0) continue
      period = ticks
      present.push(readers[i]!)
    }
    // each frame's samples are evenly spaced, so one order of the frames holds all along the scanline
    present.sort((a, b) => a.firstTicks - b.firstTicks)
    const size = present.length
    if (size < 2) continue
    const count = present.reduce((least, reader) => Math.min(least, reader.count), Infinity)
    const gaps = present.map(({ firstTicks }, i) =>
      i === 0 ? firstTicks + step - present[size - 1]!.firstTicks : firstTicks - present[i - 1]!.firstTicks,
    )
    const levelAt = (n: number): number => present[n % size]!.levels[Math.floor(n / size)]!
    let before = levelAt(0)
    let last = before
    let now = levelAt(1)
    for (let n = 1; n + 1 < count * size; n++) {
      const next = levelAt(n + 1)
      let changed = last ^ now
      if (changed !== 0 && pairs) changed &= ~(before ^ last) & ~(now ^ next)
      const gap = gaps[n % size]!
      if (gap <= MAX_GAP_SHARE * step) {
        const place = present[n % size]!.firstTicks + Math.floor(n / size) * step - gap / 2
        const bin = Math.min(PHASE_BINS - 1, Math.max(0, Math.floor((place / period) * PHASE_BINS)))
        places[bin]! += gap
        if (changed !== 0) largest = Math.max(largest, gap)
        for (let plane = 0; changed !== 0; plane++, changed >>= 1) {
          if ((changed & 1) === 0) continue
          const entry = phases[2 * plane + ((now >> plane) & 1)]!
          entry.edges++
          entry.histogram[bin]!++
        }
      }
      before = last
      last = now
      now = next
    }
  }
  return {
    phases: phases.filter(({ edges }) => edges > 0),
    gapTicks: largest,
    places,
  }
}
