// Vertical intervals of a composite sync, as they come → faults. Some are collected before the first is judged, as it
// takes a majority; later ones are held against the same and, in turn, against what most of them have.

import { median } from './median.ts'
import { isAsWanted, type WantedEdge } from './edge-matching.ts'
import { judgeVertical, type VerticalJudgement } from './vertical-faults.ts'
import type { VerticalInterval } from './vertical-interval.ts'
import {
  verticalPattern,
  type AlignedInterval,
  type EdgeAccuracy,
  type VerticalPattern,
} from './vertical-pattern.ts'

/** Intervals of one field that are collected before they are judged. */
const COLLECTED = 16
/** Scanlines that a vsync may seem to be off by, because its first or last pulse is damaged; the likeliest first. */
const SHIFTS = [0, -0.5, 0.5, -1, 1]
/**
 * Cost of a vsync that is no whole number of frames from most: more than a pulse too many, as two frames are odd then, and
 * less than the two pulses that it would take to make one look so.
 */
const IRREGULAR = 1.5
/** A vsync that is further off whole and half scanlines than others is itself damaged: fields differ by hsync's width. */
const HIDDEN_SCANLINES = 0.12
/** Share of the pattern's edges that may be wrong for it to be the same pattern. */
const EXPLAINED_SHARE = 0.3

/** A judged interval. */
export interface JudgedInterval {
  interval: VerticalInterval
  /** undefined where there is nothing to hold it against. */
  judgement: VerticalJudgement | undefined
  /** Scanlines by which vsync begins later than it seems to. */
  shift: number
}

export class VerticalJudge {
  #waiting: VerticalInterval[] = []
  /** By field: vsync at the begin of a scanline, or at its half; whatever part of a scanline it is behind that. */
  readonly #patterns = new Map<number, VerticalPattern>()
  #offset = NaN

  /** @returns intervals that are judged with it, if any */
  add(interval: VerticalInterval, accuracy: EdgeAccuracy): JudgedInterval[] {
    this.#waiting.push(interval)
    return this.#waiting.length < 2 * COLLECTED ? [] : this.judge(accuracy)
  }

  /** Judges what has been collected. */
  judge(accuracy: EdgeAccuracy): JudgedInterval[] {
    const intervals = this.#waiting
    this.#waiting = []
    if (intervals.length === 0) return []
    if (Number.isNaN(this.#offset)) this.#offset = commonOffset(intervals)
    const isUsual = usualPlaces(intervals.map((interval) => this.#beginOf(interval)))
    for (const field of new Set(intervals.map((interval) => fieldOf(this.#beginOf(interval))))) {
      const aligned = intervals
        .filter((interval) => fieldOf(this.#beginOf(interval)) === field)
        .map((interval) => this.#aligned(interval))
      const pattern = verticalPattern(aligned, accuracy)
      if (pattern) this.#patterns.set(field, pattern)
    }
    return intervals.map((interval) => this.#judged(interval, isUsual))
  }

  /** The whole or half scanline that vsync goes by. */
  #beginOf({ vsyncPlace }: VerticalInterval): number {
    return Math.round((vsyncPlace - this.#offset) * 2) / 2
  }

  #aligned(interval: VerticalInterval): AlignedInterval {
    const begin = this.#beginOf(interval)
    return {
      from: interval.from - begin,
      to: interval.to - begin,
      edges: interval.edges.map((place) => place - begin),
    }
  }

  #judged(interval: VerticalInterval, isUsual: (begin: number) => boolean): JudgedInterval {
    let best: JudgedInterval = { interval, judgement: undefined, shift: 0 }
    let lowest = Infinity
    const seems = this.#beginOf(interval)
    // the part of a scanline that a damaged first pulse hides
    const hidden = seems + this.#offset - interval.vsyncPlace
    for (const whole of SHIFTS) {
      const begin = seems + whole
      const shift = Math.abs(hidden) > HIDDEN_SCANLINES ? whole + hidden : whole
      // one that is where it ought to be is not elsewhere
      if (whole !== 0 && (isUsual(seems) || !isUsual(begin))) continue
      const pattern = this.#patterns.get(fieldOf(begin))
      if (!pattern) continue
      const within = {
        ...interval,
        from: Math.max(interval.from, pattern.from + begin),
        to: Math.min(interval.to, pattern.to + begin),
      }
      const wanted = wantedEdges(pattern, begin, within)
      within.edges = edgesWithin(interval.edges, within)
      if (isAsWanted(wanted, within.edges))
        return { interval: within, judgement: { faults: [], cost: 0, edgesBeside: [] }, shift }
      const judgement = judgeVertical(wanted, within)
      if (judgement.cost > EXPLAINED_SHARE * wanted.length) continue
      const cost = judgement.cost + (isUsual(begin) ? 0 : IRREGULAR)
      if (cost >= lowest) continue
      lowest = cost
      best = { interval: within, judgement, shift }
    }
    return best
  }
}

/** Part of a scanline before its begin: none or a half. */
function fieldOf(begin: number): number {
  return begin - Math.floor(begin)
}

/** Mean of what vsyncs are behind whole and half scanlines, on a circle. */
function commonOffset(intervals: readonly VerticalInterval[]): number {
  let re = 0
  let im = 0
  for (const { vsyncPlace } of intervals) {
    re += Math.cos(4 * Math.PI * vsyncPlace)
    im += Math.sin(4 * Math.PI * vsyncPlace)
  }
  return Math.atan2(im, re) / (4 * Math.PI)
}

function wantedEdges(
  { edges }: VerticalPattern,
  begin: number,
  { from, to }: { from: number; to: number },
): WantedEdge[] {
  return edges
    .map(({ place, tolerance }) => ({ place: place + begin, tolerance }))
    .filter(({ place }) => place > from && place < to)
}

/** Whole pulses alone. */
function edgesWithin(edges: readonly number[], { from, to }: { from: number; to: number }): number[] {
  const list: number[] = []
  for (let i = 0; i < edges.length; i += 2)
    if (edges[i]! > from && edges[i + 1]! < to) list.push(edges[i]!, edges[i + 1]!)
  return list
}

/** Whether a place is a whole number of frames from most of the others. */
function usualPlaces(begins: readonly number[]): (begin: number) => boolean {
  const length = median(begins.slice(1).map((begin, i) => begin - begins[i]!))
  if (length === undefined) return () => false
  // halves of scanlines are exact in binary
  const inFrame = (begin: number): number => begin - length * Math.floor(begin / length)
  const times = new Map<number, number>()
  for (const begin of begins) times.set(inFrame(begin), (times.get(inFrame(begin)) ?? 0) + 1)
  const [most] = [...times].sort((a, b) => b[1] - a[1])
  return (begin) => inFrame(begin) === most![0]
}
