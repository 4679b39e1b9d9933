// Scatter of a segment's leading edges → jitter figures, each beside what the instrument's sampling alone would show.
// Random jitter, slow wander and a periodic part are told apart.

import type { Measurement } from '../measurement.ts'
import { estimateJitter, type Sampling } from './jitter-estimate.ts'
import type { JitterMeter } from './jitter-meter.ts'
import type { SeriesResiduals } from './line-series.ts'
import { PERIODIC_MIN_POINTS, periodicComponent, type PeriodicComponent } from './periodic-jitter.ts'

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
  /**
   * Random jitter of a leading edge with the sampling taken out, in ticks; where none is resolved its value is 0, and
   * its uncertainty the least that would have been.
   */
  random: Measurement
  /** Slow part of the time interval error, in ticks: averages over WANDER_SCANLINES scanlines. */
  wanderRmsTicks: number
  /** Strongest regular component, null where none stands out; frequency per scanline. */
  periodic: PeriodicComponent | null
  /** True where sampling explains all that was seen from scanline to scanline. */
  belowResolution: boolean
}

/** Deviations that last longer than this many scanlines are wander. */
const WANDER_SCANLINES = 32
/** Sample intervals that differ by less are one, known from the grid more exactly. */
const SAME_GRID = 0.1
/** A grid of few ticks fits many gaps by chance; the periods must then bear it out more closely. */
const GUESSED_GRID_TICKS = 16
const SURE_GRID = 0.01
/** What the longest and the shortest period, rounded to ticks, may be off by between them. */
const ROUNDED_TICKS = 0.5

/**
 * @param residuals of the line fit, per point of its series
 * @param scanlineTicks scanline period
 * @param sampling sample interval in ticks, and whether it is known exactly or only roughly
 * @returns undefined below ten neighbouring scanlines
 */
export function measureJitter(
  meter: JitterMeter,
  residuals: SeriesResiduals,
  scanlineTicks: number,
  sampling: { ticks: number; isExact: boolean },
): SyncJitter | undefined {
  if (meter.cycleToCycle.count < 10) return undefined
  const grid = samplingOf(meter, scanlineTicks, sampling)
  const { sampleTicks } = grid
  const { random, belowResolution, quantisation, isRounded } = estimateJitter(meter, grid)
  // half a tick at either end of either period
  const roundingSamples = isRounded ? 2 / sampleTicks : 0
  const spread = residualSpread(residuals, random.value ** 2)
  const each = meter.residuals()
  const figure = (observedTicks: number, resolution: number): JitterFigure => ({
    observedTicks,
    resolutionTicks: resolution * sampleTicks,
  })
  const peakToPeak = meter.period.max - meter.period.min
  return {
    scanlines: meter.period.count + 1,
    periodRms: figure(meter.period.rms, Math.sqrt(quantisation.period)),
    periodPeakToPeak: figure(peakToPeak, peakResolution(meter, sampleTicks, random.value) + roundingSamples),
    cycleToCycleRms: figure(meter.cycleToCycle.rms, Math.sqrt(quantisation.cycleToCycle)),
    timeIntervalErrorRms: figure(spread.rms, Math.sqrt(quantisation.timeIntervalError)),
    timeIntervalErrorPeak: figure(spread.peak, 0.5),
    random,
    wanderRmsTicks: wander(residuals),
    periodic: each.count >= PERIODIC_MIN_POINTS ? periodicComponent(each, grid, random.value) : null,
    belowResolution,
  }
}

/**
 * Periods that differ by single samples tell these better than a grid that had to be guessed; and how often the longer
 * ones come tells the fraction of a sample that a scanline has, whatever rounding to ticks does to each.
 */
function samplingOf(
  meter: JitterMeter,
  scanlineTicks: number,
  { ticks, isExact }: { ticks: number; isExact: boolean },
): Sampling {
  const seen = meter.steps
  if (!seen) {
    return {
      sampleTicks: ticks,
      samplesPerScanline: scanlineTicks / ticks,
      fractionDoubt: 0,
      intervalDoubt: 0,
    }
  }
  const { stepTicks, meanSteps, steps } = seen
  const off = Math.abs(stepTicks / ticks - 1)
  if (isExact && off < (ticks < GUESSED_GRID_TICKS ? SURE_GRID : SAME_GRID))
    return {
      sampleTicks: ticks,
      samplesPerScanline: scanlineTicks / ticks,
      fractionDoubt: 0,
      intervalDoubt: 0,
    }
  return {
    sampleTicks: stepTicks,
    samplesPerScanline: meanSteps,
    fractionDoubt: 1 / meter.period.count,
    intervalDoubt: ROUNDED_TICKS / (steps * stepTicks),
  }
}

/** Two edges, each late by up to a sample, stretch or shrink a period by up to one: two samples from peak to peak. */
function peakResolution({ period }: JitterMeter, sampleTicks: number, sigma: number): number {
  if (sigma > 0) return 2
  return period.max - period.min > sampleTicks / 2 ? 1 : 0
}

function residualSpread(residuals: SeriesResiduals, variance: number): { rms: number; peak: number } {
  let squares = 0
  let peak = 0
  for (let i = 0; i < residuals.count; i++) {
    squares += residuals.offset[i]! ** 2
    peak = Math.max(peak, Math.abs(residuals.offset[i]!))
  }
  // points that average m scanlines hide all but 1/m of the random part
  const hidden = variance * (1 - 1 / residuals.scanlinesPerPoint)
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
