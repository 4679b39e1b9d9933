// Intervals that ought to be equal → the step that they differ by: the sample interval, where nothing else shows it. Sync
// alone has no short gaps to tell the sample grid by, but its intervals differ by single samples.

/** Intervals by how often each was seen. */
export class IntervalCounts {
  readonly #times = new Map<number, number>()
  #overflowed = false

  add(ticks: number): void {
    // times that carry a fraction are no whole ticks: what they differ by in the last digits is no step
    const key = Math.round(ticks * 16) / 16
    const times = this.#times.get(key)
    if (times !== undefined) this.#times.set(key, times + 1)
    else if (this.#times.size < MAX_INTERVALS) this.#times.set(key, 1)
    else this.#overflowed = true
  }

  /** Undefined where there were too many different ones: they vary freely. */
  get times(): ReadonlyMap<number, number> | undefined {
    return this.#overflowed ? undefined : this.#times
  }
}

/** The grid that a set of intervals shows. */
export interface IntervalSteps {
  stepTicks: number
  /** How many steps the intervals are longer than the shortest, on average: what rounding to ticks does not touch. */
  meanSteps: number
  /** From the shortest to the longest. */
  steps: number
  /** The shortest: a whole number of steps. */
  lowestTicks: number
}

/** Different intervals kept. */
const MAX_INTERVALS = 256
/** A file that rounds times to ticks makes intervals differ by one. */
const ROUNDING_TICKS = 1.01
/** Most steps from the shortest to the longest. */
const MAX_STEPS = 40

/**
 * @param leastShare of all intervals that one must have to count: what is wrong with a sync makes rare ones
 * @param isPeriod where a late pulse is followed by a short interval, faults never make rare ones of one length alone:
 *   such are a beat, however slow, and count
 * @returns undefined where all are alike, or vary in no regular way
 */
export function intervalSteps(
  counts: IntervalCounts,
  leastShare = 0,
  isPeriod = true,
): IntervalSteps | undefined {
  const { times } = counts
  if (!times || times.size < 2) return undefined
  const all: { ticks: number; times: number; last: number }[] = []
  for (const [ticks, seen] of [...times].sort((a, b) => a[0] - b[0])) {
    const cluster = all.at(-1)
    if (cluster && ticks - cluster.last <= ROUNDING_TICKS) {
      cluster.ticks += ((ticks - cluster.ticks) * seen) / (cluster.times + seen)
      cluster.times += seen
      cluster.last = ticks
    } else all.push({ ticks, times: seen, last: ticks })
  }
  const total = all.reduce((sum, cluster) => sum + cluster.times, 0)
  const isBeat = isPeriod && all.length === 2
  const clusters = isBeat ? all : all.filter((cluster) => cluster.times >= leastShare * total)
  if (clusters.length < 2) return undefined
  const gaps = clusters.slice(1).map(({ ticks }, i) => ticks - clusters[i]!.ticks)
  const least = Math.min(...gaps)
  let steps = 0
  let sum = 0
  for (const [i, gap] of gaps.entries()) {
    const whole = Math.round(gap / least)
    if (Math.abs(gap - whole * least) > ROUNDING_TICKS * (1 + whole)) return undefined
    steps += whole
    sum += steps * clusters[i + 1]!.times
  }
  if (steps > MAX_STEPS) return undefined
  const lowest = clusters[0]!.ticks
  return {
    stepTicks: (clusters.at(-1)!.ticks - lowest) / steps,
    meanSteps: sum / clusters.reduce((times, cluster) => times + cluster.times, 0),
    steps,
    lowestTicks: lowest,
  }
}
