// A capture without sync → the scanline period that the picture's edges betray. What stands upright in a picture has its
// edges at the same place in every scanline: the edges repeat, and their autocorrelation says after how long.

import { SignalError } from '../errors.ts'
import type { Measurement } from '../measurement.ts'
import type { TransitionStore } from '../transitions/transition-store.ts'
import { AROUND_BINS, EdgeRepeats, NEAR_BINS } from './edge-repeats.ts'

/** Nothing behaves like a sync, and yet the picture says how long a scanline is. */
export class PictureWithoutSyncError extends SignalError {
  /** Seconds from one scanline to the next, if what repeats are scanlines. */
  readonly scanlinePeriodSeconds: Measurement

  constructor(period: Measurement, hint: string | undefined) {
    const micro = (seconds: number): string => (seconds * 1e6).toFixed(seconds < 1e-7 ? 4 : 3)
    super(
      'SYNC_NOT_FOUND',
      'no channel of this capture behaves like hsync. The edges of the picture repeat every ' +
        `${micro(period.value)} us +- ${micro(period.uncertainty)} us, as scanlines at ` +
        `${(1e-3 / period.value).toFixed(2)} kHz would (or small groups of them); frame rate, sync and dots stay unknown, and no mode is named`,
      {},
      hint === undefined ? {} : { hint },
    )
    this.scanlinePeriodSeconds = period
  }
}

/** Scanline periods looked for, seconds: 110 kHz down to 7.5 kHz. */
const SHORTEST = 9e-6
const LONGEST = 134e-6
/** Width of a bin, seconds: a few dots, so that no instrument's samples beat with the bins. */
const BIN_SECONDS = 0.1e-6
/** Fewest samples in a bin: an edge shows in either of two samples, and would be spread over several bins. */
const SAMPLES_PER_BIN = 2
/** Bins looked at, some 26 ms: a frame. A power of two. */
const BINS = 1 << 18
/** Fewer edges prove nothing. */
const MIN_EDGES = 200
/** Share of the edges that must come again one scanline later, beyond chance. */
const MIN_REPEATED = 0.15
/** Deviations of chance by which they must. */
const MIN_DEVIATIONS = 8
/**
 * A smaller period is taken where it explains this share of what the best one does: that may be several scanlines, after
 * which samples fall on the same places of narrow strokes again.
 */
const SAME_REPEATED = 0.5
/** Share of the repeats of one scanline that those over several must have to be followed, or to be scanlines at all. */
const SAME_FAR = 0.3
/** Seconds on either side in which edges repeat at no other distance nearly as well: else it is dots that repeat. */
const ALONE_SECONDS = 2e-6
/**
 * How many scanlines apart edges are still compared, while enough of them repeat: characters are 8 scanlines high or
 * higher, and the next row of them has other strokes, whose edges repeat a cell further on.
 */
const FARTHEST = 4

/**
 * @param store transitions of which only those of `channels` are looked at
 * @param channels channels that may be picture
 * @param secondsPerTick length of a tick
 * @param sampleSeconds sample interval
 * @returns null where the edges repeat at no one period
 */
export function picturePeriod(
  store: TransitionStore,
  channels: ReadonlySet<number>,
  secondsPerTick: number,
  sampleSeconds: number,
): Measurement | null {
  const bin = Math.max(BIN_SECONDS, SAMPLES_PER_BIN * sampleSeconds)
  const { counts, edges, bins } = edgeCounts(store, channels, bin / secondsPerTick)
  const low = Math.ceil(SHORTEST / bin)
  const high = Math.min(Math.floor(LONGEST / bin), bins >> 1)
  if (edges < MIN_EDGES || high <= low) return null
  const repeats = new EdgeRepeats(counts)
  let best = low
  for (let lag = low; lag <= high; lag++) if (repeats.excess(lag) > repeats.excess(best)) best = lag
  const excess = repeats.excess(best)
  if (excess < MIN_REPEATED * edges) return null
  if (excess < MIN_DEVIATIONS * Math.sqrt(repeats.around(best))) return null
  const period = smallest(best, low, repeats, Math.round(ALONE_SECONDS / bin), bins)
  // a picture of even stripes or scattered dots repeats after each of them: it does not say which is a scanline
  return period === null ? null : refined(period, repeats, bins, bin)
}

