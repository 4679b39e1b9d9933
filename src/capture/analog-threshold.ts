// Voltages of a channel → the threshold that parts its two levels. From what the channel shows, because outputs, probes and
// attenuators differ; the levels of TTL inputs stand beside it as the check.

/** The threshold of one channel, in the unit of its cells. */
export interface AnalogThreshold {
  /** An edge is where the voltage crosses this. */
  middle: number
  /** At or below `low` the channel becomes low, at or above `high` high; between, it stays what it is. */
  low: number
  high: number
  /** Usual voltage of either level; null where the channel shows but one, and the threshold is another's or TTL's. */
  lowLevel: number | null
  highLevel: number | null
  from: 'levels' | 'other-channels' | 'ttl'
  /** Volts per unit of the cells. */
  voltsPerUnit: number
}

// TTL input levels: low at most 0.8 V, high at least 2.0 V (74LS data sheets; also the MC6845's); 1.4 V between them.
const TTL = { low: 0.8, middle: 1.4, high: 2.0 }
/** Two levels closer than this are noise around one. */
const TWO_LEVELS_APART_VOLTS = 0.1
/** Share of the samples that must be near one of the levels; the rest is edges. */
const NEAR_SHARE = 0.4
/** The outermost samples are left to spikes. */
const SPIKES = 3
/** Hysteresis to either side, as a share of the swing: at least the first, at most the second. */
const HYSTERESIS_SHARE = { min: 0.1, max: 0.3 }
/** Standard deviations of the noise that the hysteresis covers to either side: one in 10^6 samples is beyond. */
const HYSTERESIS_SIGMAS = 5
/** Median absolute deviation of Gaussian noise, in standard deviations. */
const MAD_SIGMA = 0.6745

/** TTL's own threshold, for a channel that shows nothing better. */
export function ttlThreshold(voltsPerUnit: number): AnalogThreshold {
  const [low, middle, high] = [TTL.low / voltsPerUnit, TTL.middle / voltsPerUnit, TTL.high / voltsPerUnit]
  return { low, middle, high, lowLevel: null, highLevel: null, from: 'ttl', voltsPerUnit }
}

/**
 * The threshold in the middle between the two levels that a channel keeps to.
 *
 * @param values samples in the unit of the cells, in any order; sorted in place
 * @param isVolts whether that unit is known to be volts: what is not may have any swing
 * @returns undefined where there are no two levels
 */
export function thresholdOf(
  values: Float64Array,
  voltsPerUnit: number,
  isVolts: boolean,
): AnalogThreshold | undefined {
  const sorted = values.sort()
  const spikes = Math.min(SPIKES, Math.floor(sorted.length / 50))
  const bottom = sorted[spikes]!
  const top = sorted[sorted.length - 1 - spikes]!
  const half = (bottom + top) / 2
  const split = sorted.findIndex((value) => value >= half)
  if (!(top > bottom) || split <= spikes) return undefined
  const lower = sorted.subarray(0, split)
  const upper = sorted.subarray(split)
  const lowLevel = median(lower)
  const highLevel = median(upper)
  const swing = highLevel - lowLevel
  if (isVolts && swing * voltsPerUnit < TWO_LEVELS_APART_VOLTS) return undefined
  let near = 0
  for (const value of sorted)
    if (Math.min(Math.abs(value - lowLevel), Math.abs(value - highLevel)) < swing / 4) near++
  if (near < NEAR_SHARE * sorted.length) return undefined
  const noise = Math.max(spread(lower, lowLevel), spread(upper, highLevel))
  const { min, max } = HYSTERESIS_SHARE
  const share = Math.max(min, (HYSTERESIS_SIGMAS * noise) / swing)
  // noise as wide as the swing has no two levels
  if (share > 2 * max) return undefined
  const middle = (lowLevel + highLevel) / 2
  const reach = Math.min(share, max) * swing
  return {
    low: middle - reach,
    middle,
    high: middle + reach,
    lowLevel,
    highLevel,
    from: 'levels',
    voltsPerUnit,
  }
}

/** Thresholds of all channels: one that shows no two levels takes those of the others in its unit, or TTL's. */
export function thresholdsOf(
  channels: readonly { values: Float64Array; voltsPerUnit: number; isVolts: boolean }[],
): AnalogThreshold[] {
  const own = channels.map(({ values, voltsPerUnit, isVolts }) => thresholdOf(values, voltsPerUnit, isVolts))
  return own.map((threshold, n) => {
    if (threshold) return threshold
    const { voltsPerUnit } = channels[n]!
    const other = own.find((one) => one?.voltsPerUnit === voltsPerUnit)
    if (!other) return ttlThreshold(voltsPerUnit)
    return { ...other, lowLevel: null, highLevel: null, from: 'other-channels' }
  })
}

/** What a notice says of one threshold, the check against TTL's included. */
export function thresholdText(name: string, threshold: AnalogThreshold): string {
  const { low, middle, high, lowLevel, highLevel, from, voltsPerUnit } = threshold
  const volts = (value: number): string => `${Math.round(value * voltsPerUnit * 1000) / 1000} V`
  const at = `${name} at ${volts(middle)} (low below ${volts(low)}, high above ${volts(high)}`
  if (from === 'ttl') return `${at}: as TTL inputs, no two levels were seen)`
  if (from === 'other-channels') return `${at}: as another channel, no two levels were seen)`
  const levels = `its levels are ${volts(lowLevel!)} and ${volts(highLevel!)}`
  const isHigh = highLevel! * voltsPerUnit >= TTL.high
  const isLow = lowLevel! * voltsPerUnit <= TTL.low
  if (isHigh && isLow) return `${at}: ${levels}, as TTL inputs want them)`
  return `${at}: ${levels}; a TTL input, which wants ${TTL.low} V and ${TTL.high} V, would not see both)`
}

function median(sorted: Float64Array): number {
  return sorted[sorted.length >> 1]!
}

/** Standard deviation of the samples that stay near a level, edges left out by the median. */
function spread(values: Float64Array, level: number): number {
  return median(values.map((value) => Math.abs(value - level)).sort()) / MAD_SIGMA
}
