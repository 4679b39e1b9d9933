// Edges as they are, and as they ought to be → which are which: the cheapest way to get from one sequence to the other.

/** An edge that ought to be there. */
export interface WantedEdge {
  place: number
  /** How far off it may be and still be in its place. */
  tolerance: number
}

/** One step of the way: indices of a wanted and a seen edge; -1 where it has no counterpart. */
export interface EdgePair {
  wanted: number
  seen: number
  /** Whether it is in its place. */
  isRight: boolean
}

/** Cost of an edge that has no counterpart; of one that is elsewhere, less than of two that have none. */
const ALONE = 0.5
const MOVED = 0.6
const PER_SCANLINE = 2
const MOST_MOVED = 0.95
/** Scanlines that an edge may be off and still be that edge; a leading one further away is another pulse. */
const LEAD_REACH = 0.15
const TRAIL_REACH = 0.6

/**
 * Both sequences begin with a leading edge and alternate (Needleman and Wunsch, Journal of Molecular Biology 48, 1970: the
 * best alignment of two sequences; from memory).
 *
 * @param wanted in order of time
 * @param seen places in order of time
 */
export function matchEdges(
  wanted: readonly WantedEdge[],
  seen: readonly number[],
): { cost: number; pairs: EdgePair[] } {
  const columns = seen.length + 1
  const cost = new Float64Array((wanted.length + 1) * columns)
  for (let i = 0; i <= wanted.length; i++) {
    for (let j = 0; j <= seen.length; j++) {
      if (i === 0 || j === 0) {
        cost[i * columns + j] = ALONE * (i + j)
        continue
      }
      const alone = ALONE + Math.min(cost[(i - 1) * columns + j]!, cost[i * columns + j - 1]!)
      const pair = cost[(i - 1) * columns + j - 1]! + pairCost(wanted, seen, i, j)
      cost[i * columns + j] = Math.min(alone, pair)
    }
  }
  const pairs: EdgePair[] = []
  for (let i = wanted.length, j = seen.length; i > 0 || j > 0;) {
    const here = cost[i * columns + j]!
    const paired = i > 0 && j > 0 ? pairCost(wanted, seen, i, j) : Infinity
    if (paired < Infinity && here === cost[(i - 1) * columns + j - 1]! + paired)
      pairs.push({ wanted: --i, seen: --j, isRight: paired === 0 })
    else if (i > 0 && here === cost[(i - 1) * columns + j]! + ALONE)
      pairs.push({ wanted: --i, seen: -1, isRight: false })
    else pairs.push({ wanted: -1, seen: --j, isRight: false })
  }
  return { cost: cost.at(-1)!, pairs: pairs.reverse() }
}

/** Of the edges before these numbers. */
function pairCost(wanted: readonly WantedEdge[], seen: readonly number[], i: number, j: number): number {
  if ((i + j) % 2 === 1) return Infinity
  const isLead = i % 2 === 1
  const { place, tolerance } = wanted[i - 1]!
  const at = seen[j - 1]!
  const off = Math.abs(at - place)
  if (off <= tolerance) return 0
  if (off > (isLead ? LEAD_REACH : TRAIL_REACH)) return Infinity
  // no pulse ends before it begins
  if (!isLead && at < wanted[i - 2]!.place - LEAD_REACH) return Infinity
  return Math.min(MOST_MOVED, MOVED + PER_SCANLINE * off)
}

/** Whether every edge is in its place: what nearly all intervals are. */
export function isAsWanted(wanted: readonly WantedEdge[], seen: readonly number[]): boolean {
  return (
    wanted.length === seen.length &&
    wanted.every(({ place, tolerance }, i) => Math.abs(seen[i]! - place) <= tolerance)
  )
}
