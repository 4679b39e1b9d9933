// What a file says of its own time, weighed against its other statements, the grid its edges lie on, and what video can
// be → seconds per tick. Statements are often false; what is used and why is said in a notice.

import type { CaptureHeader } from './capture/capture-header.ts'
import { SignalError } from './errors.ts'
import type { NoticeList } from './notices.ts'
import type { Timebase } from './timebase.ts'
import type { SampleGrid } from './transitions/sample-grid.ts'
import { isUsualRate } from './transitions/usual-rates.ts'

/** Scanline rates that any video has, in hertz: 15.6 kHz to 64 kHz in the catalogue, with room on both sides. */
const PLAUSIBLE_SCANLINE_HZ = { min: 8_000, max: 130_000 }
/** Agreement of two statements about the same clock, relative: printed rates carry at least five digits. */
const AGREES = 1e-4
/** A printed rate may be rounded this far off its time column; beyond, the two speak of different things. */
const SAME_CLOCK = 0.05
/** What a tick can last at all, in seconds, whatever the user says of it: beyond, times and rates leave a float64. */
const TICK_SECONDS = { min: 1e-18, max: 1e6 }
const UNIT_STEPS = [1e-3, 1e-6, 1e-9, 1e-12, 1e3, 1e6, 1e9, 1e12]

/**
 * @param scanlineTicks scanline period in ticks, NaN where no sync was found
 * @param isSync whether more than a regular beat speaks for that period being a scanline
 * @throws {SignalError} TIMEBASE_UNKNOWN where nothing states the time, or what the user states is no time; SYNC_NOT_FOUND where what is stated makes a
 *   beat that is not certainly sync too fast or slow for it
 */
export function settleTimebase(
  header: CaptureHeader,
  grid: SampleGrid,
  scanlineTicks: number,
  isSync: boolean,
  notices: NoticeList,
): Timebase {
  if (header.timebaseFrom === 'option' && header.secondsPerTick !== null) {
    return { secondsPerTick: checkedTick(header.secondsPerTick) }
  }
  const stated = header.secondsPerTick
  const sampled = fromStatedRate(header, grid, notices)
  const secondsPerTick = sampled ?? stated
  if (
    secondsPerTick !== null &&
    (Number.isNaN(scanlineTicks) || isPlausible(1 / (scanlineTicks * secondsPerTick)))
  ) {
    return { secondsPerTick }
  }
  if (secondsPerTick !== null && !isSync) {
    throw new SignalError(
      'SYNC_NOT_FOUND',
      `no channel of this capture behaves like hsync: the most regular one repeats at ` +
        `${(1 / (scanlineTicks * secondsPerTick)).toPrecision(3)} Hz, which is not video`,
      {},
      { hint: 'probe hsync (pin 8 of the 9-pin connector), or name the channel with --map hsync=NAME' },
    )
  }
  return fromPlausibility(header, secondsPerTick, scanlineTicks, notices)
}

/**
 * Whether a period may be a scanline's, as far as the file says what a tick is: a unit that was assumed, and a period
 * that is not known, rule nothing out.
 */
export function couldBeScanline(header: CaptureHeader, periodTicks: number): boolean {
  const { secondsPerTick, timebaseFrom } = header
  if (secondsPerTick === null || timebaseFrom === 'unit-assumed' || Number.isNaN(periodTicks)) return true
  return isPlausible(1 / (periodTicks * secondsPerTick))
}

function checkedTick(secondsPerTick: number): number {
  if (secondsPerTick >= TICK_SECONDS.min && secondsPerTick <= TICK_SECONDS.max) return secondsPerTick
  throw new SignalError(
    'TIMEBASE_UNKNOWN',
    `with the sample rate or unit given, ${printTick(secondsPerTick)} is what the capture counts in`,
    {},
    { hint: 'give the rate of the instrument, such as --rate 24M' },
  )
}

