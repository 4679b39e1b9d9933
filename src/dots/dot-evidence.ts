// Samples that lie safely inside a dot → which frames show the dot high and which low. A sample near the boundary of two
// dots may belong to either, by the wires' delays and the edges' jitter; it proves nothing here.

import { FrameSamples } from './frame-samples.ts'
import type { DotPhase } from './dot-phase.ts'
import { sampleDots } from './sample-dots.ts'
import { MAX_MERGED_FRAMES, readRow, type FrameSet } from './merged-frames.ts'

/** Several frames of one recording and how to read their dots. */
export interface MergeSource extends FrameSet {
  dotsPerScanline: number
  /**
   * Boundary of dot 0 after the scanline's start, in dots, by `2 * plane + (rising ? 1 : 0)`; within half a dot of 0
   * but for the delays of the planes against each other.
   */
  boundaryDots: Float64Array
}

/** Frames that show each dot, as bits. Index of a dot: (plane * rows + row) * dotsPerScanline + dot, times WORDS. */
export interface DotEvidence {
  high: Uint32Array
  low: Uint32Array
}

/** Words of 32 bits that hold one bit per frame. */
export const WORDS: number = MAX_MERGED_FRAMES / 32
/** A group that holds all frames. */
export const EVERY_FRAME: Uint32Array = new Uint32Array(WORDS).fill(0xffff_ffff)
/** Most dots of all planes: a bound on memory (64 MB), above the six planes of any real mode. */
export const MAX_PLANE_DOTS = 4_000_000
/** The part of a dot in which a sample is safe, in dots from its nominal begin. */
export function safeSpan(
  boundaryDots: Float64Array,
  plane: number,
  guardDots: number,
): { from: number; to: number } {
  const falling = boundaryDots[2 * plane]!
  const rising = boundaryDots[2 * plane + 1]!
  return { from: Math.max(falling, rising) + guardDots, to: 1 + Math.min(falling, rising) - guardDots }
}

/** @param guardDots by plane, how near a boundary a sample proves nothing, in dots */
export function dotEvidence(source: MergeSource, guardDots: Float64Array): DotEvidence {
  const { rows, dotsPerScanline, planeCount } = source
  const size = planeCount * rows * dotsPerScanline * WORDS
  const evidence = { high: new Uint32Array(size), low: new Uint32Array(size) }
  collect(source, guardDots, evidence, undefined)
  return evidence
}

/**
 * Looks nearer to the boundaries for dots that no sample proves yet. Where frames then disagree, it was too near: such
 * dots stay unproved.
 *
 * @param states as `dotStates` gives them for the evidence; both are brought up to date
 */
export function addNearEvidence(
  source: MergeSource,
  guardDots: Float64Array,
  evidence: DotEvidence,
  states: Uint8Array,
): void {
  collect(source, guardDots, evidence, states)
  const { high, low } = evidence
  for (let dot = 0; dot < states.length; dot++) {
    if (states[dot] !== DOT_UNKNOWN) continue
    const state = stateOf(high, low, dot, EVERY_FRAME)
    if (state === DOT_DISPUTED) {
      high.fill(0, dot * WORDS, (dot + 1) * WORDS)
      low.fill(0, dot * WORDS, (dot + 1) * WORDS)
    } else {
      states[dot] = state
    }
  }
}

/**
 * Where samples are many to a dot: what every frame shows by itself, read as single frames are.
 * @param phase of single frames
 */
