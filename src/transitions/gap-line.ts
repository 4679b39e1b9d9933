// Gaps between edges, and roughly the sample interval → the grid that they make, and how sure it is.

import { sumOf, sumOfProducts } from './column-sums.ts'
import { roundedLine } from './rounded-line.ts'

/** The grid that the edges of a capture lie on. */
export interface SampleGrid {
  /** Interval in ticks, not rounded. */
  intervalTicks: number
  /** Standard uncertainty of it, in ticks. */
  uncertaintyTicks: number
  /** False where nothing coarser than the file's own tick was found. */
  coarserThanTick: boolean
  /** True where the file has rounded the grid's times to whole ticks. */
  rounded: boolean
  /** Where it has rounded them to more than a tick: its last digit. */
  roundedToTicks?: number
}

/** Time from each edge to the next, in ticks. */
export type Gaps = Float64Array

/** Gaps looked at; more add nothing once the grid is known to a part in 10^6. */
export const MAX_GAPS = 50_000
/** Blocks of edges that are taken to err by themselves; the number that tells of the largest error counts. */
const BLOCKS = [64, 16, 6]
/** Relative digits that are left of sums over a capture. */
const FLOAT_DIGITS = 1e-15

/** Scratch of one call: half a dozen lines are tried in a row, and new memory costs more than the sums. */
const X = new Float64Array(MAX_GAPS)
const Y = new Float64Array(MAX_GAPS)

/** Least squares of time against sample number over one stretch of gaps. */
export function lineThroughGaps(gaps: Gaps, interval: number): SampleGrid | undefined {
  const count = gaps.length
  // both as they are off their means
  const x = X.subarray(0, count)
  const y = Y.subarray(0, count)
  countSamples(gaps, interval, x, y)
  fromMean(x)
  fromMean(y)
  const spread = sumOfProducts(x, x)
  if (!(spread > 0)) return undefined
  const slope = sumOfProducts(x, y) / spread
  const rms = Math.sqrt(Math.max(0, sumOfProducts(y, y) - slope * slope * spread) / count)
  // Rounding to whole ticks gives sqrt(1/12) = 0.29 tick RMS; a wrong grid gives interval / sqrt(12).
  if (rms > 0.45 || rms > interval / 5) return undefined
  const rounded = roundedLine(x, y)
  if (rounded) {
    return {
      intervalTicks: interval + rounded.slope,
      uncertaintyTicks: Math.max(rounded.sigma, FLOAT_DIGITS * interval),
      coarserThanTick: true,
      rounded: true,
    }
  }
  const products = runningProducts(x, y, slope, x)
  const variances = BLOCKS.map((blocks) => varianceOver(products, Math.min(blocks, count)))
  return {
    intervalTicks: interval + slope,
    uncertaintyTicks: Math.max(Math.sqrt(Math.max(...variances)) / spread, FLOAT_DIGITS * interval),
    coarserThanTick: true,
    rounded: true,
  }
}

// Small loops in functions of their own, each over columns: all of them run half a dozen times over fifty thousand gaps.

/** At each edge the samples since the first, and how much later it came than they say. */
function countSamples(gaps: Gaps, interval: number, index: Float64Array, offset: Float64Array): void {
  let at = 0
  let off = 0
  for (let i = 0; i < gaps.length; i++) {
    const samples = Math.round(gaps[i]! / interval)
    at += samples
    off += gaps[i]! - samples * interval
    index[i] = at
    offset[i] = off
  }
}

/** Takes the mean off. */
function fromMean(values: Float64Array): void {
  const mean = sumOf(values) / values.length
  for (let i = 0; i < values.length; i++) values[i]! -= mean
}

/** Sums of x times what y is off the line, up to and with each edge; they may take the place of x. */
function runningProducts(x: Float64Array, y: Float64Array, slope: number, sums: Float64Array): Float64Array {
  let sum = 0
  for (let i = 0; i < x.length; i++) {
    sum += x[i]! * (y[i]! - slope * x[i]!)
    sums[i] = sum
  }
  return sums
}

/**
 * Variance of a slope whose errors resemble their neighbours, times the squared spread: squares of sums over blocks in
 * place of single errors (Liang and Zeger, Biometrika 73, 1986, pp. 13-22). What rounding does to an edge repeats with the
 * picture.
 */
function varianceOver(runningProducts: Float64Array, blocks: number): number {
  const count = runningProducts.length
  let before = 0
  let squares = 0
  for (let block = 1; block <= blocks; block++) {
    const upTo = runningProducts[Math.ceil((block * count) / blocks) - 1]!
    squares += (upTo - before) ** 2
    before = upTo
  }
  // the line took two degrees of freedom
  return squares * (blocks / (blocks - 2))
}
