// Scanlines of a recording → where each begins, smoothed: one edge is known to a sample, the straight line through many
// to a small part of it. Phases of dots are counted from these starts.

import type { Recording } from './video-recorder.ts'

/** Starts of all scanlines from the first to the last, also of those whose sync was missing. */
export interface ScanlineGrid {
  firstNumber: number
  /** Start of scanline `firstNumber + i`, in ticks, not rounded; one more than there are scanlines. */
  start: Float64Array
  /** Mean scanline period over the recording, in ticks. */
  periodTicks: number
}

/** Scanlines on each side that smooth one: long against the sample grid's beat, short against thermal drift. */
const SMOOTHING_REACH = 32

/** @returns undefined below three regular scanlines */
export function scanlineGrid(recording: Recording): ScanlineGrid | undefined {
  const { scanlineNumber: number, scanlineTick: tick } = recording
  const count = number.length
  if (count < 3) return undefined
  const period = commonPeriod(number, tick)
  const firstNumber = number[0]!
  const total = number.at(-1)! - firstNumber + 1
  const start = new Float64Array(total + 1)
  // deviation of each regular scanline from an even raster, averaged over its neighbours
  const sums = new Float64Array(count + 1)
  const deviation = (i: number): number => tick[i]! - tick[0]! - (number[i]! - firstNumber) * period
  for (let i = 0; i < count; i++) sums[i + 1] = sums[i]! + deviation(i)
  let at = 0
  for (let line = 0; line < total; line++) {
    while (at + 1 < count && number[at + 1]! - firstNumber <= line) at++
    const [from, to] = window(number, tick, at, period)
    const mean = (sums[to + 1]! - sums[from]!) / (to - from + 1)
    start[line] = tick[0]! + line * period + mean
  }
  start[total] = start[total - 1]! + period
  return { firstNumber, start, periodTicks: period }
}

/** Theil's idea made cheap: median of slopes over half the recording, immune to a phase break in the middle. */
function commonPeriod(number: readonly number[], tick: readonly number[]): number {
  const reach = Math.max(1, number.length >> 1)
  const slopes: number[] = []
  for (let i = 0; i + reach < number.length; i++) {
    slopes.push((tick[i + reach]! - tick[i]!) / (number[i + reach]! - number[i]!))
  }
  slopes.sort((a, b) => a - b)
  const middle = slopes.slice(Math.floor(slopes.length * 0.25), Math.ceil(slopes.length * 0.75))
  return middle.reduce((sum, slope) => sum + slope, 0) / middle.length
}

/** Symmetric neighbourhood in which the phase does not jump. */
function window(
  number: readonly number[],
  tick: readonly number[],
  at: number,
  period: number,
): [number, number] {
  const jumps = (i: number): boolean =>
    Math.abs(tick[i + 1]! - tick[i]! - (number[i + 1]! - number[i]!) * period) > period / 100
  let reach = 0
  while (
    reach < SMOOTHING_REACH &&
    at - reach - 1 >= 0 &&
    at + reach + 1 < number.length &&
    !jumps(at - reach - 1) &&
    !jumps(at + reach)
  ) {
    reach++
  }
  return [at - reach, at + reach]
}
