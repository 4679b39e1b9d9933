// Several frames of a still picture → one, at fewer samples than dots. The instrument's clock runs free of the card's, so
// every frame is sampled elsewhere: put between each other, the samples of all are those of an instrument several times
// as fast (equivalent-time sampling).

import type { Measurement } from '../measurement.ts'
import { SHARP_DOUBT_DOTS } from './boundary-eye.ts'
import { changingParts, type ChangingPart } from './changing-parts.ts'
import { countDots, type DotCount, type NoDotCount } from './dot-clock.ts'
import {
  addNearEvidence,
  DOT_DISPUTED,
  DOT_UNKNOWN,
  dotEvidence,
  dotStates,
  EVERY_FRAME,
  evidenceOfFrames,
  MAX_PLANE_DOTS,
  safeSpan,
  type DotEvidence,
  type MergeSource,
} from './dot-evidence.ts'
import { dotPhase, type DotPhase } from './dot-phase.ts'
import type { FrameRaster, FrameSource } from './frame-raster.ts'
import { GUARD_SIGMA, learnBoundaries, type Guard, type KnownOfEdges } from './learnt-boundaries.ts'
import { mergedEdges, type MergedEdges } from './merged-edges.ts'
import { framesToMerge, type FrameChoice, type MergedFrame } from './merged-frames.ts'
import { sampleCoverage, type SampleCoverage } from './sample-coverage.ts'
import { sampleInstants, type SampleInstants } from './sample-instants.ts'

/** What the frames show before it is known how many dots a scanline has. */
export interface MergeSetup {
  instants: SampleInstants
  /** Rising by index. */
  frames: MergedFrame[]
  /** Scanlines of a frame. */
  rows: number
  edges: MergedEdges
  /** Standard uncertainty of the scanline period, in ticks. */
  periodDoubtTicks: number
}

/** Several frames as one. */
export interface MergedFrames {
  raster: FrameRaster
  /** By dot of the raster: 1 where no frame has a sample safely inside. */
  unsampled: Uint8Array
  /** By dot of the raster: 1 where frames disagree. */
  disputed: Uint8Array
  /** The parts in which they do, the largest first. */
  parts: ChangingPart[]
  /** Edges about their boundaries, standard deviation in ticks. */
  jitterTicks: number
  /** How near a boundary a sample says nothing, in ticks. */
  guardTicks: number
  coverage: SampleCoverage
  /** By how much a frame is sampled later in its scanlines than the one before, in samples, -0.5 to 0.5. */
  stepSamples: Measurement
}

/** Samples per dot from which a frame is read by itself. */
const SAMPLES_FOR_FRAME = 3
/** Samples closer than this share of the interval place an edge no better: rounding and jitter are larger. */
const MIN_GAP_SHARE = 1 / 32

/**
 * @param periodDoubtTicks standard uncertainty of the scanline period
 * @returns undefined where edges lie on no sample grid, or no frame of that length was captured
 */
export function mergeSetup(
  source: FrameSource,
  choice: FrameChoice,
  periodDoubtTicks: number,
): MergeSetup | undefined {
  const { recording, grid, planeCount, sampleIntervalTicks } = source
  const instants = sampleInstants(recording, sampleIntervalTicks)
  if (!instants) return undefined
  const frames = framesToMerge(recording, grid, choice)
  if (frames.length === 0) return undefined
  const rows = Math.round(choice.frameScanlines)
  return {
    instants,
    frames,
    rows,
    edges: mergedEdges({ recording, grid, instants, planeCount, frames, rows }),
    periodDoubtTicks,
  }
}

/** @param likely dots per scanline of the standards that the rates point to */
export function countMergedDots(
  source: FrameSource,
  setup: MergeSetup,
  likely: readonly number[],
): DotCount | NoDotCount {
  const { grid } = source
  return countDots(
    setup.edges.phases,
    mergedSamplesPerScanline(source, setup),
    // samples that are not even have no grid of their own
    Infinity,
    grid.jitterTicks / grid.periodTicks,
    likely,
    setup.edges.places,
  )
}

