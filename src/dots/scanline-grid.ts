// Scanlines of a recording → where each begins, smoothed: one edge is known to a sample, the straight line through many
// to a small part of it. Phases of dots are counted from these starts.

import type { Recording } from './recording.ts'

/** Starts of all scanlines from the first to the last, also of those whose sync was missing. */
export interface ScanlineGrid {
  firstNumber: number
  /** Start of scanline `firstNumber + i`, in ticks, not rounded; one more than there are scanlines. */
  start: Float64Array
  /** Mean scanline period over the recording, in ticks. */
  periodTicks: number
  /** Standard deviation of single leading edges beyond the instrument's quantisation, in ticks. */
  jitterTicks: number
}

/** Regular scanlines without a jump of phase between them: indices, end excluded. */
interface Stretch {
  from: number
  to: number
}

/** Scanlines on each side that smooth one where the phase wanders. */
const SMOOTHING_REACH = 32
/** How far the mean of neighbouring scanlines may leave a straight line by the beat with the sample grid alone, in samples. */
const BEAT_SAMPLES = 0.6

/**
 * @param sampleIntervalTicks instrument's sample interval
 * @returns undefined below three regular scanlines
 */
export function scanlineGrid(recording: Recording, sampleIntervalTicks: number): ScanlineGrid | undefined {
  const { scanlineNumber: number, scanlineTick: tick } = recording
  const count = number.length
  if (count < 3) return undefined
  const stretches = stretchesOf(number, tick, roughPeriod(number, tick))
  const period = commonPeriod(stretches, number, tick)
  const firstNumber = number[0]!
  const total = number.at(-1)! - firstNumber + 1
  const start = new Float64Array(total + 1)
  let squares = 0
  let line = 0
  for (const { from, to } of stretches) {
    const deviation = Float64Array.from({ length: to - from }, (_, i) => {
      return tick[from + i]! - tick[from]! - (number[from + i]! - number[from]!) * period
    })
    const smooth = smoothed(deviation, sampleIntervalTicks)
    for (let i = 0; i < smooth.length; i++) squares += (deviation[i]! - smooth[i]!) ** 2
    // scanlines without a regular pulse follow the one before them
    const next = to < count ? number[to]! - firstNumber : total
    for (let at = from; line < next; line++) {
      while (at + 1 < to && number[at + 1]! - firstNumber <= line) at++
      start[line] = tick[from]! + (line + firstNumber - number[from]!) * period + smooth[at - from]!
    }
  }
  start[total] = start[total - 1]! + period
  const jitter = Math.sqrt(Math.max(0, squares / count - sampleIntervalTicks ** 2 / 12))
  return { firstNumber, start, periodTicks: period, jitterTicks: jitter }
}

/** Theil's idea made cheap: median of slopes over half the recording, immune to a phase break in the middle. */
function roughPeriod(number: readonly number[], tick: readonly number[]): number {
  const reach = Math.max(1, number.length >> 1)
  const slopes = new Float64Array(number.length - reach)
  for (let i = 0; i < slopes.length; i++) {
    slopes[i] = (tick[i + reach]! - tick[i]!) / (number[i + reach]! - number[i]!)
  }
  return slopes.sort()[slopes.length >> 1]!
}

function stretchesOf(number: readonly number[], tick: readonly number[], period: number): Stretch[] {
  const list: Stretch[] = []
  let from = 0
  for (let i = 1; i <= number.length; i++) {
    const jumps =
      i === number.length ||
      Math.abs(tick[i]! - tick[i - 1]! - (number[i]! - number[i - 1]!) * period) > period / 100
    if (!jumps) continue
    list.push({ from, to: i })
    from = i
  }
  return list
}

/** Least squares with one slope for all stretches. */
function commonPeriod(
  stretches: readonly Stretch[],
  number: readonly number[],
  tick: readonly number[],
): number {
  let spread = 0
  let product = 0
  for (const { from, to } of stretches) {
    let meanNumber = 0
    let meanTick = 0
    for (let i = from; i < to; i++) {
      meanNumber += (number[i]! - number[from]!) / (to - from)
      meanTick += (tick[i]! - tick[from]!) / (to - from)
    }
    for (let i = from; i < to; i++) {
      const x = number[i]! - number[from]! - meanNumber
      spread += x * x
      product += x * (tick[i]! - tick[from]! - meanTick)
    }
  }
  return spread > 0 ? product / spread : roughPeriod(number, tick)
}

/**
 * Deviations from an even raster without their noise: one value for all where nothing but noise and the beat with the
 * sample grid is in them, else the mean over the neighbours. Averaging neighbours alone would follow a slow beat, which
 * moves what the instrument shows and not what the card sends.
 */
function smoothed(deviation: Float64Array, sampleIntervalTicks: number): Float64Array {
  const count = deviation.length
  const sums = new Float64Array(count + 1)
  let squares = 0
  for (let i = 0; i < count; i++) {
    sums[i + 1] = sums[i]! + deviation[i]!
    squares += deviation[i]! * deviation[i]!
  }
  const mean = sums[count]! / count
  const scatter = Math.sqrt(Math.max(0, squares / count - mean * mean))
  const result = new Float64Array(count)
  let wander = 0
  for (let i = 0; i < count; i++) {
    const reach = Math.min(SMOOTHING_REACH, i, count - 1 - i)
    const size = 2 * reach + 1
    result[i] = (sums[i + reach + 1]! - sums[i - reach]!) / size
    wander = Math.max(wander, Math.abs(result[i]! - mean) - (4 * scatter) / Math.sqrt(size))
  }
  return wander <= BEAT_SAMPLES * sampleIntervalTicks ? result.fill(mean) : result
}
