// Leading-edge times against scanline numbers, and the straight line through them: the scanline period, and how far it may
// be off. One series per segment.

import type { Measurement } from '../measurement.ts'
import { newNoise } from './new-noise.ts'
import { PointSeries, type Points, type Stretch } from './point-series.ts'
import {
  jitterOfStirred,
  polynomialBeatVariances,
  slopeBeatVariance,
  stirredVariance,
} from './sampling-beat.ts'
import { degreesShown, legendre, wanderVariance } from './wander.ts'
import { sumOfProducts } from '../transitions/column-sums.ts'

/** Straight-line fit of time against scanline number over all unbroken stretches. */
export interface LineFit {
  /** Ticks per scanline. */
  period: Measurement
  /** Residuals' RMS, in ticks. */
  residualRmsTicks: number
  /** Scanlines that the fit rests on. */
  scanlines: number
  /** Jitter of one leading edge, in samples, slow wander left out: what the residuals make most likely. */
  jitterSamples: number
}

/** Deviations from the fitted line, point by point; arrays are the caller's own. */
export interface SeriesResiduals {
  count: number
  /** Scanline number of each point, rising, from the first of the series. */
  number: Float64Array
  /** Time minus the line's, in ticks; each stretch about its own line. */
  offset: Float64Array
  /** Scanlines averaged in one point. */
  scanlinesPerPoint: number
}

/** A line before its uncertainty is known. */
interface Line {
  points: Points
  stretches: Stretch[]
  /** Sum of squared scanline numbers, each about its stretch's mean. */
  spread: number
  /** Ticks per scanline beyond the nominal period. */
  slope: number
  residuals: Float64Array
}

/** Running series of (scanline number, leading-edge tick). */
export class LineSeries {
  /** Time minus the nominal time of that scanline: small numbers, so sums lose nothing. */
  readonly #series = new PointSeries()
  #firstNumber = NaN
  #firstTick = NaN
  readonly #nominalTicks: number

  /** @param nominalTicks roughly the scanline period, in ticks */
  constructor(nominalTicks: number) {
    // a few binary places: then scanlines times period, and what edges are off it, come out exactly
    this.#nominalTicks = Math.round(nominalTicks * 16) / 16
  }

  /** Scanlines added so far. */
  get scanlines(): number {
    return this.#series.scanlines
  }

  /** From here on the phase is unrelated to before: a new stretch, the same rate. */
  breakPhase(): void {
    this.#series.breakPhase()
  }

  /** @param number scanline number, rising; gaps are fine */
  add(number: number, tick: number): void {
    if (this.#series.scanlines === 0) {
      this.#firstNumber = number
      this.#firstTick = tick
    }
    const relative = number - this.#firstNumber
    this.#series.add(relative, tick - this.#firstTick - relative * this.#nominalTicks)
  }

  /**
   * Least squares over every unbroken stretch with one common slope.
   *
   * The uncertainty is that of a regression slope (GUM, JCGM 100:2008, H.3), from what makes edges err: jitter and what it
   * stirs up, new with every edge; the beat of samples and scanlines, which is no noise and can tilt the line; and slow
   * wander of a clock, which only the residuals tell of.
   *
   * @param resolutionTicks sample interval of the instrument, in ticks
   * @returns undefined below two scanlines in one stretch
   */
  fit(resolutionTicks: number): LineFit | undefined {
    const line = this.#line()
    if (!line) return undefined
    const { points, residuals } = line
    let squares = 0
    for (let i = 0; i < points.count; i++) squares += points.weight[i]! * residuals[i]! ** 2
    const periodTicks = this.#nominalTicks + line.slope
    const { variance, jitterSamples } = slopeVariance(line, periodTicks / resolutionTicks, resolutionTicks)
    return {
      period: { value: periodTicks, uncertainty: Math.sqrt(variance) * resolutionTicks },
      residualRmsTicks: Math.sqrt(squares / this.scanlines),
      scanlines: this.scanlines,
      jitterSamples,
    }
  }

