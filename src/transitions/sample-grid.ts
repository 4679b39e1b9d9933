// Edge times → the grid they lie on. An instrument sees edges only at its samples, so their times are whole
// sample intervals apart, whatever the file's tick is; a file of its own because everything later leans on it.

import { lineThroughGaps, MAX_GAPS, type Gaps, type SampleGrid } from './gap-line.ts'
import { fromPhases, SMALLEST_FUZZY_TICKS } from './phase-grid.ts'
import { firstFrom } from './rising-ticks.ts'
import { isUsualRate, RATE_AGREES, USUAL_RATES, usualInterval } from './usual-rates.ts'

export type { SampleGrid } from './gap-line.ts'

/** Fewer gaps than this prove no grid. */
const MIN_GAPS = 40
/** Most samples that the shortest gap may last for the gaps alone to tell the grid. */
const MAX_SHORTEST_SAMPLES = 24
/** Lengths of gaps, the shortest ones, that the grid may be looked for without. */
const MAX_LEFT_OUT = 3
/** What a gap between two rounded times may be off by, and what sums of numbers are. */
const ROUNDED_GAP = 1.05
/** Rounds of counting; each makes the stretches longer by far. */
const MAX_ROUNDS = 4
/** Standard uncertainties within which an interval is looked for again. */
const COVERAGE = 6
/** Agreement of a rate with the sample interval that a writer counts in, which may have seven digits or so. */
const WRITER_AGREES = 1e-6
/** Digits that both ends of a capture may be off in it, rounded or cut off. */
const LAST_DIGITS = 2
/** What a rate must be known to, relatively, to be recognized: usual ones lie a hundredth and more apart. */
const RATE_SHOWN = 1e-6
/** The grid that nothing coarser shows in. */
export const TICK_GRID: SampleGrid = {
  intervalTicks: 1,
  uncertaintyTicks: 0,
  coarserThanTick: false,
  rounded: false,
}

/**
 * Finds the largest interval of which all gaps between edges are whole multiples, allowing for the file having
 * rounded each time to a whole tick (a 24 MS/s capture in 1 ns ticks steps by 41 or 42), or to its last written digit.
 *
 * @param ticks edge times of all channels, rising or equal; only the first `count` are valid
 * @param secondsPerTick as the file states it, null where it does not
 */
export function findSampleGrid(
  ticks: Float64Array,
  count: number,
  secondsPerTick: number | null = null,
): SampleGrid {
  const grid = seenGrid(ticks, count, secondsPerTick)
  const { intervalTicks, uncertaintyTicks } = grid
  // times are counted in samples of the instrument's own clock: one that has a usual rate to so many digits has it exactly
  const agreement = (COVERAGE * uncertaintyTicks) / intervalTicks
  if (uncertaintyTicks === 0 || agreement > RATE_SHOWN) return grid
  const usual = usualInterval(intervalTicks, secondsPerTick, agreement)
  return usual === null ? grid : { ...grid, intervalTicks: usual, uncertaintyTicks: 0 }
}

/** The grid as the edges alone show it. */
function seenGrid(ticks: Float64Array, count: number, secondsPerTick: number | null): SampleGrid {
  const all = gapsOf(ticks, 0, count)
  if (all.list.length < MIN_GAPS) return TICK_GRID
  // a fixed number of digits rounds late times more coarsely than early ones, and there most edges lie
  const from = firstFrom(mainDecade(ticks[count - 1]!), ticks, 0, count)
  const late = gapsOf(ticks, from, count, 10 * all.divisor)
  const { list, divisor } = late.list.length >= MIN_GAPS && late.divisor >= 10 * all.divisor ? late : all
  if (divisor < 2)
    return fromGaps(list) ?? (secondsPerTick === null ? TICK_GRID : fromUsualRates(list, secondsPerTick))
  const exact = { intervalTicks: divisor, uncertaintyTicks: 0, coarserThanTick: true, rounded: false }
  // what all gaps are multiples of may be the file's last digit, which samples were rounded to
  if (secondsPerTick === null || !isPowerOfTen(divisor)) return exact
  const digits = list.map((gap) => gap / divisor)
  const secondsPerDigit = secondsPerTick * divisor
  const seen = fromGaps(digits) ?? fromUsualRates(digits, secondsPerDigit)
  const within = seen.rounded ? seen : fromPhases(digits, secondsPerDigit)
  if (!within) return exact
  const agreement = Math.max(
    agreementOver(digits),
    (COVERAGE * within.uncertaintyTicks) / within.intervalTicks,
  )
  if (!within.rounded || !isUsualRate(within.intervalTicks, secondsPerDigit, agreement)) return exact
  return {
    intervalTicks: within.intervalTicks * divisor,
    uncertaintyTicks: within.uncertaintyTicks * divisor,
    coarserThanTick: true,
    rounded: true,
    roundedToTicks: divisor,
  }
}