/** Edges in bins of equal length, from the first one on. */
function edgeCounts(
  store: TransitionStore,
  channels: ReadonlySet<number>,
  binTicks: number,
): { counts: Float64Array; edges: number; bins: number } {
  // twice as long, so that the end does not correlate with the beginning
  const counts = new Float64Array(2 * BINS)
  const levels = new Map<number, number>()
  let first = NaN
  let last = 0
  let edges = 0
  for (let row = 0; row < store.count; row++) {
    const channel = store.channel[row]!
    const level = store.level[row]!
    const before = levels.get(channel)
    levels.set(channel, level)
    if (!channels.has(channel) || before === undefined || before === level) continue
    const tick = store.tick[row]!
    if (Number.isNaN(first)) first = tick
    // edges lie on samples, and so must not lie on the borders of bins
    const bin = Math.floor((tick - first) / binTicks + 0.25)
    if (bin >= BINS) break
    counts[bin]!++
    last = bin
    edges++
  }
  return { counts, edges, bins: last + 1 }
}

/**
 * The shortest distance of which `best` may be a multiple.
 * @param reach bins on either side in which no other distance may come near it
 * @returns null where edges repeat at distances that do not divide it, or at many that lie close together
 */
function smallest(
  best: number,
  low: number,
  repeats: EdgeRepeats,
  reach: number,
  bins: number,
): number | null {
  const enough = SAME_REPEATED * repeats.excess(best)
  for (let lag = low; lag < best - NEAR_BINS; lag++) {
    if (repeats.excess(lag) < enough) continue
    const peak = repeats.peakNear(lag, 2)
    if (!repeats.isAlone(peak, reach)) continue
    const period = repeats.distance(peak)
    if (!comesAgain(peak, Math.max(best, 2 * period), repeats, bins)) continue
    const times = repeats.distance(best) / period
    return Math.abs(times - Math.round(times)) * period < 1 ? peak : null
  }
  return repeats.isAlone(best, reach) && comesAgain(best, 2 * repeats.distance(best), repeats, bins)
    ? best
    : null
}

/** Two uprights are some way apart in every scanline, but nothing stands as far behind the second of them. */
function comesAgain(lag: number, until: number, repeats: EdgeRepeats, bins: number): boolean {
  const period = repeats.distance(lag)
  for (let times = 2; times * period <= Math.min(until, bins / 2); times++) {
    const peak = repeats.peakNear(Math.floor(times * period), 1)
    if (repeats.excess(peak) < SAME_FAR * repeats.excess(lag)) return false
  }
  return true
}

/** Follows the period over 2 and 4 scanlines: the place of a far repeat is as well known as that of a near one. */
function refined(period: number, repeats: EdgeRepeats, bins: number, bin: number): Measurement {
  let scanlines = 1
  let distance = repeats.distance(period)
  for (let times = 2; times <= FARTHEST; times *= 2) {
    const expected = (distance / scanlines) * times
    if (expected + AROUND_BINS >= bins / 2) break
    const peak = repeats.peakNear(Math.floor(expected), 1)
    // further off than the distance so far can be wrong: other edges than those of the same upright
    if (Math.abs(repeats.distance(peak) - expected) > 1) break
    if (repeats.excess(peak) < SAME_FAR * repeats.excess(period)) break
    distance = repeats.distance(peak)
    scanlines = times
  }
  // either edge lies anywhere in its bin (GUM 4.3.7)
  return { value: (distance / scanlines) * bin, uncertainty: bin / Math.sqrt(6) / scanlines }
}
