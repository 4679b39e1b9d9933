// Edge phases → dots per scanline. The card divides its dot clock by a whole number to get the scanline, so edges of the
// picture sit at multiples of 1/N of it: for the true N, wound N times round the circle, they all fall into one arc.

import { mostInside, phaseList, thinned, windowDots, type PhaseList } from './dot-window.ts'
import { allPhases, PHASE_BINS, type EdgePhases } from './edge-phases.ts'
import { fourier } from '../transitions/fourier.ts'

/** Dots per scanline as the picture proves it. */
export interface DotCount {
  /** Smallest N that explains the edges; a picture of double-width dots proves half of what the card counts. */
  dotsPerScanline: number
  /** Mean length of the wound phases, 0 to 1, at that N. */
  coherence: number
  /** How well that N explains the edges: 0 = as well as chance, 1 = every edge. */
  explained: number
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
/** Samples per dot below which a single still frame shows no peak. */
export const MIN_SAMPLES_PER_DOT = 1.12
/** Counts that are looked at closely: the highest peaks of coherence. */
const MAX_CANDIDATES = 96
/** Explanation that the best count must give. */
const MIN_EXPLAINED = 0.75
/** Share of the best explanation that a smaller count must reach: what it leaves out are dots it cannot draw. */
const SAME_EXPLANATION = 0.975
/** Chance, over all counts tried, that unrelated places fit one of them. */
const MAX_CHANCE = 0.01
/** Samples per scanline above which the sample grid is of no concern. */
const MAX_GRID = 4 * MAX_DOTS
/** Coherence of edges with the sample grid they were taken on: they lie on it but for rounding. */
const ON_GRID = 0.97
/** Of the places where edges could have been seen, the share that a count of dots does not explain but by its size. */
const MOST_OF_PLACES = 0.5
/** Counts within this ratio are rivals; a larger one has an arc wide enough to explain more by chance, and may be a multiple. */
const RIVAL_RATIO = 1.1
/** Share of all edges that are looked at first: of those a wrong count leaves too many outside already. */
const GLANCE_SHARE = 1 / 24
/** What makes an arc hold both its ends, in dots. */
const ARC_END = 0.002
/**
 * Widest arc that proves a count against samples that stand still. A wider one also holds the edges of the count that
 * mirrors it, the samples less itself, and those of text, which leaves columns of its cells without edges.
 */
const WIDEST_ON_GRID = 0.5

/** Arcs up to this leave many of the edges of twice as many dots outside; a wider one may hold most of them. */
const NARROW = 0.5
/** Share of the coherence that edges in so wide an arc ought to have: what skew between planes may take of it. */
const FAIR_COHERENCE = 0.5

/**
 * @param samplesPerScanline scanline period over sample interval
 * @param scanlines scanlines that the phases were folded over
 * @param jitterScanlines standard deviation of edges beyond sampling, as a share of the scanline
 * @param likely dots per scanline of the standards that the rates point to: where several counts explain the edges,
 *   one of these is chosen
 * @param places where in the scanline edges could have been seen at all, where that is not everywhere alike: a count
 *   that explains these as well is one of the samples and not of the dots
 */
export function countDots(
  phases: readonly EdgePhases[],
  samplesPerScanline: number,
  scanlines: number,
  jitterScanlines: number,
  likely: readonly number[],
  places?: Float64Array,
): DotCount | NoDotCount {
  let edges = 0
  for (const entry of phases) edges += entry.edges
  if (edges < MIN_EDGES) return { reason: 'no-edges', edges }
  const together = allPhases(phases)
  const coherence = coherences(together, edges)
  const grid = gridOf(samplesPerScanline, scanlines)
  const limit = Math.min(MAX_DOTS, Math.floor(samplesPerScanline / MIN_SAMPLES_PER_DOT))
  const groups = groupsOf(phases, grid)
  const edgeGroups = glancedAt(groups)
  const allPlaces = places && phaseList(places, null)
  const explainedAt = (dots: number, jitter: number, least: number): number => {
    const isLikely = likely.includes(dots)
    // edges that fall on the sampling instant show in either sample: where a count is likely, both ends of its arc count
    const width = windowDots(dots, samplesPerScanline, jitter, grid) + (isLikely ? ARC_END : 0)
    if (width >= (grid === null || isLikely ? 1 : WIDEST_ON_GRID)) return 0
    const expected = FAIR_COHERENCE * expectedCoherence(dots, samplesPerScanline, jitter)
    if (width > NARROW && coherence[dots]! < expected) return 0
    const explained = explainedBy(edgeGroups, dots, width, least)
    return explained < MIN_EXPLAINED || !allPlaces || shareIn(allPlaces, dots, width) < MOST_OF_PLACES
      ? explained
      : 0
  }
  const candidates = peaks(coherence, limit, edges)
  // hsync may jitter alone, and the picture with its smoothed starts be steady; or both jitter together
  let jitter = 0
  let found = choose(candidates, (dots, least) => explainedAt(dots, 0, least), likely)
  if (!found && jitterScanlines > 0) {
    jitter = jitterScanlines
    found = choose(candidates, (dots, least) => explainedAt(dots, jitter, least), likely)
  }
  const onGrid = grid !== null && grid >= MIN_DOTS && grid <= MAX_DOTS && coherence[grid]! > ON_GRID
  const inStep = onGrid && (likely.length === 0 || likely.some((dots) => dots % grid === 0))
  if (found && !(inStep && likely.includes(grid) && grid % found.dots !== 0)) {
    const width = windowDots(found.dots, samplesPerScanline, jitter, grid)
    const apart = distinctPlaces(together, edges, samplesPerScanline)
    const proven = apart * width ** (apart - 1) * limit < MAX_CHANCE
    if (!proven || found.hasRival || hasNeighbour(found, (dots, least) => explainedAt(dots, jitter, least)))
      return { reason: 'few-places', edges }
    return {
      dotsPerScanline: found.dots,
      coherence: coherence[found.dots]!,
      explained: found.explained,
      sampleGridCoheres: grid !== null,
      edges,
    }
  }
  // Edges on a grid that divides the scanline, and no coarser raster that explains them: the capture was taken with
  // the dot clock itself, or came from a simulation. Unless the rates point to other dots than that.
  if (inStep) {
    return {
      dotsPerScanline: grid,
      coherence: coherence[grid]!,
      explained: 1,
      sampleGridCoheres: false,
      edges,
    }
  }
  return { reason: limit < 700 ? 'sample-rate-too-low' : 'not-periodic', edges }
}

/**
 * Coherence of edges that a sample makes late by up to its length, evenly, and jitter by a normal distribution: the product
 * of the characteristic functions at one turn. Edges in two arcs of the circle, those of twice the dots, have hardly any.
 */
function expectedCoherence(dots: number, samplesPerScanline: number, jitterScanlines: number): number {
  const late = (Math.PI * dots) / samplesPerScanline
  return (Math.sin(late) / late) * Math.exp(-2 * (Math.PI * dots * jitterScanlines) ** 2)
}

/** Share of some phases that an arc holds beyond what it would hold of any, 0 to 1. */
function shareIn(list: PhaseList, dots: number, width: number): number {
  return (mostInside(list, dots, width) / list.edges - width) / (1 - width)
}

/**
 * Of some counts, those that explain the edges as well as the best of them does: more than one where the picture does
 * not prove its count.
 * @param samplesPerScanline as for `countDots`, also `jitterScanlines`
 * @returns rising; empty where there are no edges, or none of the counts explains them
 */
export function fittingCounts(
  phases: readonly EdgePhases[],
  counts: readonly number[],
  samplesPerScanline: number,
  jitterScanlines: number,
): number[] {
  const groups = glancedAt(groupsOf(phases, null))
  const list = counts.map((dots): Explanation => {
    const width = windowDots(dots, samplesPerScanline, jitterScanlines, null)
    if (groups.edges === 0 || width >= 1) return { dots, explained: 0 }
    return { dots, explained: explainedBy(groups, dots, width, MIN_EXPLAINED) }
  })
  const most = list.reduce((high, entry) => Math.max(high, entry.explained), MIN_EXPLAINED)
  return list
    .filter(({ explained }) => explained >= SAME_EXPLANATION * most)
    .map(({ dots }) => dots)
    .sort((a, b) => a - b)
}

/** Groups of edges, each with an arc of its own. */
interface EdgeGroups {
  list: readonly PhaseList[]
  edges: number
  /** Some edges of the largest, from all over it: enough to see that a count is wrong. */
  glance: PhaseList
}

function glancedAt(list: readonly PhaseList[]): EdgeGroups {
  const edges = list.reduce((sum, group) => sum + group.edges, 0)
  const largest = list[0]!
  return { list, edges, glance: thinned(largest, Math.floor(largest.edges / (GLANCE_SHARE * edges))) }
}

/**
 * Share of the edges that lie in the arcs of their groups beyond what arcs of that width hold of any edges; 0 as soon as
 * it cannot come to SAME_EXPLANATION of `least`, which of a wrong count a glance shows, or a group or two.
 */
function explainedBy(
  { list, edges, glance }: EdgeGroups,
  dots: number,
  width: number,
  least: number,
): number {
  const enough = edges * (width + (1 - width) * SAME_EXPLANATION * least)
  if (mostInside(glance, dots, width) + edges - glance.edges < enough) return 0
  let inside = 0
  let left = edges
  for (const group of list) {
    inside += mostInside(group, dots, width)
    left -= group.edges
    if (inside + left < enough) return 0
  }
  return (inside / edges - width) / (1 - width)
}

/**
 * Each plane and direction has a delay of its own, and so an arc of its own; where none has enough edges for one, all
 * share one. The largest group comes first.
 */
function groupsOf(phases: readonly EdgePhases[], grid: number | null): PhaseList[] {
  const own = phases.filter((entry) => entry.edges >= MIN_EDGES)
  if (own.length === 0) return [phaseList(allPhases(phases), grid)]
  return own.map((entry) => phaseList(entry.histogram, grid)).sort((a, b) => b.edges - a.edges)
}

/** |sum exp(2 pi i N phase)| over all edges, per N from that below the smallest count on. Buffers skew edges by a few ns: small against a dot. */
function coherences(together: Float64Array, edges: number): Float64Array {
  const re = together.slice()
  const im = new Float64Array(PHASE_BINS)
  fourier(re, im)
  const result = new Float64Array(MAX_DOTS + 2)
  for (let n = MIN_DOTS - 1; n < result.length; n++) {
    // a bin is a little average: undo its attenuation, sin(x)/x with x = pi N / bins
    const x = (Math.PI * n) / PHASE_BINS
    const blur = Math.sin(x) / x
    result[n] = Math.hypot(re[n]!, im[n]!) / blur / edges
  }
  return result
}

/** The highest local maxima of coherence, highest first. Coherence finds candidates cheaply; it does not choose. */
function peaks(coherence: Float64Array, limit: number, edges: number): number[] {
  // phases that know nothing of N sum to sqrt(pi n)/2 of n unit vectors (Rayleigh)
  const noise = Math.sqrt(Math.PI / edges) / 2
  const list: number[] = []
  for (let n = MIN_DOTS; n <= limit; n++) {
    const here = coherence[n]!
    if (here > 2.5 * noise && here >= coherence[n - 1]! && here >= coherence[n + 1]!) list.push(n)
  }
  return list.sort((a, b) => coherence[b]! - coherence[a]!).slice(0, MAX_CANDIDATES)
}

/** One count held against the edges. */
interface Explanation {
  dots: number
  explained: number
}

/** The count that was chosen. */
interface Choice extends Explanation {
  /** Whether a larger one that is near explains the edges as well, and nothing speaks for either. */
  hasRival: boolean
}

/**
 * The smallest count that explains the edges, unless a likely one does too and is no multiple of it.
 * @param candidates those first that are likely to explain much: then others are soon seen to explain too little
 * @param explained share that a count explains, or 0 where that is less than SAME_EXPLANATION of the least that counts
 */
function choose(
  candidates: readonly number[],
  explained: (dots: number, least: number) => number,
  likely: readonly number[],
): Choice | undefined {
  let most = 0
  const list = candidates.map((dots): Explanation => {
    const entry = { dots, explained: explained(dots, Math.max(most, MIN_EXPLAINED)) }
    most = Math.max(most, entry.explained)
    return entry
  })
  if (most < MIN_EXPLAINED) return undefined
  list.sort((a, b) => a.dots - b.dots)
  const good = list.filter((entry) => entry.explained >= SAME_EXPLANATION * most)
  const smallest = good[0]!
  const expected = good.find((entry) => likely.includes(entry.dots))
  if (expected && expected.dots % smallest.dots !== 0) return { ...expected, hasRival: false }
  // edges in two narrow parts of the scanline are explained by every count that puts whole dots between these
  const next = good[1]
  return { ...smallest, hasRival: next !== undefined && next.dots < RIVAL_RATIO * smallest.dots }
}

/** A picture that fills a small part of the scanline is explained by neighbouring counts as well: by either or neither. */
function hasNeighbour(found: Explanation, explained: (dots: number, least: number) => number): boolean {
  const enough = SAME_EXPLANATION * found.explained
  return [1, 2].some((step) => explained(found.dots + step, found.explained) >= enough)
}

/** Places in the scanline that edges use, counted by weight: (sum h)^2 / sum h^2 over bins of about a sample. */
function distinctPlaces(together: Float64Array, edges: number, samplesPerScanline: number): number {
  const bins = Math.max(256, Math.min(2048, Math.floor(samplesPerScanline)))
  const counts = new Float64Array(bins)
  for (let bin = 0; bin < PHASE_BINS; bin++) counts[Math.floor((bin * bins) / PHASE_BINS)]! += together[bin]!
  let squares = 0
  for (const count of counts) squares += count * count
  return (edges * edges) / squares
}

/**
 * Samples per scanline where that is a whole number so nearly that a frame does not drift off it; else null. With many
 * samples to a dot it does not matter: nothing is left to mistake for a dot.
 */
function gridOf(samplesPerScanline: number, scanlines: number): number | null {
  const whole = Math.round(samplesPerScanline)
  if (whole > MAX_GRID) return null
  return Math.abs(samplesPerScanline - whole) * scanlines < 0.5 ? whole : null
}
