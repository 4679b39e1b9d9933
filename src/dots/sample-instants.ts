// When the instrument sampled: a capture keeps only changes, but all of them lie on one even grid, and at every point of
// it the level was looked at. The grid is fitted over the whole recording, for a thousandth of a sample matters where
// samples of several frames are put between each other.

import { RunningLine } from '../transitions/running-line.ts'
import type { Recording } from './recording.ts'

/** The even grid of all sample instants of a recording. */
export interface SampleInstants {
  /** Instant of sample 0, in ticks. */
  originTicks: number
  intervalTicks: number
  /** Standard uncertainty of the interval, in ticks. */
  uncertaintyTicks: number
}

/** RMS, in ticks, of edges that a file has rounded to whole ticks: sqrt(1/12) = 0.29, and room for it. */
const ROUNDED_TICKS = 0.45
/** Share of the interval within which edges must lie on it; edges anywhere would have sqrt(1/12). */
const ON_GRID = 0.1

/**
 * Least squares of the leading edges of sync against their sample numbers: they come often enough for every number to
 * be certain.
 *
 * @param sampleIntervalTicks the interval as the capture's first part has it
 * @returns undefined where the edges lie on no such grid
 */
export function sampleInstants(
  recording: Recording,
  sampleIntervalTicks: number,
): SampleInstants | undefined {
  const { scanlineTick } = recording
  const count = scanlineTick.length
  const first = scanlineTick[0]
  if (first === undefined || count < 3 || !(sampleIntervalTicks > 0)) return undefined
  const line = new RunningLine()
  let index = 0
  for (let i = 0; i < count; i++) {
    if (i > 0) index += Math.round((scanlineTick[i]! - scanlineTick[i - 1]!) / sampleIntervalTicks)
    line.add(index, scanlineTick[i]! - first - index * sampleIntervalTicks)
  }
  if (!(line.spread > 0)) return undefined
  const { slope, rms } = line
  const intervalTicks = sampleIntervalTicks + slope
  if (rms > ROUNDED_TICKS || (intervalTicks > 1 && rms > ON_GRID * intervalTicks)) return undefined
  return {
    originTicks: first + line.atZero,
    intervalTicks,
    uncertaintyTicks: rms / Math.sqrt(line.spread),
  }
}
