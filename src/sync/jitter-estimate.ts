// How far leading edges scatter by themselves, from the variances of periods and of their differences. Both are needed: a
// little jitter may change one of them not at all, where it stirs up the beat of samples and scanlines as much as it adds.

import type { Measurement } from '../measurement.ts'
import type { JitterMeter } from './jitter-meter.ts'
import {
  FOLLOWED_SCANLINES,
  jitterFreeQuantisation,
  quantisationVariance,
  type QuantisationRange,
  type QuantisationVariance,
} from './quantisation.ts'

export interface JitterEstimate {
  /** In ticks; 0 where none is resolved, with the least that would have been as its uncertainty. */
  random: Measurement
  belowResolution: boolean
  /** What sampling makes of this much jitter, in squared samples; a file's rounding to ticks included. */
  quantisation: QuantisationVariance
  /** Whether the file's ticks are no whole parts of a sample. */
  isRounded: boolean
}

/** How the instrument looked at the scanlines. */
export interface Sampling {
  /** Sample interval, in ticks. */
  sampleTicks: number
  /** Its fraction counts. */
  samplesPerScanline: number
  /** What that fraction may be off by. */
  fractionDoubt: number
  /** What the sample interval may be off by, as a share of it. */
  intervalDoubt: number
}

/** Squared samples that a regular beat's variances may be off by, times the scanlines: ends that are not whole beats. */
const END_EFFECT = 4
/** Most that the variances change with the fraction: twice 1 - 2 f for neighbouring differences. */
const STEEPEST = 2
/** Standard uncertainties that jitter must exceed to be believed. */
const COVERAGE = 3
/**
 * Sums of squared correlations of the differences and second differences of white noise: 1 + 2/4 and 1 + 2 (4/9 + 1/36);
 * the variance of a sample variance is twice that over n.
 */
const PERIOD_CORRELATION = 3 / 2
const CYCLE_CORRELATION = 35 / 18
/** The two variances err together, and are weighed as if they did not. */
const TOGETHER = Math.SQRT2
/** Jitter tried, in samples: from, to, and ratio of one to the next. */
const TRIED = { from: 0.005, to: 1e4, ratio: 1.02 }

/** The two variances, in squared samples. */
interface Scatter {
  period: number
  cycleToCycle: number
}

export function estimateJitter(meter: JitterMeter, sampling: Sampling): JitterEstimate {
  const { sampleTicks } = sampling
  const model = new ScatterModel(meter, sampling)
  const seen = {
    period: meter.period.variance / sampleTicks ** 2,
    cycleToCycle: meter.cycleToCycle.variance / sampleTicks ** 2,
  }
  const sigma = model.isExplained(seen, 0) ? 0 : model.best(seen)
  const uncertainty = sigma > 0 ? model.uncertainty(sigma) : 0
  const belowResolution = sigma < COVERAGE * uncertainty || sigma === 0
  return {
    random: belowResolution
      ? { value: 0, uncertainty: Math.max(model.leastSeen(), sigma) * sampleTicks }
      : { value: sigma * sampleTicks, uncertainty: uncertainty * sampleTicks },
    belowResolution,
    quantisation: model.explained(belowResolution ? 0 : sigma),
    isRounded: model.isRounded,
  }
}

/** What a sync of a given jitter shows through a given sample grid. */
class ScatterModel {
  readonly #samples: number
  readonly #range: QuantisationRange
  readonly #uniform: QuantisationVariance
  readonly #scanlines: number
  readonly #slack: number
  /** What the unit may be off by, as a share of a variance. */
  readonly #unitDoubt: number
  /** Rounding of times to ticks, in squared samples of one edge. */
  readonly #rounding: number

