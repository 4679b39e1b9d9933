// Vertical intervals of several frames → the pulses that most of them have, and where: what any one of them is held against.

import { median } from './median.ts'
import { SIGMAS } from './sampled-line.ts'

/** An interval in places from its own begin, which is a whole or half number of scanlines. */
export interface AlignedInterval {
  from: number
  to: number
  /** Rising; the first is a leading edge, and they alternate. */
  edges: readonly number[]
}

/** Where most intervals have an edge. */
export interface PatternEdge {
  /** In the middle of where samples show it. */
  place: number
  /** How far off one of these may be seen. */
  tolerance: number
}

/** What most have; the first edge is a leading one, and they alternate. */
export interface VerticalPattern {
  from: number
  to: number
  edges: PatternEdge[]
}

/** What an instrument and a card make of an edge, in scanlines. */
export interface EdgeAccuracy {
  sample: number
  /** Standard deviation of real jitter. */
  jitter: number
}

/** Fewest intervals that have a majority. */
const MAJORITY_OF = 3
/** Samples that edges of one kind may be apart from one interval to the next, and more than any two edges are. */
const JOINED_SAMPLES = 6
/** Samples that the line of the scanlines may be off by: where they hardly beat with samples, it is known to a half. */
const SLACK_SAMPLES = 0.62
/** Samples within which edges of a steady source lie. */
const STRIP_SAMPLES = 1.1

/** Edges that are one and the same in all intervals. */
interface Cluster {
  /** Median of them. */
  place: number
  members: number[]
}

/** @returns undefined where there are too few, or no majority for one sequence of pulses */
export function verticalPattern(
  intervals: readonly AlignedInterval[],
  accuracy: EdgeAccuracy,
): VerticalPattern | undefined {
  if (intervals.length < MAJORITY_OF) return undefined
  const rising = (a: number, b: number): number => a - b
  const from = intervals.map((interval) => interval.from).sort(rising)[MAJORITY_OF - 1]!
  const to = intervals.map((interval) => interval.to).sort(rising)[intervals.length - MAJORITY_OF]!
  const edges: (PatternEdge & { isLead: boolean })[] = []
  for (const isLead of [true, false]) {
    const clusters = commonEdges(intervals, isLead ? 0 : 1, accuracy).filter(
      ({ place }) => place > from && place < to,
    )
    for (const edge of pooled(clusters, accuracy)) edges.push({ ...edge, isLead })
  }
  edges.sort((a, b) => a.place - b.place)
  const alternates = edges.every(({ isLead }, i) => isLead === (i % 2 === 0))
  if (!alternates || edges.length % 2 === 1) return undefined
  return { from, to, edges: edges.map(({ place, tolerance }) => ({ place, tolerance })) }
}

/** @param side 0 for leading edges, 1 for trailing ones */
function commonEdges(
  intervals: readonly AlignedInterval[],
  side: 0 | 1,
  { sample, jitter }: EdgeAccuracy,
): Cluster[] {
  const all: { place: number; of: number }[] = []
  intervals.forEach(({ edges }, of) => {
    for (let i = side; i < edges.length; i += 2) all.push({ place: edges[i]!, of })
  })
  all.sort((a, b) => a.place - b.place)
  const apart = JOINED_SAMPLES * sample + SIGMAS * jitter
  const clusters: Cluster[] = []
  for (let first = 0; first < all.length;) {
    let end = first + 1
    while (end < all.length && all[end]!.place - all[end - 1]!.place < apart) end++
    const members = all.slice(first, end)
    const places = members.map((edge) => edge.place)
    const place = median(places)!
    const covering = intervals.filter(({ from, to }) => from < place && place < to).length
    if (2 * new Set(members.map((edge) => edge.of)).size > covering) clusters.push({ place, members: places })
    first = end
  }
  return clusters
}

/**
 * Edges at one place of the scanline, whichever scanline that is, are seen by samples at many phases: together they tell
 * that place well, while each is seen in a few frames alone.
 */
function pooled(clusters: readonly Cluster[], { sample, jitter }: EdgeAccuracy): PatternEdge[] {
  const strip = STRIP_SAMPLES * sample + SIGMAS * jitter
  const inScanline = clusters
    .map(({ place, members }) => {
      const whole = Math.floor(place + sample)
      return { whole, place: place - whole, members: members.map((member) => member - whole) }
    })
    .sort((a, b) => a.place - b.place)
  const edges: PatternEdge[] = []
  for (let first = 0; first < inScanline.length;) {
    let end = first + 1
    while (end < inScanline.length && inScanline[end]!.place - inScanline[first]!.place <= strip) end++
    const group = inScanline.slice(first, end)
    const [low, high] = mostWithin(
      group.flatMap(({ members }) => members),
      strip,
    )
    // seen over less than a sample, an edge may be anywhere that leaves them within one
    const unknown = Math.max(0, sample - (high - low))
    const tolerance = (high - low) / 2 + unknown + SLACK_SAMPLES * sample + SIGMAS * jitter
    for (const { whole } of group) edges.push({ place: whole + (low + high) / 2, tolerance })
    first = end
  }
  return edges
}

/** Lowest and highest of what most lie within that much of each other; where that is undecided, of either. */
function mostWithin(places: number[], strip: number): [number, number] {
  places.sort((a, b) => a - b)
  let most = 0
  let [low, high] = [NaN, NaN]
  for (let first = 0, end = 0; first < places.length; first++) {
    while (end < places.length && places[end]! - places[first]! <= strip) end++
    if (end - first < most) continue
    if (end - first > most) low = places[first]!
    most = end - first
    high = places[end - 1]!
  }
  return [low, high]
}
