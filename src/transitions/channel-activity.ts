// What each channel does in the first part of a capture: edges, share of time high, how regular. Roles of channels
// without a telling name are read from this.

import { LEVEL_UNKNOWN, NO_LEVEL } from '../capture/transition-batch.ts'
import type { TransitionStore } from './transition-store.ts'
import { sumOf } from './column-sums.ts'

/** Behaviour of one channel over the observed stretch. */
export interface ChannelActivity {
  edges: number
  /** Share of the observed time at the high level, 0 to 1. */
  highShare: number
  /**
   * Gap between rising edges that half of the time is spent in gaps shorter than, in ticks: short extra pulses
   * hardly move it. NaN below three rising edges.
   */
  periodTicks: number
  /** Longest minus shortest of the gaps that count as regular, in ticks. */
  gapSpreadTicks: number
  /** Share of the time spent in gaps within 1 % (or two ticks of the grid) of `periodTicks`, 0 to 1. */
  regularShare: number
  /** Time-weighted median width of pulses to the rarer level, in ticks; NaN without a whole pulse. */
  pulseTicks: number
  /** Longest time at the rarer level between two edges, in ticks; 0 without a whole pulse. */
  widestPulseTicks: number
}

/** Gaps kept per channel; enough to tell a sync from a picture. */
const MAX_GAPS = 20_000

/**
 * @param store transitions in time order
 * @param channelCount channels in the capture
 * @param gridTicks sample interval in ticks
 */
export function channelActivity(
  store: TransitionStore,
  channelCount: number,
  gridTicks: number,
): ChannelActivity[] {
  const last = new Uint8Array(channelCount).fill(NO_LEVEL)
  const since = new Float64Array(channelCount)
  // by channel and level: time in all, and the widths of pulses
  const timeAt = new Float64Array(2 * channelCount)
  const widths: number[][] = Array.from({ length: 2 * channelCount }, () => [])
  const edges = new Float64Array(channelCount)
  const lastRising = new Float64Array(channelCount).fill(NaN)
  const gaps: number[][] = Array.from({ length: channelCount }, () => [])
  // of a busy channel there is enough before long, and then its edges and its time at each level are all that is wanted
  const isEnough = new Uint8Array(channelCount)
  const { tick, channel: channels, level: levels, count } = store
  for (let row = 0; row < count; row++) {
    const channel = channels[row]!
    const level = levels[row]!
    const before = last[channel]!
    if (level === before || level >= LEVEL_UNKNOWN) continue
    last[channel] = level
    const now = tick[row]!
    const width = now - since[channel]!
    since[channel] = now
    if (before === NO_LEVEL) continue
    timeAt[2 * channel + before]! += width
    edges[channel]!++
    if (isEnough[channel] === 1) continue
    const list = widths[2 * channel + before]!
    // the first pulse is cut
    if (edges[channel]! > 1 && list.length < MAX_GAPS) list.push(width)
    if (level !== 1) continue
    const gap = now - lastRising[channel]!
    const known = gaps[channel]!
    if (gap > 0 && known.length < MAX_GAPS) known.push(gap)
    lastRising[channel] = now
    const others = widths[2 * channel + 1]!
    if (known.length === MAX_GAPS && list.length === MAX_GAPS && others.length === MAX_GAPS) {
      isEnough[channel] = 1
    }
  }
  const end = count > 0 ? tick[count - 1]! : 0
  return gaps.map((list, channel) => {
    const tail = end - since[channel]!
    const known = last[channel]! !== NO_LEVEL
    const high = timeAt[2 * channel + 1]! + (known && last[channel] === 1 ? tail : 0)
    const low = timeAt[2 * channel]! + (known && last[channel] === 0 ? tail : 0)
    const total = high + low
    const highShare = total > 0 ? high / total : NaN
    const period = list.length >= 2 ? timeWeightedMedian(list) : NaN
    const pulses = widths[2 * channel + (highShare > 0.5 ? 0 : 1)]!
    return {
      edges: edges[channel]!,
      highShare,
      periodTicks: period,
      ...regularityOf(list, period, Math.max(period * 0.01, 2 * gridTicks)),
      pulseTicks: timeWeightedMedian(pulses),
      widestPulseTicks: largest(pulses),
    }
  })
}

function regularityOf(
  gaps: readonly number[],
  period: number,
  near: number,
): Pick<ChannelActivity, 'gapSpreadTicks' | 'regularShare'> {
  let regular = 0
  let all = 0
  let shortest = Infinity
  let longest = -Infinity
  for (let i = 0; i < gaps.length; i++) {
    const gap = gaps[i]!
    all += gap
    if (Math.abs(gap - period) > near) continue
    regular += gap
    if (gap < shortest) shortest = gap
    if (gap > longest) longest = gap
  }
  return { gapSpreadTicks: Math.max(0, longest - shortest), regularShare: all > 0 ? regular / all : 0 }
}

function largest(values: readonly number[]): number {
  let most = 0
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!
  return most
}

/**
 * The gap at which half of the summed time lies in shorter ones; NaN for an empty list. Found by parting the gaps at one of
 * them over and over (C. A. R. Hoare, Communications of the ACM 4, 1961, p. 321; from memory), for sorting takes longer.
 */
export function timeWeightedMedian(gaps: readonly number[]): number {
  const rest = Float64Array.from(gaps)
  let missing = sumOf(rest, 0, rest.length) / 2
  for (let from = 0, to = rest.length; from < to;) {
    const pivot = rest[(from + to) >> 1]!
    const above = partAt(rest, from, to, pivot, false)
    const below = sumOf(rest, from, above)
    if (above > from && below >= missing) {
      to = above
      continue
    }
    const end = partAt(rest, above, to, pivot, true)
    missing -= below + sumOf(rest, above, end)
    if (missing <= 0 || end === to) return pivot
    from = end
  }
  return NaN
}

/** Brings those below the pivot, or also those equal to it, to the front; gives where the others begin. */
function partAt(values: Float64Array, from: number, to: number, pivot: number, withEqual: boolean): number {
  let end = from
  for (let i = from; i < to; i++) {
    const value = values[i]!
    if (value > pivot || (value === pivot && !withEqual)) continue
    values[i] = values[end]!
    values[end++] = value
  }
  return end
}