  constructor(
    meter: JitterMeter,
    { samplesPerScanline, sampleTicks, fractionDoubt, intervalDoubt }: Sampling,
  ) {
    this.#unitDoubt = 2 * intervalDoubt
    this.#samples = samplesPerScanline
    this.#scanlines = meter.cycleToCycle.count
    this.#range = jitterFreeQuantisation(samplesPerScanline, meter.period.count)
    this.#uniform = quantisationVariance(samplesPerScanline, 0)
    // a grid of whole ticks is not rounded by them
    const isWhole = Math.abs(sampleTicks - Math.round(sampleTicks)) < 1e-6
    this.#rounding = isWhole ? 0 : 1 / 12 / sampleTicks ** 2
    const ends = END_EFFECT / Math.min(FOLLOWED_SCANLINES, this.#scanlines)
    this.#slack = ends + this.#rounding + STEEPEST * fractionDoubt
  }

  get isRounded(): boolean {
    return this.#rounding > 0
  }

  /** What sampling and rounding make of this much jitter. */
  explained(sigma: number): QuantisationVariance {
    const sampled = sigma > 0 ? quantisationVariance(this.#samples, sigma) : this.#range.mean
    return {
      timeIntervalError: sampled.timeIntervalError + this.#rounding,
      period: sampled.period + 2 * this.#rounding,
      cycleToCycle: sampled.cycleToCycle + 6 * this.#rounding,
    }
  }

  /** Variances expected of this much jitter. */
  #expected(sigma: number): Scatter {
    const { mean } = this.#range
    const stirred = quantisationVariance(this.#samples, sigma)
    const own = sigma * sigma + this.#rounding
    return {
      period: mean.period + stirred.period - this.#uniform.period + 2 * own,
      cycleToCycle: mean.cycleToCycle + stirred.cycleToCycle - this.#uniform.cycleToCycle + 6 * own,
    }
  }

  /** Could a sync of this much jitter show these variances, whichever way the first edge fell? */
  isExplained(seen: Scatter, sigma: number): boolean {
    const { least, mean, most } = this.#range
    const expected = this.#expected(sigma)
    return (['period', 'cycleToCycle'] as const).every((of) => {
      const slack = this.#slack * (of === 'period' ? 1 : 2) + this.#unitDoubt * most[of]
      const off = seen[of] - expected[of]
      return off >= least[of] - mean[of] - slack && off <= most[of] - mean[of] + slack
    })
  }

  #weights(expected: Scatter): Scatter {
    const { least, most } = this.#range
    const n = this.#scanlines
    const spread = (of: keyof Scatter, correlation: number): number =>
      Math.hypot(
        Math.max(0, expected[of]) * Math.sqrt((2 * correlation) / n),
        this.#slack / 2,
        (this.#unitDoubt * expected[of]) / 2,
        (most[of] - least[of]) / Math.sqrt(12),
      )
    return {
      period: spread('period', PERIOD_CORRELATION),
      cycleToCycle: spread('cycleToCycle', CYCLE_CORRELATION),
    }
  }

  /** The jitter that comes nearest to what was seen. */
  best(seen: Scatter): number {
    let best = 0
    let least = Infinity
    const distance = (sigma: number): number => {
      const expected = this.#expected(sigma)
      const weights = this.#weights(expected)
      return (
        ((seen.period - expected.period) / weights.period) ** 2 +
        ((seen.cycleToCycle - expected.cycleToCycle) / weights.cycleToCycle) ** 2 +
        // a wide spread explains everything: it has its price
        2 * Math.log(weights.period * weights.cycleToCycle)
      )
    }
    const consider = (sigma: number): void => {
      const off = distance(sigma)
      if (off >= least) return
      least = off
      best = sigma
    }
    consider(0)
    for (let sigma = TRIED.from; sigma < TRIED.to; sigma *= TRIED.ratio) consider(sigma)
    for (let step = TRIED.ratio - 1; step > 1e-5; step /= 2) {
      const middle = best
      consider(middle * (1 - step))
      consider(middle * (1 + step))
    }
    return best
  }

  /** Standard uncertainty of a jitter, in samples. */
  uncertainty(sigma: number): number {
    const step = Math.max(0.01, sigma / 50)
    const [below, above] = [this.#expected(Math.max(0, sigma - step)), this.#expected(sigma + step)]
    const weights = this.#weights(this.#expected(sigma))
    const span = sigma + step - Math.max(0, sigma - step)
    const steepness = Math.hypot(
      (above.period - below.period) / span / weights.period,
      (above.cycleToCycle - below.cycleToCycle) / span / weights.cycleToCycle,
    )
    return TOGETHER / steepness
  }

  /** The least jitter that would not pass for none. */
  leastSeen(): number {
    for (let sigma = TRIED.from; sigma < 2; sigma *= TRIED.ratio)
      if (!this.isExplained(this.#expected(sigma), 0)) return sigma
    return 2
  }
}
