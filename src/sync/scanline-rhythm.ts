// What all channels do in the rhythm of one that may be hsync: which are quiet during its pulses, as a picture is, which
// have pulses that begin and end at one place of the scanline, as vsync's do, and which know nothing of it.

import { LEVEL_UNKNOWN, NO_LEVEL } from '../capture/transition-batch.ts'
import type { ChannelActivity } from '../transitions/channel-activity.ts'
import type { TransitionStore } from '../transitions/transition-store.ts'

/** Pulses of a channel that are long enough to be a vsync, in time order. */
export interface LongPulses {
  /** Of the leading edges, in ticks of the capture. */
  leadTicks: number[]
  /** Leading edges from the scanline's begin, in ticks, 0 to `periodTicks`. */
  leadPhases: number[]
  /** Trailing edges, likewise. */
  trailPhases: number[]
  widthTicks: number[]
}

/** A capture seen in the rhythm of one channel. */
export interface Rhythm {
  /** The channel that beats. */
  channel: number
  /** Mean gap between its leading edges, in ticks. */
  periodTicks: number
  /** How far apart in the scanline two edges may be and still count as the same place, in ticks. */
  toleranceTicks: number
  /** Share of the time that `duringPulse` looks at, 0 to 1. */
  watchedShare: number
  /** Edges by channel while the pulse lasts, but for its first quarter: they may belong to the last dot, late. */
  duringPulse: Float64Array
  /** Share of each channel's high time that it spends in pulses longer than a scanline, 0 to 1. */
  longHighShare: Float64Array
  /** By channel: rising (falling) edges that are at the same place as the one before, less those that are not; below 0 for busy channels. */
  kept: Float64Array
  /** By channel; null where it spends too much time at either level to be a vsync. */
  longPulses: (LongPulses | null)[]
}

/** Shortest pulse that may be a vsync, in scanlines; one lit scanline of a picture is shorter, as hsync ends it. */
const MIN_VSYNC_SCANLINES = 0.7
/** Share of a frame that vsync takes: 16 of 262 scanlines is 6.1 %. */
export const VSYNC_SHARE_MAX = 0.16
/** Two sampled edges are off against each other by up to two samples; half a sample more for the mean period. */
const TOLERANCE_SAMPLES = 2.5
/** And cards jitter: share of the scanline within which two edges are at one place. */
const TOLERANCE_SHARE = 0.003
const MAX_PULSES = 64
/** A channel with more edges than this in the first part of a capture is no vsync, even among glitches. */
const MAX_SLOW_EDGES = 20_000
const GUARD_SHARE = 0.25

/**
 * One pass over the capture's first part.
 *
 * @param channel what may be hsync; its activity must have a period and a pulse
 * @param gridTicks sample interval in ticks
 * @param only the channels to look at, where not all are asked about
 */
