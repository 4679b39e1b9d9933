// How much of the scatter of edges the instrument's own sampling makes. An edge is seen at the next sample, so its time is
// late by 0 to 1 sample; how that error changes from scanline to scanline depends on the scanline's fraction of a sample.

/** Variances in units of the squared sample interval. */
export interface QuantisationVariance {
  timeIntervalError: number
  period: number
  cycleToCycle: number
}

const SCANLINES = 2000
const START_PHASES = 7

/** Each edge uniform and on its own: 1/12, twice that for a period, six times for the difference of two. */
export const DITHERED: QuantisationVariance = {
  timeIntervalError: 1 / 12,
  period: 2 / 12,
  cycleToCycle: 6 / 12,
}

/**
 * What a jitter-free sync shows: the errors follow one another regularly, and may hardly vary at all.
 * @param samplesPerScanline not rounded
 * @param scanlines how many were seen
 */
export function jitterFreeQuantisation(samplesPerScanline: number, scanlines: number): QuantisationVariance {
  const count = Math.max(3, Math.min(SCANLINES, scanlines))
  const sum = { timeIntervalError: 0, period: 0, cycleToCycle: 0 }
  for (let start = 0; start < START_PHASES; start++) {
    const late = Float64Array.from({ length: count }, (_, n) => {
      const at = n * samplesPerScanline + (start + 0.5) / START_PHASES
      return Math.ceil(at) - at
    })
    sum.timeIntervalError += detrendedVariance(late)
    sum.period += meanSquare(count - 1, (i) => late[i + 1]! - late[i]!)
    sum.cycleToCycle += meanSquare(count - 2, (i) => late[i + 2]! - 2 * late[i + 1]! + late[i]!)
  }
  return {
    timeIntervalError: sum.timeIntervalError / START_PHASES,
    period: sum.period / START_PHASES,
    cycleToCycle: sum.cycleToCycle / START_PHASES,
  }
}

/**
 * Between the two: jitter of `sigma` samples makes neighbouring errors forget each other by exp(-(2 pi sigma)^2), the
 * squared characteristic function of the normal distribution at one cycle per sample (Widrow and Kollar,
 * Quantization Noise, 2008, ch. 4).
 */
export function quantisationVariance(
  jitterFree: QuantisationVariance,
  sigmaSamples: number,
): QuantisationVariance {
  const kept = Math.exp(-((2 * Math.PI * sigmaSamples) ** 2))
  const mix = (of: keyof QuantisationVariance): number => jitterFree[of] * kept + DITHERED[of] * (1 - kept)
  return {
    timeIntervalError: mix('timeIntervalError'),
    period: mix('period'),
    cycleToCycle: mix('cycleToCycle'),
  }
}

function meanSquare(count: number, value: (i: number) => number): number {
  let sum = 0
  for (let i = 0; i < count; i++) sum += value(i) ** 2
  return count > 0 ? sum / count : 0
}

function detrendedVariance(values: Float64Array): number {
  const n = values.length
  const middle = (n - 1) / 2
  let mean = 0
  let product = 0
  for (let i = 0; i < n; i++) {
    mean += values[i]! / n
    product += values[i]! * (i - middle)
  }
  const slope = product / ((n * (n * n - 1)) / 12)
  return meanSquare(n, (i) => values[i]! - mean - slope * (i - middle))
}
