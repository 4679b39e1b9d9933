// Edge times → the grid they lie on. An instrument sees edges only at its samples, so their times are whole
// sample intervals apart, whatever the file's tick is; a file of its own because everything later leans on it.

import { firstFrom } from './rising-ticks.ts'
import { roundedLine } from './rounded-line.ts'
import { RunningLine } from './running-line.ts'
import { isUsualRate, RATE_AGREES, USUAL_RATES, usualInterval } from './usual-rates.ts'

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

/** Gaps looked at; more add nothing once the grid is known to a part in 10^6. */
const MAX_GAPS = 50_000
/** Fewer gaps than this prove no grid. */
const MIN_GAPS = 40
/** Below this many ticks, rounding to whole ticks hides the grid. */
const SMALLEST_FUZZY_TICKS = 3.5
/** Below this many, rounding leaves next to nothing of them. */
const SMALLEST_WOUND_TICKS = 1.2
/** Share of what samples at a rate would give, from which on they are at that rate. */
const WOUND_EXCESS = 0.6
/** Stretches whose phases a line is put through. */
const TURNING_BLOCKS = 16
/** Most samples that the shortest gap may last for the gaps alone to tell the grid. */
const MAX_SHORTEST_SAMPLES = 24
/** Rounds of counting; each makes the stretches longer by far. */
const MAX_ROUNDS = 4
/** Standard uncertainties within which an interval is looked for again. */
const COVERAGE = 6
/** Agreement of a rate with the sample interval that a writer counts in, which may have seven digits or so. */
const WRITER_AGREES = 1e-6
/** Digits that both ends of a capture may be off in it, rounded or cut off. */
const LAST_DIGITS = 2
/** Blocks of edges that are taken to err by themselves; the number that tells of the largest error counts. */
const BLOCKS = [64, 16, 6]
/** What a rate must be known to, relatively, to be recognized: usual ones lie a hundredth and more apart. */
const RATE_SHOWN = 1e-6
/** Relative digits that are left of sums over a capture. */
const FLOAT_DIGITS = 1e-14
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

/** Time from each edge to the next, in ticks. */
type Gaps = Float64Array

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
  // The shortest gap is a small number of samples; which number, the others decide.
  for (let samples = 1; samples <= MAX_SHORTEST_SAMPLES; samples++) {
    const start = sorted[0]! / samples
    if (start < SMALLEST_FUZZY_TICKS) break
    const rough = fromShortGaps(sorted, start)
    const fit = rough === undefined ? undefined : fitted(gaps, rough, rough / 100)
    if (fit) return refined(gaps, fit).grid
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

/** Walks from short gaps to long ones, each time knowing the interval well enough to count the next. */
function fromShortGaps(sorted: readonly number[], start: number): number | undefined {
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
    const doubt = 1.05 + samples * Math.min(own, interval / 8)
    if (doubt > interval / 2) break
    if (Math.abs(gap - samples * interval) > doubt) return undefined
    sumProduct += gap * samples
    sumSquares += samples * samples
    sumSamples += samples
    interval = sumProduct / sumSquares
  }
  return interval
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

/**
 * A usual rate whose samples are hardly longer than the digit they are rounded to. Single gaps no longer tell the samples
 * in them, but all edges together do: wound round a circle once a sample, they lie on one side of it.
 */
function fromPhases(gaps: Gaps, secondsPerTick: number): SampleGrid | undefined {
  // samples at a rate lie on the grid of twice that rate as well: the longest interval is theirs
  let longest = 0
  for (const decade of [1e6, 1e7, 1e8]) {
    for (const rate of USUAL_RATES) {
      const interval = 1 / (rate * decade * secondsPerTick)
      // whole ticks lie on every grid of whole ticks
      const isWhole = Math.abs(interval - Math.round(interval)) < 0.01 * interval
      if (interval < SMALLEST_WOUND_TICKS || interval >= SMALLEST_FUZZY_TICKS || isWhole) continue
      const [re, im] = wound(gaps, interval, 0, gaps.length)
      // rounding spreads each sample evenly over a tick
      const expected = Math.sin(Math.PI / interval) / (Math.PI / interval)
      if (Math.hypot(re, im) / expected > WOUND_EXCESS) longest = Math.max(longest, interval)
    }
  }
  return longest > 0 ? fromTurning(gaps, longest) : undefined
}

/** Mean of exp(2 pi i t / interval) over edges `from` to `to`. */
function wound(gaps: Gaps, interval: number, from: number, to: number): [number, number] {
  let at = 0
  let re = 0
  let im = 0
  for (let i = 0; i < to; i++) {
    at = (at + gaps[i]!) % (interval * 1e6)
    if (i < from) continue
    const angle = (2 * Math.PI * at) / interval
    re += Math.cos(angle) / (to - from)
    im += Math.sin(angle) / (to - from)
  }
  return [re, im]
}

/**
 * The interval at which edges do not turn round the circle: a line through the phases of as many stretches as there are
 * blocks. Their scatter about it is its uncertainty: edges of one picture repeat, so their number says little.
 */
function fromTurning(gaps: Gaps, interval: number): SampleGrid {
  const [meanRe, meanIm] = wound(gaps, interval, 0, gaps.length)
  const line = new RunningLine()
  let now = 0
  for (let block = 0, from = 0; block < TURNING_BLOCKS; block++) {
    const to = Math.floor(((block + 1) * gaps.length) / TURNING_BLOCKS)
    const [re, im] = wound(gaps, interval, from, to)
    const angle = Math.atan2(im * meanRe - re * meanIm, re * meanRe + im * meanIm)
    const began = now
    for (; from < to; from++) now += gaps[from]!
    line.add((began + now) / 2, angle)
  }
  const perTurn = interval ** 2 / (2 * Math.PI)
  // the line took two degrees of freedom
  const scatter = line.rms * Math.sqrt(TURNING_BLOCKS / (TURNING_BLOCKS - 2))
  return {
    intervalTicks: interval + line.slope * perTurn,
    uncertaintyTicks: (scatter / Math.sqrt(line.spread)) * perTurn,
    coarserThanTick: true,
    rounded: true,
  }
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
  const grid = stretch.length < MIN_GAPS ? undefined : lineThrough(stretch, interval)
  return grid && { grid, gaps: stretch.length }
}

/** Scratch of one call: half a dozen lines are tried in a row, and new memory costs more than the sums. */
const X = new Float64Array(MAX_GAPS)
const Y = new Float64Array(MAX_GAPS)

/** Least squares of time against sample number over one stretch of gaps. */
function lineThrough(gaps: Gaps, interval: number): SampleGrid | undefined {
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
  let sum = 0
  for (let i = 0; i < values.length; i++) sum += values[i]!
  const mean = sum / values.length
  for (let i = 0; i < values.length; i++) values[i]! -= mean
}

function sumOfProducts(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
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