/**
 * How well a rate agrees with what a file's times say: they are counted in samples, so that it is right to the last digit
 * of the last of them, unless the writer's own sample interval is rounded.
 */
function agreementOver(gaps: Gaps): number {
  return Math.max(LAST_DIGITS / gaps.reduce((sum, gap) => sum + gap, 0), WRITER_AGREES)
}

/**
 * Gaps between neighbouring edges that do not coincide, and the largest whole number that divides them all.
 * @param leastDivisor what it must be for them to be of any use: as soon as it is smaller, no more are looked at
 */
function gapsOf(
  ticks: Float64Array,
  from: number,
  count: number,
  leastDivisor = 0,
): { list: Gaps; divisor: number } {
  const list = new Float64Array(Math.max(0, Math.min(MAX_GAPS, count - from - 1)))
  let used = 0
  let divisor = 0
  for (let i = from + 1; i < count && used < MAX_GAPS; i++) {
    const gap = ticks[i]! - ticks[i - 1]!
    if (gap <= 0) continue
    list[used++] = gap
    if (divisor === 1 || gap % divisor === 0) continue
    divisor = greatestCommonDivisor(divisor, gap)
    if (divisor < leastDivisor) break
  }
  return { list: list.subarray(0, used), divisor }
}

/** Power of ten from which on most times have as many digits as each other. */
function mainDecade(lastTick: number): number {
  const decade = 10 ** Math.floor(Math.log10(Math.max(1, lastTick)))
  return lastTick < 2 * decade ? decade / 10 : decade
}

function isPowerOfTen(value: number): boolean {
  return value === 10 ** Math.round(Math.log10(value))
}

function greatestCommonDivisor(a: number, b: number): number {
  if (!Number.isInteger(b)) return 1
  while (b > 0) {
    const rest = a % b
    a = b
    b = rest
  }
  return a
}

/** Grid of gaps that are each off by up to one tick (two times, each rounded or truncated). */
function fromGaps(gaps: Gaps): SampleGrid | undefined {
  const sorted = [...new Set(gaps)].sort((a, b) => a - b)
  // one short gap, alone of its kind, may be too rough to count the next by: that tells more
  for (let without = 0; without < MAX_LEFT_OUT && without < sorted.length; without++) {
    const fit = fromShortest(gaps, sorted.slice(without))
    if (fit) return refined(gaps, fit).grid
  }
  return undefined
}

/** The shortest gap is a small number of samples; which number, the others decide. */
function fromShortest(gaps: Gaps, sorted: readonly number[]): Fit | undefined {
  for (let samples = 1; samples <= MAX_SHORTEST_SAMPLES; samples++) {
    const start = sorted[0]! / samples
    if (start < SMALLEST_FUZZY_TICKS) break
    const rough = fromShortGaps(sorted, start)
    const fit = rough && fitted(gaps, rough.interval, rough.doubt)
    if (fit) return fit
  }
  return undefined
}