function isPlausible(scanlineHz: number): boolean {
  return scanlineHz >= PLAUSIBLE_SCANLINE_HZ.min && scanlineHz <= PLAUSIBLE_SCANLINE_HZ.max
}

/** Seconds per tick from a rate stated in words, where it corrects or replaces the time column; else null. */
function fromStatedRate(header: CaptureHeader, grid: SampleGrid, notices: NoticeList): number | null {
  const rate = header.statedRateHz
  const step = header.sampleIntervalTicks ?? (grid.coarserThanTick ? grid.intervalTicks : null)
  if (rate === null || !(rate > 0)) return null
  const stated = header.secondsPerTick
  if (stated === null) return step === null ? null : 1 / (rate * step)
  if (step === null) return null
  // edges may all lie on every k-th sample only
  const samples = Math.max(1, Math.round(step * stated * rate))
  const off = (step * stated * rate) / samples - 1
  if (Math.abs(off) < AGREES) return null
  const wholeTicks = Number.isInteger(step) && header.kind === 'csv'
  // how much the column falls short per sample, in its own ticks
  const missingTicks = 1 / (rate * stated) - step / samples
  // a rate that instruments do not offer does not correct a column that steps by one they do
  const isLabelWrong = isUsualRate(step / samples, stated) && !isUsualRate(1 / (rate * stated), stated)
  if (!isLabelWrong && wholeTicks && Math.abs(missingTicks) <= 1.01 && Math.abs(off) < SAME_CLOCK) {
    const corrected = samples / (rate * step)
    notices.add(
      'TIME_STEP_TRUNCATED',
      () =>
        `the time column steps by ${step / samples} where ${printRate(rate)} means ${(1 / (rate * stated)).toFixed(3)}: ` +
        `the stated rate is used (times are ${(off * 100).toFixed(2)} % off in the file)`,
    )
    return corrected
  }
  if (Math.abs(off) < SAME_CLOCK) {
    notices.add(
      'TIME_RATE_DIFFERS',
      () =>
        `the file states ${printRate(rate)}, but its times step by a rate ${(Math.abs(off) * 100).toFixed(3)} % ` +
        `${off > 0 ? 'lower' : 'higher'}; the times are used`,
    )
  }
  return null
}

function fromPlausibility(
  header: CaptureHeader,
  secondsPerTick: number | null,
  scanlineTicks: number,
  notices: NoticeList,
): Timebase {
  const base = secondsPerTick ?? 1
  const countsSamples = header.timebaseFrom === 'none' && header.sampleIntervalTicks === 1
  if (!countsSamples) {
    for (const factor of UNIT_STEPS) {
      if (!isPlausible(1 / (scanlineTicks * base * factor))) continue
      if (secondsPerTick === null) {
        notices.add(
          'TIMEBASE_ASSUMED',
          () => `nothing states the unit of time; ${printTick(factor)} makes it video`,
        )
      } else {
        notices.add(
          'TIME_UNIT_WRONG',
          () =>
            `as stated, scanlines would come at ${(1 / (scanlineTicks * base)).toPrecision(3)} Hz; ` +
            `with times ${factor < 1 ? 'divided' : 'multiplied'} by ${Math.round(factor < 1 ? 1 / factor : factor)} it is video, and that is used`,
        )
      }
      return { secondsPerTick: base * factor }
    }
  }
  throw new SignalError(
    'TIMEBASE_UNKNOWN',
    secondsPerTick === null
      ? 'nothing in this capture says how long a sample lasts'
      : `scanlines at ${(1 / (scanlineTicks * base)).toPrecision(3)} Hz are not video, whatever the unit`,
    {},
    { hint: 'give the sample rate with --rate, or the unit of the time column with --time-unit' },
  )
}

function printRate(hz: number): string {
  return hz >= 1e6 ? `${Number((hz / 1e6).toPrecision(8))} MHz` : `${Number((hz / 1e3).toPrecision(8))} kHz`
}

function printTick(seconds: number): string {
  return `a tick of ${seconds} s`
}
