// Edge phases → dots per scanline. The card divides its dot clock by a whole number to get the scanline, so edges of the
// picture sit at multiples of 1/N of it: for the true N the phases, wound N times round the circle, point one way.

import { fourier } from './fourier.ts'
import { PHASE_BINS, type EdgePhases } from './edge-phases.ts'

/** Dots per scanline as the picture proves it. */
export interface DotCount {
  /** Smallest N that explains the edges; a picture of double-width dots proves half of what the card counts. */
  dotsPerScanline: number
  /** Mean length of the wound phases, 0 to 1, at that N. */
  coherence: number
  /** What perfect dots would give at this sample rate. */
  expectedCoherence: number
  /** True where the instrument's own sample grid coheres with the scanline and had to be told apart. */
  sampleGridCoheres: boolean
  edges: number
}

/** Why there is no count. */
export interface NoDotCount {
  reason: 'no-edges' | 'few-places' | 'sample-rate-too-low' | 'not-periodic'
  edges: number
}

/** Largest number of dots looked for: DMT 12h has 1312. */
export const MAX_DOTS = 2048
/** Smallest count looked for: that of a picture made of wide bars only. */
const MIN_DOTS = 8
/** Fewer edges prove nothing. */
const MIN_EDGES = 24
/** Edges at fewer places in the scanline than this cohere at many N by chance. */
const MIN_PLACES = 7
/** Samples per dot below which a single still frame shows no peak. */
export const MIN_SAMPLES_PER_DOT = 1.12
/** Share of the best peak that a smaller N must reach to be the simpler explanation of the same edges. */
const SAME_PEAK = 0.94
/** Share of the expected coherence that a count must reach against a grid that explains every edge. */
const CLEAR_PEAK = 0.8

/**
 * @param samplesPerScanline scanline period over sample interval
 * @param scanlines scanlines that the phases were folded over
 */
export function countDots(
  phases: readonly EdgePhases[],
  samplesPerScanline: number,
  scanlines: number,
): DotCount | NoDotCount {
  let edges = 0
  for (const entry of phases) edges += entry.edges
  if (edges < MIN_EDGES) return { reason: 'no-edges', edges }
  if (distinctPlaces(phases, edges, samplesPerScanline) < MIN_PLACES) return { reason: 'few-places', edges }
  const coherence = coherences(phases, edges)
  const commensurate = gridOf(samplesPerScanline, scanlines)
  const limit = Math.min(MAX_DOTS, Math.floor(samplesPerScanline / MIN_SAMPLES_PER_DOT))
  // phases that know nothing of N sum to sqrt(pi n)/2 of n unit vectors (Rayleigh)
  const noise = Math.sqrt(Math.PI / edges) / 2
  const found = bestCount(coherence, commensurate, samplesPerScanline, limit, noise)
  const onGrid = commensurate !== null && commensurate <= MAX_DOTS && (coherence[commensurate] ?? 0) > 0.97
  if (found && !(onGrid && found.coherence < CLEAR_PEAK * found.expectedCoherence)) {
    return {
      ...found,
      edges,
      sampleGridCoheres: commensurate !== null && found.dotsPerScanline !== commensurate,
    }
  }
  // Edges that lie on the grid exactly, a grid that divides the scanline, and no coarser raster that explains them:
  // the capture was taken with the dot clock itself, or came from a simulation.
  if (onGrid) {
    return {
      dotsPerScanline: commensurate,
      coherence: coherence[commensurate]!,
      expectedCoherence: 1,
      sampleGridCoheres: false,
      edges,
    }
  }
  return { reason: limit < 700 ? 'sample-rate-too-low' : 'not-periodic', edges }
}

/** |sum exp(2 pi i N phase)| over all edges, per N. Buffers skew edges by a few ns: small against a dot. */
function coherences(phases: readonly EdgePhases[], edges: number): Float64Array {
  const re = new Float64Array(PHASE_BINS)
  const im = new Float64Array(PHASE_BINS)
  for (const { histogram } of phases) {
    for (let bin = 0; bin < PHASE_BINS; bin++) re[bin]! += histogram[bin]!
  }
  fourier(re, im)
  const result = new Float64Array(MAX_DOTS + 1)
  for (let n = 0; n <= MAX_DOTS; n++) {
    // a bin is a little average: undo its attenuation, sin(x)/x with x = pi N / bins
    const x = (Math.PI * n) / PHASE_BINS
    const blur = n === 0 ? 1 : Math.sin(x) / x
    result[n] = Math.hypot(re[n]!, im[n]!) / blur / edges
  }
  return result
}

/** Places in the scanline that edges use, counted by weight: (sum h)^2 / sum h^2 over bins of about a sample. */
function distinctPlaces(phases: readonly EdgePhases[], edges: number, samplesPerScanline: number): number {
  const bins = Math.max(256, Math.min(2048, Math.floor(samplesPerScanline)))
  const counts = new Float64Array(bins)
  for (const { histogram } of phases) {
    for (let bin = 0; bin < PHASE_BINS; bin++) {
      counts[Math.floor((bin * bins) / PHASE_BINS)]! += histogram[bin]!
    }
  }
  let squares = 0
  for (const count of counts) squares += count * count
  return (edges * edges) / squares
}

/** Samples per scanline where that is a whole number so nearly that a frame does not drift off it; else null. */
function gridOf(samplesPerScanline: number, scanlines: number): number | null {
  const whole = Math.round(samplesPerScanline)
  return Math.abs(samplesPerScanline - whole) * scanlines < 0.5 ? whole : null
}

function greatestCommonDivisor(a: number, b: number): number {
  while (b > 0) [a, b] = [b, a % b]
  return a
}

/**
 * Coherence of perfect dots seen on the sample grid. Against a grid that moves from scanline to scanline, each edge
 * is late by anything up to a sample: sinc(dots per sample). Against a grid that stands still only q delays occur,
 * q = N / gcd(N, grid), and the mean of q unit vectors takes the place of the integral.
 */
export function expectedCoherence(dots: number, samplesPerScanline: number, grid: number | null): number {
  const x = (Math.PI * dots) / samplesPerScanline
  if (grid === null) return Math.abs(Math.sin(x) / x)
  const q = dots / greatestCommonDivisor(dots, grid)
  return Math.abs(Math.sin(x) / (q * Math.sin(x / q)))
}

function bestCount(
  coherence: Float64Array,
  grid: number | null,
  samplesPerScanline: number,
  limit: number,
  noise: number,
): { dotsPerScanline: number; coherence: number; expectedCoherence: number } | undefined {
  const share = new Float64Array(limit + 1)
  let most = 0
  for (let n = MIN_DOTS; n <= limit; n++) {
    const expected = expectedCoherence(n, samplesPerScanline, grid)
    const seen = coherence[n]!
    if (seen < 2.5 * noise || seen < 0.1) continue
    // more coherent than perfect dots could be: the sample grid's own image
    if (seen > 1.25 * expected) continue
    share[n] = Math.min(1, seen / expected)
    most = Math.max(most, share[n]!)
  }
  if (most < 0.5) return undefined
  for (let n = MIN_DOTS; n <= limit; n++) {
    const expected = expectedCoherence(n, samplesPerScanline, grid)
    if (share[n]! > 0 && share[n]! >= SAME_PEAK * most - (2 * noise) / expected) {
      return {
        dotsPerScanline: n,
        coherence: coherence[n]!,
        expectedCoherence: expected,
      }
    }
  }
  return undefined
}