  /** Slope alone, in ticks per scanline; undefined below two scanlines in one stretch. */
  get periodTicks(): number | undefined {
    const line = this.#line()
    return line && this.#nominalTicks + line.slope
  }

  /** What the line leaves over; undefined where there is no line. */
  residuals(): SeriesResiduals | undefined {
    const line = this.#line()
    if (!line) return undefined
    const { points, residuals } = line
    return {
      count: points.count,
      number: points.number.slice(),
      offset: residuals,
      scanlinesPerPoint: this.#series.scanlinesPerPoint,
    }
  }

  #line(): Line | undefined {
    const points = this.#series.points()
    const stretches = this.#series.stretches()
    let spread = 0
    let product = 0
    for (const { from, to, meanNumber, meanValue } of stretches) {
      for (let i = from; i < to; i++) {
        const x = points.number[i]! - meanNumber
        spread += points.weight[i]! * x * x
        product += points.weight[i]! * x * (points.value[i]! - meanValue)
      }
    }
    if (!(spread > 0)) return undefined
    const slope = product / spread
    const residuals = new Float64Array(points.count)
    for (const { from, to, meanNumber, meanValue } of stretches) {
      for (let i = from; i < to; i++)
        residuals[i] = points.value[i]! - meanValue - slope * (points.number[i]! - meanNumber)
    }
    return { points, stretches, spread, slope, residuals }
  }
}

/** In squared samples per scanline, with the jitter it assumes. */
function slopeVariance(
  line: Line,
  samplesPerScanline: number,
  sampleTicks: number,
): { variance: number; jitterSamples: number } {
  const { points, stretches, spread } = line
  const extent = ({ from, to }: Stretch): number => points.number[to - 1]! - points.number[from]!
  const longest = stretches.reduce((best, stretch) => (extent(stretch) > extent(best) ? stretch : best))
  const edges = within(points, longest)
  const residuals = line.residuals.subarray(longest.from, longest.to).map((ticks) => ticks / sampleTicks)
  const stirred = Math.max(stirredVariance(0), newNoise(residuals, edges.weight))
  const jitterSamples = jitterOfStirred(stirred)
  const length = Math.max(1, extent(longest))
  const beat = slopeBeatVariance(points, slopeFactors(line), samplesPerScanline, jitterSamples, length)
  const wander = wanderOf(edges, residuals, stirred, samplesPerScanline, jitterSamples)
  return { variance: (stirred + wander) / spread + beat, jitterSamples }
}

/** What each point counts in the slope. */
function slopeFactors({ points, stretches, spread }: Line): Float64Array {
  const factors = new Float64Array(points.count)
  for (const { from, to, meanNumber } of stretches) {
    for (let i = from; i < to; i++)
      factors[i] = (points.weight[i]! * (points.number[i]! - meanNumber)) / spread
  }
  return factors
}

/** Variance, in squared samples, that wander adds to what is new with every edge, as a slope feels it. */
function wanderOf(
  edges: Points,
  residuals: Float64Array,
  stirred: number,
  samplesPerScanline: number,
  jitterSamples: number,
): number {
  const highest = degreesShown(edges.count)
  if (highest === 0) return 0
  const scanlines = edges.weight.reduce((sum, weight) => sum + weight, 0)
  const sums = legendre(edges.number, 2, highest)
  for (const values of sums) weigh(values, edges.weight, 1 / Math.sqrt(scanlines))
  const powers = Float64Array.from(sums, (factors) => sumOfProducts(factors, residuals) ** 2)
  const beats = polynomialBeatVariances(edges, sums, samplesPerScanline, jitterSamples, scanlines)
  return wanderVariance(
    powers,
    beats.map((beat) => beat + stirred),
  )
}

/** Multiplies each value, in place, by its weight and a factor that all have. */
function weigh(values: Float64Array, weight: Float64Array, factor: number): void {
  for (let i = 0; i < values.length; i++) values[i]! *= weight[i]! * factor
}

function within(points: Points, { from, to }: Stretch): Points {
  return {
    count: to - from,
    number: points.number.subarray(from, to),
    value: points.value.subarray(from, to),
    weight: points.weight.subarray(from, to),
  }
}
