// Edge times → the grid they lie on. An instrument sees edges only at its samples, so their times are whole
// sample intervals apart, whatever the file's tick is; a file of its own because everything later leans on it.

/** The grid that the edges of a capture lie on. */
export interface SampleGrid {
  /** Interval in ticks, not rounded. */
  intervalTicks: number
  /** Standard uncertainty of it, in ticks. */
  uncertaintyTicks: number
  /** False where nothing coarser than the file's own tick was found. */
  coarserThanTick: boolean
}

/** Gaps looked at; more add nothing once the grid is known to a part in 10^6. */
const MAX_GAPS = 50_000
/** Fewer gaps than this prove no grid. */
const MIN_GAPS = 40
/** Below this many ticks, rounding to whole ticks hides the grid. */
const SMALLEST_FUZZY_TICKS = 3.5

/**
 * Finds the largest interval of which all gaps between edges are whole multiples, allowing for the file having
 * rounded each time to a whole tick (a 24 MS/s capture in 1 ns ticks steps by 41 or 42).
 *
 * @param ticks edge times of all channels, rising or equal; only the first `count` are valid
 */
export function findSampleGrid(ticks: Float64Array, count: number): SampleGrid {
  const gaps: number[] = []
  let exact = 0
  for (let i = 1; i < count && gaps.length < MAX_GAPS; i++) {
    const gap = ticks[i]! - ticks[i - 1]!
    if (gap <= 0) continue
    gaps.push(gap)
    exact = greatestCommonDivisor(exact, gap)
  }
  const tickGrid = { intervalTicks: 1, uncertaintyTicks: 0, coarserThanTick: false }
  if (gaps.length < MIN_GAPS) return tickGrid
  if (exact >= 2) return { intervalTicks: exact, uncertaintyTicks: 0, coarserThanTick: true }
  return fuzzyGrid(gaps) ?? tickGrid
}

function greatestCommonDivisor(a: number, b: number): number {
  if (!Number.isInteger(b)) return 1
  while (b > 0) [a, b] = [b, a % b]
  return a
}

/** Grid of gaps that are each off by up to one tick (two times, each rounded or truncated). */
function fuzzyGrid(gaps: readonly number[]): SampleGrid | undefined {
  const sorted = [...new Set(gaps)].sort((a, b) => a - b)
  const shortest = sorted.slice(0, 400)
  let best: SampleGrid | undefined
  // The shortest gap is a small number of samples; which number, the others decide.
  for (let samples = 1; samples <= 24; samples++) {
    const start = shortest[0]! / samples
    if (start < SMALLEST_FUZZY_TICKS) break
    const refined = refine(gaps, sorted, start)
    if (refined) {
      best = refined
      break
    }
  }
  return best
}

/** Walks from short gaps to long ones, each time knowing the interval well enough to count the next. */
function refine(gaps: readonly number[], sorted: readonly number[], start: number): SampleGrid | undefined {
  let interval = start
  let sumProduct = 0
  let sumSquares = 0
  for (const gap of sorted) {
    const samples = Math.round(gap / interval)
    if (samples === 0) return undefined
    // rounding moves a gap by a tick at most; the interval's own doubt shrinks as samples add up
    const doubt = 1.05 + samples * Math.min(1 / Math.sqrt(sumSquares + 1), interval / 8)
    if (doubt > interval / 2) continue
    if (Math.abs(gap - samples * interval) > doubt) return undefined
    sumProduct += gap * samples
    sumSquares += samples * samples
    interval = sumProduct / sumSquares
  }
  // Now count samples from edge to edge over the whole stretch and fit; drop gaps too long to count.
  let index = 0
  let time = 0
  let n = 0
  let sumI = 0
  let sumT = 0
  let sumII = 0
  let sumIT = 0
  let squares = 0
  for (const gap of gaps) {
    const samples = Math.round(gap / interval)
    const off = gap - samples * interval
    if (Math.abs(off) > 1.2 + samples * 1e-6 * interval) return undefined
    squares += off * off
    index += samples
    time += gap
    n++
    sumI += index
    sumT += time
    sumII += index * index
    sumIT += index * time
  }
  // Two roundings of uniform error give sqrt(1/6) = 0.41 tick RMS; a wrong grid gives interval / sqrt(12).
  const rms = Math.sqrt(squares / n)
  if (rms > 0.62 || rms > interval / 5) return undefined
  const spread = sumII - (sumI * sumI) / n
  if (spread <= 0) return undefined
  const slope = (sumIT - (sumI * sumT) / n) / spread
  return { intervalTicks: slope, uncertaintyTicks: rms / Math.sqrt(spread), coarserThanTick: true }
}
