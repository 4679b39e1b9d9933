// Scanline periods of a segment → what the charts show: period against time, and how often each period was seen.

import type { CaptureMeasurement } from '../measure.ts'
import { scanlinePeriods } from '../measure-pulses.ts'

/** Bars of the histogram at most. */
const MOST_BARS = 240
/** Faults marked; of more, an even choice. */
const MOST_MARKS = 500
/** Bars where nothing says how fine they should be. */
const USUAL_BARS = 40

/** Picoseconds: beyond, digits only make the page larger, and no bar is narrower. */
const FINEST_US = 1e-6

/** Two charts' data. Milliseconds from the capture's begin, microseconds of period. */
export interface PeriodSeries {
  timeMs: number[]
  periodUs: number[]
  /** When sync faults were: what is displaced or missing is no period of the chart. */
  faultsMs: number[]
  /** Middle of each bar, evenly spaced, rising. */
  binUs: number[]
  counts: number[]
  /** Scanlines that one point is the mean of. */
  scanlinesPerPoint: number
  /** Width of a bar, in microseconds. */
  barUs: number
  /** True where a bar is one sample interval wide. */
  barIsSample: boolean
}

/** @returns undefined with fewer than two periods */
export function periodSeries(measurement: CaptureMeasurement): PeriodSeries | undefined {
  const { main, sampleIntervalSeconds } = measurement
  const { x, y } = scanlinePeriods(measurement)
  if (y.length < 2) return undefined
  const scanlinesPerPoint = main.sync.residuals()?.scanlinesPerPoint ?? 1
  const scanlineSeconds = 1 / main.hsync.frequencyHz.value
  const timeMs = Array.from(x, (scanline) => rounded((main.startSeconds + scanline * scanlineSeconds) * 1e3))
  const periodUs = Array.from(y, (seconds) => rounded(seconds * 1e6))
  return {
    timeMs,
    periodUs,
    faultsMs: faultTimes(measurement),
    scanlinesPerPoint,
    ...histogram(periodUs, scanlinesPerPoint, sampleIntervalSeconds),
  }
}

function faultTimes({ main, timebase }: CaptureMeasurement): number[] {
  const { faults } = main.sync
  const every = Math.max(1, Math.ceil(faults.length / MOST_MARKS))
  return faults
    .filter((_, index) => index % every === 0)
    .map(({ tick }) => rounded((tick - timebase.firstTick) * timebase.secondsPerTick * 1e3))
}

function rounded(value: number): number {
  return Number(value.toFixed(6))
}

/**
 * A single scanline is a whole number of samples long: bars of one sample, each around such a number. Means of several
 * scanlines, or times of unknown grid, get bars that divide their range.
 */
function histogram(
  periodUs: readonly number[],
  scanlinesPerPoint: number,
  sampleIntervalSeconds: number | null,
): Pick<PeriodSeries, 'binUs' | 'counts' | 'barUs' | 'barIsSample'> {
  const low = periodUs.reduce((least, value) => Math.min(least, value), Infinity)
  const high = periodUs.reduce((most, value) => Math.max(most, value), -Infinity)
  const sampleUs = sampleIntervalSeconds === null ? 0 : sampleIntervalSeconds * 1e6
  const barIsSample = scanlinesPerPoint === 1 && sampleUs > 0 && (high - low) / sampleUs < MOST_BARS
  const barUs = barIsSample ? sampleUs : Math.max((high - low) / USUAL_BARS, FINEST_US)
  // an empty bar at either side shows that there is nothing more
  const start = low - barUs
  const bars = Math.round((high - low) / barUs) + 3
  const counts = Array.from({ length: bars }, () => 0)
  for (const value of periodUs) counts[Math.round((value - start) / barUs)]!++
  return { binUs: counts.map((_, bar) => rounded(start + bar * barUs)), counts, barUs, barIsSample }
}
