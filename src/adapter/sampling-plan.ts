// Dot clock and sampling clock -> where an adapter's samples fall in the dots: error, slip, bands, margin.
//
//   hsync edge                dot 0         dot 1         dot 2
//   ____|¯¯¯¯ ... ________|_____________|_____________|_____________
//       |<-c->|<------------- (0.5 + phase + d) m clocks ---->^
//         caught on the next clock                        sample d
//
// Positions are in dots. With r = m * dotClock / clock (dots passed per step of m clocks), sample d of a scanline falls
// at (lead + d + 0.5 + phase) r + c after the hsync edge, c being the wait for the clock that catches the edge: anything
// from 0 to one clock. It is meant for the middle of dot d, so it errs by
//
//   e(d) = (lead + d + 0.5) (r - 1) + phase r + c
//
// and reads the right dot while |e| < 1/2. The slip e grows by r - 1 a dot and starts anew at each hsync. Where it
// passes 1/2 more than a whole number, a dot is read twice or left out, and the columns near by are read at the edge of
// a dot, now this side and now that, as c will have it: a band, at the same columns on every scanline.

import type { Measurement } from '../measurement.ts'
import type { PllSetting } from './pll.ts'

/** The signal to be sampled. */
export interface SampledSignal {
  dotClockHz: Measurement
  activeDots: number
  /** Dots from the leading edge of hsync to the first active dot; 0 where unknown. */
  leadDots?: number
  /** RMS jitters that add up in the eye: the card's, the instrument's, the clock's own. */
  jitterRmsSeconds?: readonly number[]
}

/** How the adapter samples. */
export interface SamplingClock {
  clockHz: number
  /** Clocks from one sample to the next; not whole: a fractional divider, each sample on the clock that follows. */
  clocksPerDot: number
  /** How long a video input is unsure either side of an edge. */
  setupSeconds?: number
  /** Where in the dot samples aim, dots from its middle; undefined: where the margin is best. */
  phaseDots?: number
  pll?: PllSetting | null
}

/** One band. Columns count active dots from 0. */
export interface Band {
  /** Where the sample lies on a dot's edge in the mean over all catches, cut to the picture. */
  column: number
  firstColumn: number
  lastColumn: number
  widthDots: number
}

/** What a sampling clock does to a picture. */
export interface SamplingPlan {
  sampleClockHz: number
  clocksPerDot: number
  /** Of the rate of samples against the dot clock; negative: the adapter is slow. */
  errorPpm: number
  /** How far samples move through the dots over the active width, without regard to sign. */
  slipDots: number
  /** How many. Those on columns that meet are counted one by one. */
  bands: number
  /** Their columns, rising; the first 4096 at most. */
  bandColumns: number[]
  bandDetails: Band[]
  /** Columns that belong to any band, as a share of the picture's width. */
  disturbedFraction: number
  /** True: starting anew at each hsync keeps the slip below what would show. */
  rephasingHidesBands: boolean
  /**
   * Twice the least distance of any sample from an edge of its dot, in dots: 1 = always in the middle, 0 = at an edge.
   * Catch error, jitter, setup time and the doubt of the dot clock are taken off at their worst.
   */
  eyeMarginFraction: number
  /** As `eyeMarginFraction`, but below 0 where samples pass the edge. */
  worstMarginFraction: number
  /** Change of either clock, either way, at which the margin is used up while the phase stays; 0 with bands. */
  clockTolerancePpm: number
  phaseDots: number
  pll: PllSetting | null
}

/** Unsure time either side of an edge: TTL edges of about 10 ns, seen from their middle (common practice). */
export const USUAL_SETUP_SECONDS = 5e-9

/** Coverage factor for a worst case: 99.7 % of a normal distribution (GUM, JCGM 100:2008, annex G, table G.1). */
const WORST_CASE_FACTOR = 3

