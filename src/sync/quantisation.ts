// How much of the scatter of edges the instrument's own sampling makes. An edge is seen at the next sample, so its time is
// late by 0 to 1 sample; how that error changes from scanline to scanline depends on the scanline's fraction of a sample.

/** Variances in units of the squared sample interval. */
export interface QuantisationVariance {
  timeIntervalError: number
  period: number
  cycleToCycle: number
}

/** What a jitter-free sync may show: it depends on where between two samples the first edge fell. */
export interface QuantisationRange {
  least: QuantisationVariance
  mean: QuantisationVariance
  most: QuantisationVariance
}

/** Scanlines followed; more show nothing new but a slow beat, which longer captures average over. */
export const FOLLOWED_SCANLINES = 2000
const START_PHASES = 16
/** Fourier terms of the error's sawtooth: the last is a 400th of the first in power. */
const HARMONICS = 20

/**
 * Without jitter the errors follow one another regularly, and may hardly vary at all.
 * @param samplesPerScanline not rounded; its fraction is what counts
 * @param scanlines how many were seen
 */
export function jitterFreeQuantisation(samplesPerScanline: number, scanlines: number): QuantisationRange {
  const count = Math.max(3, Math.min(FOLLOWED_SCANLINES, scanlines))
  const all = (value: number): QuantisationVariance => ({
    timeIntervalError: value,
    period: value,
    cycleToCycle: value,
  })
  const range = { least: all(Infinity), mean: all(0), most: all(0) }
  for (let start = 0; start < START_PHASES; start++) {
    const late = Float64Array.from({ length: count }, (_, n) => {
      const at = n * samplesPerScanline + (start + 0.5) / START_PHASES
      return Math.ceil(at) - at
    })
    const seen = {
      timeIntervalError: detrendedVariance(late),
      period: meanSquare(count - 1, (i) => late[i + 1]! - late[i]!),
      cycleToCycle: meanSquare(count - 2, (i) => late[i + 2]! - 2 * late[i + 1]! + late[i]!),
    }
    for (const of of ['timeIntervalError', 'period', 'cycleToCycle'] as const) {
      range.mean[of] += seen[of] / START_PHASES
      range.least[of] = Math.min(range.least[of], seen[of])
      range.most[of] = Math.max(range.most[of], seen[of])
    }
  }
  return range
}

/**
 * With jitter, edges falling anywhere between samples: the error is a sawtooth of the edge's time, harmonic k of which
 * has an amplitude of 1/(pi k). Errors of edges m scanlines apart keep, of that harmonic, cos(2 pi k m fraction) times
 * the squared characteristic function of the jitter, exp(-(2 pi k sigma)^2) for a normal one (Widrow and Kollar,
 * Quantization Noise, 2008, ch. 4); the error itself stays uniform, with a variance of 1/12.
 *
 * @param sigmaSamples standard deviation of each edge
 */
export function quantisationVariance(samplesPerScanline: number, sigmaSamples: number): QuantisationVariance {
  const covariance = (lag: number): number => {
    let sum = 0
    for (let k = 1; k <= HARMONICS; k++) {
      const kept = Math.exp(-((2 * Math.PI * k * sigmaSamples) ** 2))
      sum += (Math.cos(2 * Math.PI * k * lag * samplesPerScanline) * kept) / (2 * (Math.PI * k) ** 2)
    }
    return sum
  }
  const [one, two] = [covariance(1), covariance(2)]
  return {
    timeIntervalError: 1 / 12,
    period: 2 / 12 - 2 * one,
    cycleToCycle: 6 / 12 - 8 * one + 2 * two,
  }
}

function meanSquare(count: number, value: (i: number) => number): number {
  let sum = 0
  for (let i = 0; i < count; i++) sum += value(i) ** 2
  return sum / count
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
