// Width of vsync, averaged over frames: few pulses, whose edges may all fall on the same place between two samples.

import type { Measurement } from '../measurement.ts'
import { PointSeries } from './point-series.ts'
import { beatVariances, FEW_HARMONICS, stirredVariance } from './sampling-beat.ts'

/** Running mean of vsync widths. */
export class VsyncWidth {
  readonly #series = new PointSeries()
  #firstScanline = NaN
  #firstTicks = NaN

  /** @param scanline where the leading edge falls, with fraction */
  add(scanline: number, widthTicks: number): void {
    if (this.#series.scanlines === 0) {
      this.#firstScanline = scanline
      this.#firstTicks = widthTicks
    }
    // frames are whole or half scanlines apart; the rest is what was measured amiss
    const number = Math.round(2 * (scanline - this.#firstScanline)) / 2
    this.#series.add(number, widthTicks - this.#firstTicks)
  }

  /**
   * @param jitterSamples standard deviation of either edge
   * @returns in ticks; null without a pulse
   */
  mean(periodTicks: number, jitterSamples: number, resolutionTicks: number): Measurement | null {
    const pulses = this.#series.scanlines
    if (pulses === 0) return null
    const points = this.#series.points()
    let mean = 0
    for (let i = 0; i < points.count; i++) mean += (points.weight[i]! * points.value[i]!) / pulses
    const factors = points.weight.map((weight) => weight / pulses)
    const samplesPerScanline = periodTicks / resolutionTicks
    const [beat] = beatVariances(points, [factors], samplesPerScanline, jitterSamples, FEW_HARMONICS)
    const variance = 2 * (beat! + stirredVariance(jitterSamples) / pulses)
    return { value: this.#firstTicks + mean, uncertainty: Math.sqrt(variance) * resolutionTicks }
  }
}
