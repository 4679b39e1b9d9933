// Times of day, with or without a date, as a time column: `2031-05-06T12:34:56.123456`, `12:34:56.123456`, `34:56.123456`. They
// count from the first row on; a date tells no more than that midnight has passed, which the time of day tells as well.

import type { NumberText } from './csv-cell-text.ts'

// ISO 8601-1:2019, 5.4.2 (date and time of day), and dates in other orders, whose parts are not looked at.
const CLOCK =
  /^(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}(?:T| +))?(?:(\d{1,2}):)?(\d{1,2}):(\d{2})(?:[.,](\d+))?(?:Z|[+-]\d{2}(?::?\d{2})?)?$/
const DAY_SECONDS = 86_400
const HOUR_SECONDS = 3600
/** Fewer decimals cannot hold scanlines, which last 15 to 64 microseconds, and their pulses. */
export const MIN_CLOCK_DECIMALS = 6

/** The time of day as a number of seconds; undefined for any other cell. */
export function clockText(cell: string): NumberText | undefined {
  const found = CLOCK.exec(cell)
  if (!found) return undefined
  const [, hours = '0', minutes, seconds, fraction = ''] = found
  const integer = String(Number(hours) * HOUR_SECONDS + Number(minutes) * 60 + Number(seconds))
  return { negative: false, integer, fraction, exponent: 0, mark: '.', unit: 's', clock: true }
}

/** Whether a column of the head holds times of day. */
export function isClock(numbers: readonly NumberText[]): boolean {
  return numbers.length > 0 && numbers.every((number) => number.clock === true)
}

/** The same times counted from the first. */
export function fromFirst(numbers: readonly NumberText[]): NumberText[] {
  const counter = new ClockCounter()
  return numbers.map((number) => ({ ...number, integer: String(counter.seconds(Number(number.integer))) }))
}

/** Whole seconds from those of the first time on, midnight and the full hour passed over. */
export class ClockCounter {
  #first = NaN
  #last = NaN
  #added = 0

  /** @param seconds of the day, or of the hour where no hours are given */
  seconds(seconds: number): number {
    if (Number.isNaN(this.#first)) this.#first = seconds
    const drop = this.#last - seconds
    if (drop > DAY_SECONDS / 2) this.#added += DAY_SECONDS
    // minutes alone start again with the hour
    else if (drop > HOUR_SECONDS / 2 && this.#last < HOUR_SECONDS) this.#added += HOUR_SECONDS
    this.#last = seconds
    return seconds + this.#added - this.#first
  }
}