/** Counts again with what is known now: gaps that were too long to count join the stretches beside them. */
function refined(gaps: Gaps, first: Fit): Fit {
  let fit = first
  // a stretch that already holds all of them stays what it is
  for (let round = 0; round < MAX_ROUNDS && fit.gaps < gaps.length; round++) {
    const { intervalTicks, uncertaintyTicks } = fit.grid
    const next = fitted(gaps, intervalTicks, COVERAGE * uncertaintyTicks)
    if (!next || !(next.grid.uncertaintyTicks < uncertaintyTicks)) break
    fit = next
  }
  return fit
}

/**
 * Walks from short gaps to long ones, each time knowing the interval well enough to count the next.
 * @returns it, and what it may be off by, in ticks
 */
function fromShortGaps(
  sorted: readonly number[],
  start: number,
): { interval: number; doubt: number } | undefined {
  let interval = start
  let sumProduct = 0
  let sumSquares = 0
  let sumSamples = 0
  for (const gap of sorted) {
    const samples = Math.round(gap / interval)
    if (samples === 0) return undefined
    // rounding moves a gap by a tick at most, it may be all of them the same way; the interval's own doubt shrinks as
    // samples add up
    const own = sumSquares > 0 ? sumSamples / sumSquares : Infinity
    const doubt = ROUNDED_GAP + samples * Math.min(own, interval / 8)
    if (doubt > interval / 2) break
    if (Math.abs(gap - samples * interval) > doubt) return undefined
    sumProduct += gap * samples
    sumSquares += samples * samples
    sumSamples += samples
    interval = sumProduct / sumSquares
  }
  // nothing, not even the shortest gap, may have been short enough to count: rounded, that leaves open so much
  const doubt = sumSquares > 0 ? sumSamples / sumSquares : (ROUNDED_GAP * start) / sorted[0]!
  return { interval, doubt }
}

/** The slowest usual rate whose samples all edges lie on. */
function fromUsualRates(gaps: Gaps, secondsPerTick: number): SampleGrid {
  const agreement = Math.min(RATE_AGREES, agreementOver(gaps))
  for (const decade of [1e6, 1e7, 1e8]) {
    for (const rate of USUAL_RATES) {
      const interval = 1 / (rate * decade * secondsPerTick)
      if (interval < SMALLEST_FUZZY_TICKS) return TICK_GRID
      const grid = fitted(gaps, interval, 0)?.grid
      if (grid && Math.abs(grid.intervalTicks / interval - 1) < agreement) return grid
    }
  }
  return TICK_GRID
}

/** A grid with the number of gaps that it was taken from. */
interface Fit {
  grid: SampleGrid
  gaps: number
}

/**
 * Counts samples from edge to edge, and so over ever longer stretches; the interval, known from the stretch so far,
 * counts the next gap. A gap too long for that begins a new stretch. The longest stretch gives the result.
 *
 * @param doubt what the interval may be off by, in ticks
 */
function fitted(gaps: Gaps, rough: number, doubt: number): Fit | undefined {
  let interval = rough
  let from = 0
  let samples = 0
  let ticks = 0
  let [bestFrom, bestTo, mostSamples] = [0, 0, 0]
  for (let i = 0; i < gaps.length; i++) {
    const gap = gaps[i]!
    const more = Math.round(gap / interval)
    if (more * doubt > interval / 2 - 1.2) {
      from = i + 1
      samples = 0
      ticks = 0
      continue
    }
    if (Math.abs(gap - more * interval) > 1.2 + more * doubt) return undefined
    samples += more
    ticks += gap
    if (samples > mostSamples) {
      bestFrom = from
      bestTo = i + 1
      mostSamples = samples
    }
    // both ends of the stretch are rounded to a tick
    if (1 / samples >= doubt) continue
    doubt = 1 / samples
    interval = ticks / samples
  }
  const stretch = gaps.subarray(bestFrom, bestTo)
  const grid = stretch.length < MIN_GAPS ? undefined : lineThroughGaps(stretch, interval)
  return grid && { grid, gaps: stretch.length }
}
