// A vertical interval held against the pattern of most → what is wrong in it. One cause, one fault.

import { matchEdges, type EdgePair, type WantedEdge } from './edge-matching.ts'
import type { FaultKind, SyncFault } from './sync-fault.ts'
import type { VerticalInterval } from './vertical-interval.ts'

/** Part of a scanline from its begin within which a pulse is the scanline's own. */
const OWN_SCANLINES = 0.03
/** Places this much before the middle of a scanline belong to it. */
const HALF_BELONGS = 0.05

/** What is wrong in an interval. */
export interface VerticalJudgement {
  faults: SyncFault[]
  /** What it costs to explain: the less, the likelier. */
  cost: number
  /** Where a counter counts more or fewer than one pulse in each scanline that was told. */
  edgesBeside: EdgesBeside[]
}

export interface EdgesBeside {
  scanline: number
  edges: 1 | -1
}

/** @param wanted places in scanlines of the segment */
export function judgeVertical(wanted: readonly WantedEdge[], interval: VerticalInterval): VerticalJudgement {
  const { cost, pairs } = matchEdges(wanted, interval.edges)
  const judge = new IntervalJudge(wanted, interval)
  judge.judge(pairs)
  return { cost, faults: judge.faults, edgesBeside: judge.edgesBeside }
}

class IntervalJudge {
  readonly faults: SyncFault[] = []
  readonly edgesBeside: EdgesBeside[] = []
  readonly #wanted: readonly WantedEdge[]
  readonly #interval: VerticalInterval

  constructor(wanted: readonly WantedEdge[], interval: VerticalInterval) {
    this.#wanted = wanted
    this.#interval = interval
  }

  judge(pairs: readonly EdgePair[]): void {
    pairs.forEach((pair, at) => {
      const isLead = (pair.wanted >= 0 ? pair.wanted : pair.seen) % 2 === 0
      if (isLead) this.#lead(pair, pairs[at - 1], pairs[at + 1])
      else if (pair.wanted >= 0 && pair.seen >= 0 && !pair.isRight) this.#trail(pair, pairs, at)
    })
  }

  #lead(pair: EdgePair, before: EdgePair | undefined, after: EdgePair | undefined): void {
    const { wanted, seen, isRight } = pair
    if (wanted < 0) this.#extra(seen, before)
    else if (seen < 0) this.#missing(wanted)
    else if (!isRight && this.#isAnother(pair, after)) {
      this.#extra(seen, before)
      this.#missing(wanted)
    } else if (!isRight) {
      const { place } = this.#wanted[wanted]!
      const at = this.#interval.edges[seen]!
      this.#note(at < place ? 'early' : 'late', at, place, this.#width(seen), 0)
      // one that is so far off was not told, but it is counted
      if (this.#isOwn(place) && !this.#isTold(place)) this.#count(place, 1)
    }
  }

  /** Whether what lies near a pulse's place shares neither begin nor end with it, and not half of its width. */
  #isAnother({ wanted, seen }: EdgePair, trail: EdgePair | undefined): boolean {
    if (!trail || trail.wanted !== wanted + 1 || trail.seen < 0 || trail.isRight) return false
    return this.#width(seen) < (this.#wanted[wanted + 1]!.place - this.#wanted[wanted]!.place) / 2
  }

  #missing(wanted: number): void {
    const { place } = this.#wanted[wanted]!
    this.#note('missing', place, place, 0, -1)
    if (this.#isTold(place) || !this.#isOwn(place)) this.#count(place, -1)
  }

  #isTold(place: number): boolean {
    return this.#isOwn(place) && this.#interval.told.has(Math.round(place))
  }

  /** A trailing edge that is elsewhere: alone, or together with a leading edge that tells of it. */
  #trail({ wanted, seen }: EdgePair, pairs: readonly EdgePair[], at: number): void {
    const pair = pairs[at]!
    const lead = pairs[at - 1]
    if (lead && lead.wanted === wanted - 1 && lead.seen >= 0 && !lead.isRight) return
    // a gap that comes at another time moves the begin of the pulse after it, but not its end: that pulse tells of it
    if (this.#movesWith(pair, pairs[at + 1]) && !this.#movesWith(pair, pairs[at + 2])) return
    const wantedLead = this.#wanted[wanted - 1]!.place
    const width = this.#interval.edges[seen]! - wantedLead
    const isShort = width < (this.#wanted[wanted]!.place - wantedLead) / 2
    this.#note(isShort ? 'short' : 'width', wantedLead, wantedLead, width, 0)
  }

  /** Whether a later edge is off by as much as an earlier one. */
  #movesWith(earlier: EdgePair, later: EdgePair | undefined): boolean {
    if (!later || later.wanted < 0 || later.seen < 0 || later.isRight) return false
    return Math.abs(this.#movedBy(later) - this.#movedBy(earlier)) <= this.#wanted[earlier.wanted]!.tolerance
  }

  #movedBy({ wanted, seen }: EdgePair): number {
    return this.#interval.edges[seen]! - this.#wanted[wanted]!.place
  }

  /** In scanlines. */
  #width(seen: number): number {
    const { edges } = this.#interval
    return edges[seen + 1]! - edges[seen]!
  }

  #isOwn(place: number): boolean {
    return Math.abs(place - Math.round(place)) < OWN_SCANLINES
  }

  #extra(seen: number, before: EdgePair | undefined): void {
    const at = this.#interval.edges[seen]!
    const width = this.#width(seen)
    // a pulse that was cut goes on here: a filter that rejects the shorter piece does
    const isCut = before !== undefined && before.wanted < 0 && before.seen === seen - 1
    const rejected = isCut ? Math.min(width, at - this.#interval.edges[seen - 2]! - this.#gap(seen)) : width
    this.#note('extra', at, Math.round(at), width, 1, at - Math.floor(at), rejected)
    this.#count(at, 1)
  }

  #gap(seen: number): number {
    const { edges } = this.#interval
    return edges[seen]! - edges[seen - 1]!
  }

  #count(place: number, edges: 1 | -1): void {
    this.edgesBeside.push({ scanline: scanlineOf(place), edges })
  }

  /** All in scanlines. */
  #note(
    kind: FaultKind,
    at: number,
    wanted: number,
    width: number,
    lineCountError: -1 | 0 | 1,
    sinceTrue = NaN,
    rejectWidth = width,
  ): void {
    const { scale, periodTicks, faults } = this.#interval
    const tick = scale.tickOf(at)
    // whoever follows scanlines may have seen it as well, and what colours did at that moment
    const same = faults.find(
      (fault) => Math.abs(fault.tick - tick) < (this.#wanted[0]?.tolerance ?? 0) * periodTicks,
    )
    this.faults.push({
      kind,
      channel: 'csync',
      tick,
      scanline: scanlineOf(at),
      offsetTicks: kind === 'missing' ? 0 : (at - wanted) * periodTicks,
      widthTicks: width * periodTicks,
      sinceTrueTicks: sinceTrue * periodTicks,
      rejectWidthTicks: rejectWidth * periodTicks,
      colourEdgeNear: same?.colourEdgeNear ?? false,
      colourShareNear: same?.colourShareNear ?? NaN,
      lineCountError,
    })
  }
}

/** The scanline that a pulse is nearest to; of one in the middle, that which it falls in. */
function scanlineOf(place: number): number {
  return Math.round(place - HALF_BELONGS)
}