export function scanlineRhythm(
  store: TransitionStore,
  activities: readonly ChannelActivity[],
  channel: number,
  gridTicks: number,
  only?: readonly number[],
): Rhythm {
  const own = activities[channel]!
  const pulseLevel = rareLevel(own)
  const channels = activities.length
  const rare = Uint8Array.from(activities, rareLevel)
  const isSlow = activities.map(
    (other, n) =>
      n !== channel &&
      other.edges > 0 &&
      other.edges <= MAX_SLOW_EDGES &&
      rareShare(other) <= VSYNC_SHARE_MAX,
  )
  const longPulses = isSlow.map((slow): LongPulses | null =>
    slow ? { leadTicks: [], leadPhases: [], trailPhases: [], widthTicks: [] } : null,
  )
  const isLeftOut = new Uint8Array(channels).fill(only ? 1 : 0)
  for (const asked of only ? [channel, ...only] : []) isLeftOut[asked] = 0
  const duringPulse = new Float64Array(channels)
  const high = new Float64Array(channels)
  const longHigh = new Float64Array(channels)
  const last = new Uint8Array(channels).fill(NO_LEVEL)
  const since = new Float64Array(channels).fill(NaN)
  const isBusy = Uint8Array.from(activities, ({ edges }) => (edges > MAX_SLOW_EDGES ? 1 : 0))
  const kept = Float64Array.from(isBusy, (busy) => -busy)
  const edgePhase = [new Float64Array(channels).fill(NaN), new Float64Array(channels).fill(NaN)] as const
  const sincePhase = new Float64Array(channels)
  const longTicks = 1.02 * own.periodTicks
  const shortest = MIN_VSYNC_SCANLINES * own.periodTicks
  const guard = GUARD_SHARE * own.pulseTicks
  const { tick: ticks, channel: rows, level: levels, count } = store
  const tolerance = Math.max(TOLERANCE_SAMPLES * gridTicks, TOLERANCE_SHARE * own.periodTicks)
  let lead = NaN
  let watchFrom = Infinity
  let period = own.periodTicks
  let regular = 0
  let regularTicks = 0
  for (let row = 0; row < count; row++) {
    const at = rows[row]!
    if (isLeftOut[at] === 1) continue
    const level = levels[row]!
    const before = last[at]!
    if (level >= LEVEL_UNKNOWN || level === before) continue
    last[at] = level
    if (before === NO_LEVEL) continue
    const now = ticks[row]!
    if (at === channel) {
      if (level !== pulseLevel) {
        watchFrom = Infinity
        continue
      }
      const gap = now - lead
      if (Math.abs(gap - own.periodTicks) <= Math.max(0.01 * own.periodTicks, 2 * gridTicks)) {
        regular++
        regularTicks += gap
        period = regularTicks / regular
      }
      lead = now
      watchFrom = now + guard
      continue
    }
    if (now >= watchFrom) duringPulse[at]!++
    const width = now - since[at]!
    if (level === 0 && width > 0) {
      high[at]! += width
      if (width > longTicks) longHigh[at]! += width
    }
    since[at] = now
    if (isBusy[at] === 1) continue
    const phase = (now - lead) % period
    const places = edgePhase[level]!
    if (places[at]! >= 0) kept[at]! += isOnePlace(phase, places[at]!, period, tolerance) ? 1 : -1
    places[at] = phase
    const pulses = longPulses[at]
    if (pulses) {
      if (level !== rare[at] && width >= shortest && pulses.widthTicks.length < MAX_PULSES) {
        // NaN before the first scanline: the place of that edge is not known
        pulses.leadTicks.push(now - width)
        if (sincePhase[at]! >= 0) pulses.leadPhases.push(sincePhase[at]!)
        if (phase >= 0) pulses.trailPhases.push(phase)
        pulses.widthTicks.push(width)
      }
      sincePhase[at] = phase
    }
  }
  return {
    channel,
    periodTicks: period,
    toleranceTicks: tolerance,
    watchedShare: ((1 - GUARD_SHARE) * own.pulseTicks) / period,
    duringPulse,
    longHighShare: longHigh.map((long, n) => (high[n]! > 0 ? long / high[n]! : 0)),
    kept,
    longPulses,
  }
}

/** The other field of an interlaced frame has its place half a scanline away. */
function isOnePlace(a: number, b: number, period: number, tolerance: number): boolean {
  const off = Math.abs(a - b) % (period / 2)
  return Math.min(off, period / 2 - off) <= tolerance
}

function rareLevel(activity: ChannelActivity): 0 | 1 {
  return activity.highShare > 0.5 ? 0 : 1
}

/** Share of the time at the rarer level, 0 to 0.5. */
export function rareShare(activity: ChannelActivity): number {
  return Math.min(activity.highShare, 1 - activity.highShare)
}

/**
 * How often one edge is at the same place of the scanline as the edge before it. From edge to edge, as a capture may hold
 * two modes with places of their own.
 */
export function keptPlaces(phases: readonly number[], { periodTicks, toleranceTicks }: Rhythm): number {
  return phases.filter((phase, n) => n > 0 && isOnePlace(phase, phases[n - 1]!, periodTicks, toleranceTicks))
    .length
}