/** @throws {RangeError} a rate or the width is not positive */
export function samplingPlan(signal: SampledSignal, clock: SamplingClock): SamplingPlan {
  const dotClockHz = signal.dotClockHz.value
  const { clockHz, clocksPerDot } = clock
  if (!(dotClockHz > 0 && clockHz > 0 && clocksPerDot > 0 && signal.activeDots >= 1))
    throw new RangeError('dot clock, sampling clock, clocks per dot and active dots must be positive')
  const ratio = (clocksPerDot * dotClockHz) / clockHz
  const slope = ratio - 1
  const lead = signal.leadDots ?? 0
  const wander = catchDots(dotClockHz, clock)
  const unsure = unsureDots(signal, clock)
  const last = signal.activeDots - 1
  // error of the first and last sample, mean over the catches, at phase 0
  const [start, end] = [(lead + 0.5) * slope + wander / 2, (lead + last + 0.5) * slope + wander / 2]
  const phaseDots = clock.phaseDots ?? -(start + end) / 2 / ratio
  const [first, final] = [start + phaseDots * ratio, end + phaseDots * ratio]

  const furthest = Math.max(Math.abs(first), Math.abs(final)) + wander / 2 + unsure
  const doubt = WORST_CASE_FACTOR * (signal.dotClockHz.uncertainty / dotClockHz) * (lead + signal.activeDots)
  const worst = 1 - 2 * (furthest + doubt)
  const reach = wander / 2 + unsure
  const bands = edgesBetween(Math.min(first, final) - reach, Math.max(first, final) + reach).count
  const bandDetails = bandsOf(first, slope, reach, signal.activeDots)
  return {
    sampleClockHz: clockHz,
    clocksPerDot,
    errorPpm: (1 / ratio - 1) * 1e6,
    slipDots: Math.abs(slope) * signal.activeDots,
    bands,
    bandColumns: bandDetails.map(({ column }) => column),
    bandDetails,
    // not all listed: there are more bands than columns can keep apart
    disturbedFraction: bands > bandDetails.length ? 1 : disturbedColumns(bandDetails) / signal.activeDots,
    rephasingHidesBands: bands === 0,
    eyeMarginFraction: Math.max(0, worst),
    worstMarginFraction: worst,
    clockTolerancePpm:
      (Math.max(0, worst) / 2 / (ratio * (lead + signal.activeDots - 0.5 + Math.abs(phaseDots)))) * 1e6,
    phaseDots,
    pll: clock.pll ?? null,
  }
}

/** Spread of a sample's place, dots: one clock from the catch of hsync, one more where a fraction is rounded up. */
function catchDots(dotClockHz: number, { clockHz, clocksPerDot }: SamplingClock): number {
  return ((Number.isInteger(clocksPerDot) ? 1 : 2) * dotClockHz) / clockHz
}

/** Half-width of an edge, dots: setup time and three times the jitters' root sum of squares. */
function unsureDots(
  { dotClockHz, jitterRmsSeconds }: SampledSignal,
  { setupSeconds }: SamplingClock,
): number {
  const jitter = WORST_CASE_FACTOR * Math.hypot(...(jitterRmsSeconds ?? []))
  return dotClockHz.value * ((setupSeconds ?? USUAL_SETUP_SECONDS) + jitter)
}

/** Bands listed at most; a clock that makes more shows no picture. */
const MAX_BANDS_LISTED = 4096

/** Edges k + 1/2 strictly between two errors: a sample that only just touches an edge is not past it. */
function edgesBetween(low: number, high: number): { firstK: number; count: number } {
  const firstK = Math.floor(low + 0.5)
  return { firstK, count: Math.max(0, Math.ceil(high - 0.5) - firstK) }
}

/**
 * Bands of errors that run from `first` by `slope` a dot: one for each edge k + 1/2 that some sample comes within
 * `reach` of.
 */
function bandsOf(first: number, slope: number, reach: number, activeDots: number): Band[] {
  const last = activeDots - 1
  const final = first + slope * last
  const { firstK, count } = edgesBetween(Math.min(first, final) - reach, Math.max(first, final) + reach)
  const cut = (column: number): number => Math.min(Math.max(column, 0), last)
  // without slip the edge is as near on every column
  const at = (error: number): number => (slope === 0 ? last / 2 : (error - first) / slope)
  return Array.from({ length: Math.min(count, MAX_BANDS_LISTED) }, (_, n) => {
    const edge = firstK + n + 0.5
    const column = cut(Math.round(at(edge)))
    const ends = slope === 0 ? [0, last] : [at(edge - reach), at(edge + reach)].sort((a, b) => a - b)
    // samples may step over an edge between two columns, near neither: the dot there is left out or read twice
    const firstColumn = Math.min(cut(Math.ceil(ends[0]!)), column)
    const lastColumn = Math.max(cut(Math.floor(ends[1]!)), column)
    return { column, firstColumn, lastColumn, widthDots: lastColumn - firstColumn + 1 }
  }).sort((a, b) => a.column - b.column)
}

/** Columns in any band, each once. */
function disturbedColumns(bands: readonly Band[]): number {
  let count = 0
  let next = 0
  for (const { firstColumn, lastColumn } of [...bands].sort((a, b) => a.firstColumn - b.firstColumn)) {
    count += Math.max(0, lastColumn - Math.max(firstColumn, next) + 1)
    next = Math.max(next, lastColumn + 1)
  }
  return count
}
