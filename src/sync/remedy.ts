// False and true edges of a segment → the filters that tell them apart: a hold-off after each edge, a minimum pulse width,
// or both. "No such value" is an answer.

/** A range of times in ticks; any value inside works. */
export interface TickRange {
  min: number
  max: number
}

/** One false edge as a filter meets it. */
export interface FalseEdge {
  /** Time since the last true leading edge before it, in ticks; NaN where there was none yet. */
  sinceTrueTicks: number
  /** Width that a minimum pulse width must exceed to reject it: of a pulse cut in two, the shorter piece's. */
  rejectWidthTicks: number
}

/** Extremes of the true pulses. */
export interface TruePulses {
  /** Shortest time from one true leading edge to the next, in ticks. */
  shortestGapTicks: number
  /** Shortest true pulse (of one cut in two, its longest piece), in ticks. */
  shortestWidthTicks: number
  /** How late after its leading edge the longest piece of a cut pulse begins, in ticks; 0 where the first is the longest. */
  latestPieceTicks: number
}

/** What rejects every false edge and keeps every true one. */
export interface Remedy {
  /** Time after a leading edge in which further ones are ignored. */
  holdOff: TickRange | null
  /** Shortest pulse that is counted. */
  minimumPulse: TickRange | null
  /** Where neither works alone: both together. */
  combined: { holdOff: TickRange; minimumPulse: TickRange } | null
}

/** Edges kept. */
const FRONT_CAPACITY = 64

/**
 * Of any number of false edges, those that decide: no other comes later *and* is wider. Memory is bounded: where more
 * edges decide than there is room for, two neighbours count as one that is as late and as wide as either, so that a
 * filter may be said to be impossible that is not, but never the other way round.
 */
export class FalseEdgeFront {
  /** Since falls, width rises. */
  #edges: FalseEdge[] = []
  #count = 0

  /** All that were added. */
  get count(): number {
    return this.#count
  }

  get edges(): readonly FalseEdge[] {
    return this.#edges
  }

  add({ sinceTrueTicks, rejectWidthTicks }: FalseEdge): void {
    this.#count++
    // before the first true pulse no hold-off has begun: that edge says nothing of how long it must be
    const since = Number.isNaN(sinceTrueTicks) ? 0 : sinceTrueTicks
    const isBelow = (a: FalseEdge): boolean =>
      a.sinceTrueTicks <= since && a.rejectWidthTicks <= rejectWidthTicks
    if (this.#edges.some((edge) => edge.sinceTrueTicks >= since && edge.rejectWidthTicks >= rejectWidthTicks))
      return
    this.#edges = this.#edges.filter((edge) => !isBelow(edge))
    const at = this.#edges.findIndex((edge) => edge.sinceTrueTicks < since)
    const edge = { sinceTrueTicks: since, rejectWidthTicks }
    if (at < 0) this.#edges.push(edge)
    else this.#edges.splice(at, 0, edge)
    if (this.#edges.length > FRONT_CAPACITY) this.#joinNearest()
  }

  #joinNearest(): void {
    let nearest = 0
    let least = Infinity
    for (let i = 0; i + 1 < this.#edges.length; i++) {
      const apart = this.#edges[i + 1]!.rejectWidthTicks - this.#edges[i]!.rejectWidthTicks
      if (apart < least) {
        least = apart
        nearest = i
      }
    }
    const { sinceTrueTicks } = this.#edges[nearest]!
    const { rejectWidthTicks } = this.#edges[nearest + 1]!
    this.#edges.splice(nearest, 2, { sinceTrueTicks, rejectWidthTicks })
  }
}

/**
 * @param falseEdges of a front, or all
 * @param marginTicks kept from every measured extreme: what an edge may be off by (one sample)
 */
export function findRemedy(
  falseEdges: readonly FalseEdge[],
  truePulses: TruePulses,
  marginTicks: number,
): Remedy {
  const holdOff = holdOffFor(falseEdges, truePulses, marginTicks)
  const widest = falseEdges.reduce((most, { rejectWidthTicks }) => Math.max(most, rejectWidthTicks), 0)
  const minimumPulse = range(widest + marginTicks, truePulses.shortestWidthTicks - marginTicks)
  const combined = holdOff || minimumPulse ? null : combine(falseEdges, truePulses, marginTicks)
  return { holdOff, minimumPulse, combined }
}

function range(min: number, max: number): TickRange | null {
  // no true pulses, no limit to be found
  return min < max && max < Infinity ? { min, max } : null
}

function holdOffFor(
  falseEdges: readonly FalseEdge[],
  truePulses: TruePulses,
  marginTicks: number,
): TickRange | null {
  const latest = falseEdges.reduce((most, { sinceTrueTicks }) => Math.max(most, sinceTrueTicks), 0)
  return range(latest + marginTicks, truePulses.shortestGapTicks - marginTicks)
}

/** The smallest minimum width after which a hold-off copes with what is left. */
function combine(
  falseEdges: readonly FalseEdge[],
  truePulses: TruePulses,
  marginTicks: number,
): Remedy['combined'] {
  const byWidth = [...falseEdges].sort((a, b) => a.rejectWidthTicks - b.rejectWidthTicks)
  for (const { rejectWidthTicks } of byWidth) {
    const left = byWidth.filter((edge) => edge.rejectWidthTicks > rejectWidthTicks)
    if (left.length === 0) return null
    const minimumPulse = range(
      rejectWidthTicks + marginTicks,
      // wider still, and pulses that the hold-off is there for would be rejected as well: no harm
      truePulses.shortestWidthTicks - marginTicks,
    )
    if (!minimumPulse) return null
    // a piece that the minimum width lets pass begins the hold-off later than its pulse's leading edge would
    const shortestGapTicks = truePulses.shortestGapTicks - truePulses.latestPieceTicks
    const holdOff = holdOffFor(left, { ...truePulses, shortestGapTicks }, marginTicks)
    if (holdOff) return { holdOff, minimumPulse }
  }
  return null
}