export function evidenceOfFrames(source: MergeSource, phase: DotPhase): DotEvidence {
  const { recording, grid, frames, rows, dotsPerScanline: dots, planeCount } = source
  const size = planeCount * rows * dots * WORDS
  const evidence = { high: new Uint32Array(size), low: new Uint32Array(size) }
  for (const [frame, { firstLine }] of frames.entries()) {
    const first = grid.firstNumber + firstLine
    const { codes, seen } = sampleDots(recording, grid, dots, phase, planeCount, first, rows, 0)
    // the capture may end in the middle of its last scanline
    const end = grid.start.length - 2 - firstLine
    for (let row = 0; row < Math.min(rows, end); row++) {
      if (seen[row] === 0) continue
      for (let plane = 0; plane < planeCount; plane++) {
        for (let dot = 0; dot < dots; dot++) {
          const list = (codes[row * dots + dot]! >> plane) & 1 ? evidence.high : evidence.low
          list[((plane * rows + row) * dots + dot) * WORDS + (frame >> 5)]! |= 1 << (frame & 31)
        }
      }
    }
  }
  return evidence
}

/** @param states where given, only dots that are unknown in it are looked at */
function collect(
  source: MergeSource,
  guardDots: Float64Array,
  { high, low }: DotEvidence,
  states: Uint8Array | undefined,
): void {
  const { grid, frames, rows, dotsPerScanline: dots, planeCount, boundaryDots } = source
  const samples = new FrameSamples(source.recording, source.instants)
  for (const [at, frame] of frames.entries()) {
    const word = at >> 5
    const bit = 1 << (at & 31)
    for (let row = 0; row < rows; row++) {
      const period = readRow(samples, grid, frame, row, (2 * grid.periodTicks) / dots)
      if (period === 0) continue
      const step = (samples.stepTicks * dots) / period
      const first = (samples.firstTicks * dots) / period
      const { levels, count } = samples
      for (let plane = 0; plane < planeCount; plane++) {
        const { from, to } = safeSpan(boundaryDots, plane, guardDots[plane]!)
        const width = to - from
        const base = (plane * rows + row) * dots
        let before = -1
        let offMiddle = NaN
        for (let i = 0; i < count; i++) {
          const place = first + i * step - from
          const dot = Math.floor(place)
          if (place - dot > width || dot < 0 || dot >= dots) continue
          if (states && states[base + dot] !== DOT_UNKNOWN) continue
          // of one frame, the sample nearest the middle speaks: a card may show half dots
          const off = Math.abs(place - dot - width / 2)
          if (dot === before && off >= offMiddle) continue
          const at = (base + dot) * WORDS + word
          if (dot === before) {
            high[at]! &= ~bit
            low[at]! &= ~bit
          }
          before = dot
          offMiddle = off
          if ((levels[i]! >> plane) & 1) high[at]! |= bit
          else low[at]! |= bit
        }
      }
    }
  }
}

/** No sample proves the dot. */
export const DOT_UNKNOWN = 2
/** Frames disagree about it. */
export const DOT_DISPUTED = 3

/**
 * What the frames of a group prove about each dot.
 * @param group bits of the frames that count, WORDS of them
 * @returns per plane and dot: its level 0 or 1, DOT_UNKNOWN or DOT_DISPUTED
 */
export function dotStates({ high, low }: DotEvidence, group: Uint32Array): Uint8Array {
  const states = new Uint8Array(high.length / WORDS)
  for (let dot = 0; dot < states.length; dot++) states[dot] = stateOf(high, low, dot, group)
  return states
}

/** The same of one plane's dot. */
export function stateOf(high: Uint32Array, low: Uint32Array, dot: number, group: Uint32Array): number {
  let anyHigh = 0
  let anyLow = 0
  for (let word = 0; word < WORDS; word++) {
    anyHigh |= high[dot * WORDS + word]! & group[word]!
    anyLow |= low[dot * WORDS + word]! & group[word]!
  }
  if (anyHigh === 0) return anyLow === 0 ? DOT_UNKNOWN : 0
  return anyLow === 0 ? 1 : DOT_DISPUTED
}

/** Frames that show a dot as one of the two lists says. */
export function framesThatShow(list: Uint32Array, dot: number): number {
  let count = 0
  for (let word = 0; word < WORDS; word++) {
    for (let bits = list[dot * WORDS + word]!; bits !== 0; bits &= bits - 1) count++
  }
  return count
}
