// Video edges of a recording → how their places in the scanline are distributed, per plane and direction. Everything
// about the dot clock is read from these histograms.

import type { Recording } from './recording.ts'
import type { ScanlineGrid } from './scanline-grid.ts'

/** Bins over one scanline; sixteen per dot at the largest number of dots that is looked for. */
export const PHASE_BINS = 32_768

/** Edges of one plane in one direction. */
export interface EdgePhases {
  plane: number
  rising: boolean
  edges: number
  /** Count of edges by phase in the scanline, PHASE_BINS long. */
  histogram: Float64Array
}

/**
 * @param planeCount planes in the recording's levels
 * @returns one entry for each plane and direction that has edges
 */
export function edgePhases(recording: Recording, grid: ScanlineGrid, planeCount: number): EdgePhases[] {
  // of planes without edges nobody touches the memory, which then costs nothing
  const histograms = new Float64Array(2 * planeCount * PHASE_BINS)
  const edges = new Float64Array(2 * planeCount)
  const { start, periodTicks } = grid
  const scanlines = start.length - 1
  let line = 0
  let levels = recording.initialLevels
  for (let row = 0; row < recording.rows; row++) {
    const tick = recording.tick[row]!
    const next = recording.levels[row]!
    const changed = levels ^ next
    levels = next
    if (tick < start[0]!) continue
    while (line < scanlines && tick >= start[line + 1]!) line++
    if (line === scanlines) break
    const phase = (tick - start[line]!) / periodTicks
    const bin = Math.min(PHASE_BINS - 1, Math.max(0, Math.floor(phase * PHASE_BINS)))
    for (let rest = changed; rest !== 0; rest &= rest - 1) {
      const plane = 31 - Math.clz32(rest & -rest)
      const entry = 2 * plane + ((next >> plane) & 1)
      edges[entry]!++
      histograms[entry * PHASE_BINS + bin]!++
    }
  }
  const all = Array.from(edges, (count, i): EdgePhases => {
    const histogram = histograms.subarray(i * PHASE_BINS, (i + 1) * PHASE_BINS)
    return { plane: i >> 1, rising: (i & 1) === 1, edges: count, histogram }
  })
  return all.filter((entry) => entry.edges > 0)
}

/** Edges of all planes and directions together, by phase. */
export function allPhases(phases: readonly EdgePhases[]): Float64Array {
  const all = new Float64Array(PHASE_BINS)
  for (const { histogram } of phases) addTo(all, histogram)
  return all
}

function addTo(sum: Float64Array, histogram: Float64Array): void {
  for (let bin = 0; bin < PHASE_BINS; bin++) sum[bin]! += histogram[bin]!
}