/** Of an even instrument that would place edges as well as the merged frames do. */
export function mergedSamplesPerScanline(
  { grid }: FrameSource,
  { edges, instants, periodDoubtTicks }: MergeSetup,
): number {
  // the first frame and the last one may be apart by two standard uncertainties
  const apart = periodDoubtTicks * (grid.start.length - 1)
  return grid.periodTicks / (Math.max(edges.gapTicks, MIN_GAP_SHARE * instants.intervalTicks) + apart)
}

/**
 * @param dots dots per scanline
 * @returns undefined where the frames have more dots than MAX_PLANE_DOTS
 */
export function mergeFrames(source: FrameSource, setup: MergeSetup, dots: number): MergedFrames | undefined {
  const { recording, grid, planeCount } = source
  const { instants, rows, edges } = setup
  if (rows * dots * planeCount > MAX_PLANE_DOTS) return undefined
  const dotTicks = grid.periodTicks / dots
  const isFast = dotTicks >= SAMPLES_FOR_FRAME * instants.intervalTicks
  const phase = isFast
    ? dotPhase(source.phases, dots, planeCount, grid.periodTicks / instants.intervalTicks)
    : dotPhase(edges.phases, dots, planeCount, mergedSamplesPerScanline(source, setup))
  // sync was seen half a sample late on average, so the dot that begins with it lies before the scanline's start
  const turns = Math.round(phase.commonDots + instants.intervalTicks / 2 / dotTicks)
  const merge: MergeSource = {
    recording,
    grid,
    instants,
    planeCount,
    frames: setup.frames.map((frame) => ({ ...frame })),
    rows,
    dotsPerScanline: dots,
    boundaryDots: phase.byEdge.map((boundary) => boundary - turns),
  }
  const known = {
    syncJitterDots: grid.jitterTicks / dotTicks,
    frameDoubtDots: (setup.periodDoubtTicks * (grid.start.length - 1)) / 2 / dotTicks,
    changing: new Set(source.phases.map(({ plane }) => plane)),
  }
  const { evidence, states, jitterDots, guardDots, framesPlaced } = isFast
    ? readFrames(merge, phase, known)
    : readSamples(merge, known)
  const disputed = anyPlane(states, rows * dots, DOT_DISPUTED)
  const parts = changingParts(merge, evidence, states)
  const unsampled = anyPlane(states, rows * dots, DOT_UNKNOWN)
  const { coverage, stepSamples } = coverageOf(merge, guardDots, {
    framesPlaced,
    fromScanlines: (rows * setup.periodDoubtTicks) / instants.intervalTicks,
  })
  const whole = merge.frames.find((frame) => frame.whole)
  const shown = whole ?? merge.frames[0]!
  return {
    raster: {
      dotsPerScanline: dots,
      scanlines: rows,
      codes: codesOf(states, planeCount, rows, dots),
      seen: rowsSeen(merge),
      dotsWithoutSample: unsampled.reduce((sum, is) => sum + is, 0),
      frame: whole ? whole.index : null,
      whole: whole !== undefined,
      placedByVsync: true,
      firstScanline: grid.firstNumber + shown.firstLine,
      phase: { ...phase, byEdge: merge.boundaryDots },
    },
    unsampled,
    disputed,
    parts,
    jitterTicks: jitterDots * dotTicks,
    guardTicks: Math.max(...guardDots) * dotTicks,
    coverage,
    stepSamples,
  }
}

/** What was read of the dots, and how. */
interface Reading extends Guard {
  evidence: DotEvidence
  /** By plane and dot, of all frames. */
  states: Uint8Array
}

/** Every frame by itself: for fast instruments, which see a card's half dots too. */
function readFrames(merge: MergeSource, phase: DotPhase, { syncJitterDots }: KnownOfEdges): Reading {
  const evidence = evidenceOfFrames(merge, phase)
  return {
    evidence,
    states: dotStates(evidence, EVERY_FRAME),
    jitterDots: syncJitterDots,
    guardDots: new Float64Array(merge.planeCount),
    framesPlaced: false,
  }
}

