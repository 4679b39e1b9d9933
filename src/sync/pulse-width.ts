// Width of hsync, averaged over the scanlines of a segment: its leading and trailing edges each beat with the samples.

import type { Measurement } from '../measurement.ts'
import type { LineFit } from './line-series.ts'
import { newNoise } from './new-noise.ts'
import { PointSeries } from './point-series.ts'
import { meanBeatVariance, stirredVariance } from './sampling-beat.ts'

/**
 * Pulses added to a count of chance events for its variance: P(|n - m| <= 3 sqrt(n + 5)) of a Poisson count n of mean m is
 * then 99.5 % or more whatever m is, while sqrt(n) alone is too little where n came out small (computed in the tests).
 */
const UNSEEN_PULSES = 5

/** Mean width of a pulse that comes once a scanline. */
export interface PulseWidth {
  /** In ticks. */
  width: Measurement
  /** Jitter that both edges have in common, in samples: what does not show in the widths. */
  commonJitterSamples: number
}

/** Running series of (scanline number, width in ticks). */
export class WidthSeries {
  readonly #series = new PointSeries()
  #firstNumber = NaN
  #firstWidth = NaN

  /** @param number scanline number, rising; gaps are fine */
  add(number: number, widthTicks: number): void {
    if (this.#series.scanlines === 0) {
      this.#firstNumber = number
      this.#firstWidth = widthTicks
    }
    this.#series.add(number - this.#firstNumber, widthTicks - this.#firstWidth)
  }

  /**
   * Mean of the widths. Its uncertainty has two parts: what is new with every pulse, from the scatter of the widths; and the
   * beat of either edge with the samples, which no averaging takes out where they hardly beat.
   *
   * @param line of the leading edges
   * @returns undefined without a pulse
   */
  mean({ period, jitterSamples }: LineFit, resolutionTicks: number): PulseWidth | undefined {
    const points = this.#series.points()
    const scanlines = this.#series.scanlines
    if (scanlines === 0) return undefined
    let mean = 0
    for (let i = 0; i < points.count; i++) mean += (points.weight[i]! * points.value[i]!) / scanlines
    const scatter = points.value.map((value) => (value - mean) / resolutionTicks)
    const own = newNoise(scatter, points.weight)
    const factors = points.weight.map((weight) => weight / scanlines)
    const periodSamples = {
      value: period.value / resolutionTicks,
      uncertainty: period.uncertainty / resolutionTicks,
    }
    const length = points.number[points.count - 1]! - points.number[0]!
    const beat = meanBeatVariance(points, factors, periodSamples, jitterSamples, length)
    // of the widths' scatter, what sampling stirs up at either edge; the rest is jitter that the edges do not share
    const sampling = stirredVariance(jitterSamples) - jitterSamples ** 2
    const apart = Math.max(0, own - 2 * sampling) / 2
    // a width just off a whole number of samples shows in few pulses, by chance: as if in more than were seen; where all
    // are alike or sampling is stirred, for a steady beat leaves nothing to chance
    const unseen = (UNSEEN_PULSES * (own > 0 ? Math.min(1, 12 * sampling) : 1)) / scanlines ** 2
    const variance = Math.max(own, 2 * stirredVariance(0)) / scanlines + 2 * beat + unseen
    return {
      width: { value: this.#firstWidth + mean, uncertainty: Math.sqrt(variance) * resolutionTicks },
      commonJitterSamples: Math.sqrt(Math.max(0, jitterSamples ** 2 - apart)),
    }
  }
}
