// Scatter of a segment's leading edges → jitter figures, each beside what the instrument's sampling alone would show.
// Random jitter, slow wander and a periodic part are told apart.

import type { Measurement } from '../measurement.ts'
import { PERIODIC_MIN_POINTS, periodicComponent, type PeriodicComponent } from './periodic-jitter.ts'
import type { JitterMeter } from './jitter-meter.ts'
import type { SeriesResiduals } from './line-series.ts'
import { jitterFreeQuantisation, quantisationVariance } from './quantisation.ts'

/** A figure as observed, and the part of it that the sample interval explains; both in ticks. */
export interface JitterFigure {
  observedTicks: number
  resolutionTicks: number
}

/** Jitter of one segment. RMS values are standard deviations; peaks are largest deviations seen. */
export interface SyncJitter {
  scanlines: number
  periodRms: JitterFigure
  periodPeakToPeak: JitterFigure
  cycleToCycleRms: JitterFigure
  timeIntervalErrorRms: JitterFigure
  timeIntervalErrorPeak: JitterFigure
  /** Random jitter of a leading edge with the sampling taken out, in ticks; its value is 0 where none is resolved. */
  random: Measurement
  /** Slow part of the time interval error, in ticks: averages over WANDER_SCANLINES scanlines. */
  wanderRmsTicks: number
  /** Strongest regular component, null where none stands out; frequency per scanline. */
  periodic: PeriodicComponent | null
  /** True where sampling explains all that was seen. */
  belowResolution: boolean
}

/** Deviations that last longer than this many scanlines are wander. */
const WANDER_SCANLINES = 32
/** Standard uncertainties that jitter must exceed to be believed. */
const COVERAGE = 3

/**
 * @param residuals of the line fit, per point of its series
 * @param samplesPerScanline scanline period over sample interval
 * @param resolutionTicks sample interval
 * @returns undefined below ten neighbouring scanlines
 */
export function measureJitter(
  meter: JitterMeter,
  residuals: SeriesResiduals,
  samplesPerScanline: number,
  resolutionTicks: number,
): SyncJitter | undefined {
  const n = meter.cycleToCycle.count
  if (n < 10) return undefined
  const jitterFree = jitterFreeQuantisation(samplesPerScanline, meter.period.count)
  const sample2 = resolutionTicks ** 2
  // cycle-to-cycle jitter knows nothing of wander: six times the variance of one edge, plus what sampling makes of it
  const observed = meter.cycleToCycle.variance
  let variance = 0
  for (let round = 0; round < 8; round++) {
    const sigma = Math.sqrt(Math.max(0, variance)) / resolutionTicks
    variance = (observed - quantisationVariance(jitterFree, sigma).cycleToCycle * sample2) / 6
  }
  // second differences of white noise: their squares correlate, n counts for about half (35/18 by direct summation)
  const varianceUncertainty = (observed / 6) * Math.sqrt((2 * 35) / 18 / n) + sample2 / 12 / Math.sqrt(n)
  const belowResolution = variance < COVERAGE * varianceUncertainty
  const sigma = belowResolution ? 0 : Math.sqrt(variance)
  const share = quantisationVariance(jitterFree, sigma / resolutionTicks)
  const spread = residualSpread(residuals, variance)
  const each = meter.residuals()
  const figure = (observedTicks: number, resolution: number): JitterFigure => ({
    observedTicks,
    resolutionTicks: resolution * resolutionTicks,
  })
  return {
    scanlines: meter.period.count + 1,
    periodRms: figure(meter.period.rms, Math.sqrt(share.period)),
    periodPeakToPeak: figure(meter.period.max - meter.period.min, peakResolution(jitterFree.period, sigma)),
    cycleToCycleRms: figure(meter.cycleToCycle.rms, Math.sqrt(share.cycleToCycle)),
    timeIntervalErrorRms: figure(spread.rms, Math.sqrt(share.timeIntervalError)),
    timeIntervalErrorPeak: figure(spread.peak, 0.5),
    random: {
      value: sigma,
      uncertainty: sigma > 0 ? varianceUncertainty / (2 * sigma) : Math.sqrt(COVERAGE * varianceUncertainty),
    },
    wanderRmsTicks: wander(residuals),
    periodic:
      each.count >= PERIODIC_MIN_POINTS ? periodicComponent(each, samplesPerScanline, resolutionTicks) : null,
    belowResolution,
  }
}

/** Two edges, each late by up to a sample, stretch or shrink a period by up to one: two samples from peak to peak. */
function peakResolution(jitterFreePeriod: number, sigma: number): number {
  if (sigma > 0) return 2
  return jitterFreePeriod > 0 ? 1 : 0
}

function residualSpread(residuals: SeriesResiduals, variance: number): { rms: number; peak: number } {
  let squares = 0
  let peak = 0
  for (let i = 0; i < residuals.count; i++) {
    squares += residuals.offset[i]! ** 2
    peak = Math.max(peak, Math.abs(residuals.offset[i]!))
  }
  // points that average m scanlines hide all but 1/m of the random part
  const hidden = Math.max(0, variance) * (1 - 1 / residuals.scanlinesPerPoint)
  return { rms: Math.sqrt(squares / Math.max(1, residuals.count) + hidden), peak }
}

function wander(residuals: SeriesResiduals): number {
  const width = Math.max(1, Math.round(WANDER_SCANLINES / residuals.scanlinesPerPoint))
  let squares = 0
  let windows = 0
  for (let from = 0; from + width <= residuals.count; from += width) {
    let sum = 0
    for (let i = from; i < from + width; i++) sum += residuals.offset[i]!
    squares += (sum / width) ** 2
    windows++
  }
  return windows > 0 ? Math.sqrt(squares / windows) : 0
}