function readSamples(merge: MergeSource, known: KnownOfEdges): Reading {
  const guard = learnBoundaries(merge, known)
  // whether frames contradict each other is judged at a distance from the boundaries that no jitter bridges
  const more = (GUARD_SIGMA.dispute - GUARD_SIGMA.proof) * guard.jitterDots
  const evidence = dotEvidence(
    merge,
    guard.guardDots.map((dots) => dots + more),
  )
  const states = dotStates(evidence, EVERY_FRAME)
  addNearEvidence(merge, guard.guardDots, evidence, states)
  return { evidence, states, ...guard }
}

/**
 * Where whole frames are sampled, and how that goes on.
 * @param doubt whether the picture places the frames, and what scanlines alone leave open of the step, in samples
 */
function coverageOf(
  { grid, instants, frames, rows, dotsPerScanline, boundaryDots }: MergeSource,
  guardDots: Float64Array,
  doubt: { framesPlaced: boolean; fromScanlines: number },
): Pick<MergedFrames, 'coverage' | 'stepSamples'> {
  const { intervalTicks, originTicks } = instants
  const present = frames.some(({ whole }) => whole) ? frames.filter(({ whole }) => whole) : frames
  const startOf = ({ firstLine, shiftTicks }: MergedFrame): number => {
    const line = Math.min(grid.start.length - 1, Math.max(0, firstLine))
    return grid.start[line]! + (firstLine - line) * grid.periodTicks + shiftTicks
  }
  const first = present[0]!
  const last = present.at(-1)!
  const apart = last.index - first.index
  const step =
    (apart > 0 ? (startOf(last) - startOf(first)) / apart : rows * grid.periodTicks) / intervalTicks
  const phases = present.map((frame) => (originTicks - startOf(frame)) / intervalTicks)
  const dotSamples = grid.periodTicks / dotsPerScanline / intervalTicks
  let needed = Infinity
  for (let plane = 0; 2 * plane < boundaryDots.length; plane++) {
    const { from, to } = safeSpan(boundaryDots, plane, guardDots[plane]!)
    needed = Math.min(needed, (to - from) * dotSamples)
  }
  const nearest = step - Math.round(step)
  // frames that the picture places are known to a bin of the eye
  const uncertainty =
    doubt.framesPlaced && apart > 0
      ? (Math.SQRT2 * SHARP_DOUBT_DOTS * dotSamples) / apart
      : doubt.fromScanlines
  return {
    coverage: sampleCoverage(phases, { value: -nearest, uncertainty }, needed),
    stepSamples: { value: nearest, uncertainty },
  }
}

function anyPlane(states: Uint8Array, size: number, wanted: number): Uint8Array {
  const marks = new Uint8Array(size)
  for (let i = 0; i < states.length; i++) if (states[i] === wanted) marks[i % size] = 1
  return marks
}

/** Levels as codes; a dot that is not known is lit where those around it on its scanline are. */
function codesOf(states: Uint8Array, planeCount: number, rows: number, dots: number): Uint16Array {
  const codes = new Uint16Array(rows * dots)
  for (let plane = 0; plane < planeCount; plane++) {
    for (let row = 0; row < rows; row++) {
      const base = (plane * rows + row) * dots
      let known = 0
      for (let dot = 0; dot < dots; dot++) {
        const state = states[base + dot]!
        if (state >= DOT_UNKNOWN) continue
        codes[row * dots + dot]! |= state << plane
        // both neighbours must be lit: what is not proved must not make the picture wider
        const between = known > 0 ? state & states[base + known - 1]! : 0
        if (between === 1) for (let at = known; at < dot; at++) codes[row * dots + at]! |= 1 << plane
        known = dot + 1
      }
    }
  }
  return codes
}

function rowsSeen({ frames, grid, rows }: MergeSource): Uint8Array {
  const lines = grid.start.length - 1
  return Uint8Array.from({ length: rows }, (_, row) =>
    frames.some(({ firstLine }) => firstLine + row >= 0 && firstLine + row < lines) ? 1 : 0,
  )
}
