// Where dots begin, learnt from a picture that is nearly known: every sample beside a boundary between two different dots
// says on which side of it it was taken. Gives each plane's delays to a hundredth of a dot, each frame's place, and how
// much the edges jitter.

import { BINS, crossing, type Crossing, type Sides } from './crossing.ts'
import type { MergeSource } from './dot-evidence.ts'
import { FrameSamples } from './frame-samples.ts'
import { readRow } from './merged-frames.ts'

/** Samples that are looked at in all; more add nothing. */
const MAX_SAMPLES = 6_000_000
/** What a sharp crossing may be off by, in dots: a bin and a half. */
export const SHARP_DOUBT_DOTS: number = 1.5 / BINS

/** What samples near boundaries say. */
export interface BoundaryEye {
  /** By how much each of `boundaryDots` is to be moved, in dots; 0 where samples are too few to tell. */
  moveDots: Float64Array
  /** 1 for each of `boundaryDots` that samples tell sharply. */
  sharp: Uint8Array
  /** By how much each frame comes later than the others, in dots; 0 where samples are too few to tell. */
  frameDots: Float64Array
  /** 1 for each frame whose place samples tell sharply. */
  frameSharp: Uint8Array
  /** Standard deviation of the edges about their boundaries, in dots; null where no boundary is sharp. */
  jitterDots: number | null
}

/** @param states as `dotStates` gives them */
export function boundaryEye(source: MergeSource, states: Uint8Array): BoundaryEye {
  const { grid, frames, rows, dotsPerScanline: dots, planeCount, boundaryDots } = source
  const samples = new FrameSamples(source.recording, source.instants)
  const perRow = (frames.length * planeCount * grid.periodTicks) / samples.stepTicks
  const every = Math.max(1, Math.ceil((perRow * rows) / MAX_SAMPLES))
  const newSides = (): Sides => ({ all: new Float64Array(BINS), after: new Float64Array(BINS) })
  const byEdge = Array.from(boundaryDots, newSides)
  const byFrame = frames.map(newSides)
  for (const [at, frame] of frames.entries()) {
    const ofFrame = byFrame[at]!
    for (let row = 0; row < rows; row += every) {
      const period = readRow(samples, grid, frame, row, (2 * grid.periodTicks) / dots)
      if (period === 0) continue
      const step = (samples.stepTicks * dots) / period
      const first = (samples.firstTicks * dots) / period
      for (let plane = 0; plane < planeCount; plane++) {
        const base = (plane * rows + row) * dots
        const middle = (boundaryDots[2 * plane]! + boundaryDots[2 * plane + 1]!) / 2
        for (let i = 0; i < samples.count; i++) {
          const place = first + i * step
          const dot = Math.round(place - middle)
          if (dot < 1 || dot >= dots) continue
          const before = states[base + dot - 1]!
          const after = states[base + dot]!
          if ((before ^ after) !== 1 || (before | after) !== 1) continue
          const edge = 2 * plane + after
          const bin = Math.floor((place - dot - boundaryDots[edge]! + 0.5) * BINS)
          if (bin < 0 || bin >= BINS) continue
          const ofEdge = byEdge[edge]!
          ofEdge.all[bin]!++
          ofFrame.all[bin]!++
          if (((samples.levels[i]! >> plane) & 1) === after) {
            ofEdge.after[bin]!++
            ofFrame.after[bin]!++
          }
        }
      }
    }
  }
  const edges = byEdge.map(crossing)
  const moves = byFrame.map(crossing)
  const sharp = edges.filter((edge) => edge.sharp)
  const frameMean = meanOf(
    moves.filter((move) => move.sharp),
    ({ place }) => place,
  )
  return {
    moveDots: Float64Array.from(edges, (edge) => (edge.sharp ? edge.place : 0)),
    sharp: Uint8Array.from(edges, (edge) => (edge.sharp ? 1 : 0)),
    frameDots: Float64Array.from(moves, (move) => (move.sharp ? move.place - frameMean : 0)),
    frameSharp: Uint8Array.from(moves, (move) => (move.sharp ? 1 : 0)),
    jitterDots: sharp.length > 0 ? meanOf(sharp, ({ jitter }) => jitter) : null,
  }
}

/** NaN of none. */
function meanOf(list: readonly Crossing[], of: (crossing: Crossing) => number): number {
  let sum = 0
  let weight = 0
  for (const crossing of list) {
    sum += crossing.samples * of(crossing)
    weight += crossing.samples
  }
  return sum / weight
}
