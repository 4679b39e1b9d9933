// What a tick of the capture is worth: digits of the time column, its unit, and the rates that are stated.

import type { ReaderOptions, TimebaseOrigin, TimeUnit } from './capture-header.ts'
import { valueOf, type NumberText } from './csv-cell-text.ts'
import { isClock } from './csv-clock.ts'
import type { HeadColumn } from './csv-columns.ts'
import type { PreambleStatements } from './csv-preamble.ts'
import { MAX_TICK, TimeCells, timeUnitExponent, type TimeRule } from './csv-time.ts'

export interface CsvTimebase {
  rule: TimeRule
  secondsPerTick: number | null
  timebaseFrom: TimebaseOrigin
  /** Nothing states the unit, and seconds were taken. */
  unitAssumed: boolean
}

const OPTION_EXPONENTS: Readonly<Record<Exclude<TimeUnit, 'samples'>, number>> = {
  s: 0,
  ms: -3,
  us: -6,
  ns: -9,
  ps: -12,
  fs: -15,
}
/** Ticks are at least this fine where time is written with decimals: later rows may have more than the first. */
const NANOSECOND = 9
/** And no finer than this. */
const FEMTOSECOND = 15
/** More significant digits than a float64 holds are the noise of its printing. */
const HONEST_DIGITS = 15
/** All edges of a capture may lie two, three, … samples apart, when the signal's own clock is slow. */
const MOST_SAMPLES_APART = 12
/** A file is taken to reach this many times further than its head. */
const FURTHER = 4096

/** The timebase of a file with a time column. */
export function columnTimebase(
  column: HeadColumn,
  samples: boolean,
  decimal: number,
  statements: PreambleStatements,
  options: Pick<ReaderOptions, 'timeUnit' | 'sampleRateHz'>,
): CsvTimebase {
  const numbers = column.numbers
  const cellUnits = new Set(
    numbers
      .map((number) => number.unit)
      .filter((unit) => unit !== '' && timeUnitExponent(unit) !== undefined),
  )
  const rateHz = options.sampleRateHz ?? statements.rateHz
  const marked = numbers.some((number) => number.mark !== '' || number.exponent !== 0)

  // The user's word replaces one unit, but cannot replace units that change from cell to cell.
  const clock = isClock(numbers)
  if (cellUnits.size > 0 && (options.timeUnit === undefined || cellUnits.size > 1 || clock)) {
    const own = (number: NumberText) => timeUnitExponent(number.unit) ?? 0
    const decimals = decimalsOf(numbers, own, 0, true)
    const rule = { decimal, decimals, tickExponent: -decimals, clock }
    return { rule, secondsPerTick: inverse(decimals), timebaseFrom: 'unit-in-cells', unitAssumed: false }
  }
  const plain = (unitExponent: number): TimeRule => ({
    decimal,
    decimals: decimalsOf(numbers, () => 0, unitExponent, marked),
    tickExponent: null,
  })
  const seconds = (exponent: number, timebaseFrom: TimebaseOrigin, unitAssumed = false): CsvTimebase => {
    const rule = plain(exponent)
    return { rule, secondsPerTick: inverse(rule.decimals - exponent), timebaseFrom, unitAssumed }
  }
  if (options.timeUnit !== undefined && options.timeUnit !== 'samples') {
    return seconds(OPTION_EXPONENTS[options.timeUnit], 'option')
  }
  if (samples || options.timeUnit === 'samples') {
    const rule = {
      decimal,
      decimals: marked ? decimalsOf(numbers, () => 0, -NANOSECOND, true) : 0,
      tickExponent: null,
    }
    const byOption = options.timeUnit === 'samples' || options.sampleRateHz !== undefined
    return {
      rule,
      secondsPerTick: rateHz === null ? null : 1 / (rateHz * 10 ** rule.decimals),
      timebaseFrom: rateHz === null ? 'none' : byOption ? 'option' : 'sample-rate',
      unitAssumed: false,
    }
  }
  const headed = timeUnitExponent(column.unit) ?? statements.timeExponent
  if (headed !== null) return seconds(headed, 'unit-in-header')
  if (marked) return seconds(0, 'unit-assumed', true)
  const fitting = rateHz === null ? undefined : unitByRate(numbers.map(valueOf), rateHz)
  if (fitting !== undefined) return seconds(fitting, 'sample-rate')
  return { rule: plain(0), secondsPerTick: null, timebaseFrom: 'none', unitAssumed: false }
}

/** 10^-decimals, as exact as a float64 can say it. */
function inverse(decimals: number): number {
  return decimals >= 0 ? 1 / 10 ** decimals : 10 ** -decimals
}

/** Decimals that the ticks must keep, in the column's unit (or in seconds where cells carry units). */
function decimalsOf(
  numbers: readonly NumberText[],
  exponentOf: (number: NumberText) => number,
  unitExponent: number,
  marked: boolean,
): number {
  let decimals = marked ? Math.max(0, NANOSECOND + unitExponent) : 0
  const floor = decimals
  let furthest = 0
  for (const number of numbers) {
    // only more digits than any number had so far can be more significant ones
    if (Math.max(0, number.fraction.length - number.exponent) - exponentOf(number) > decimals)
      decimals = Math.max(decimals, significantDecimals(number) - exponentOf(number))
    furthest = Math.max(furthest, Math.abs(valueOf(number)) * 10 ** exponentOf(number))
  }
  decimals = Math.min(decimals, Math.max(0, FEMTOSECOND + unitExponent))
  const fits = (reach: number) => reach * 10 ** decimals <= MAX_TICK
  while (decimals > floor && !fits(Math.max(furthest * FURTHER, 10 ** -unitExponent))) decimals--
  while (decimals > 0 && !fits(furthest * 4)) decimals--
  return decimals
}

/** Decimals up to the last digit that is not zero, noise beyond a float64's digits left out. */
export function significantDecimals(number: NumberText): number {
  let digits = (number.integer + number.fraction).replace(/^0+/, '')
  let decimals = number.fraction.length - number.exponent
  if (digits.length > HONEST_DIGITS) {
    decimals -= digits.length - HONEST_DIGITS
    digits = String(Math.round(Number(`${digits.slice(0, HONEST_DIGITS)}.${digits.slice(HONEST_DIGITS)}`)))
  }
  const trailing = /0*$/.exec(digits)![0].length
  return digits.length === trailing ? 0 : Math.max(0, decimals - trailing)
}

/**
 * Power of ten of the unit in which whole times step by the stated sample interval, within 5 %.
 *
 * Two cases: all steps are multiples of one (possibly truncated) interval, or every time was rounded by itself.
 */
function unitByRate(times: readonly number[], rateHz: number): number | undefined {
  const steps: number[] = []
  for (let n = 1; n < times.length; n++) if (times[n]! > times[n - 1]!) steps.push(times[n]! - times[n - 1]!)
  if (steps.length === 0) return undefined
  const divisor = steps.reduce(greatestCommonDivisor)
  for (const exponent of [0, -3, -6, -9, -12]) {
    const interval = 10 ** -exponent / rateHz
    if (Math.abs(divisor / interval - 1) <= 0.05) return exponent
  }
  for (const exponent of [0, -3, -6, -9, -12]) {
    const interval = 10 ** -exponent / rateHz
    // Below four ticks an interval explains any whole number.
    if (interval < 4) continue
    const several = Math.round(divisor / interval)
    if (several >= 2 && several <= MOST_SAMPLES_APART && Math.abs(divisor / interval / several - 1) <= 0.05) {
      return exponent
    }
    const near = steps.filter((step) => {
      const count = Math.round(step / interval)
      return count > 0 && Math.abs(step - count * interval) <= 1 + 0.001 * step
    }).length
    if (near >= steps.length * 0.95) return exponent
  }
  return undefined
}

function greatestCommonDivisor(a: number, b: number): number {
  while (b > 0) [a, b] = [b, a % b]
  return a
}

/** Ticks of the head's time cells; cells that are no time are left out. */
export function headTicks(cells: readonly string[], rule: TimeRule): number[] {
  const encoder = new TextEncoder()
  const reader = new TimeCells(rule)
  // memory for each cell of thousands would cost more than reading it
  let bytes = new Uint8Array(64)
  const ticks: number[] = []
  for (const cell of cells) {
    // a character of UTF-16 takes three bytes of UTF-8 at most
    if (3 * cell.length > bytes.length) bytes = new Uint8Array(6 * cell.length)
    const tick = reader.ticks(bytes, 0, encoder.encodeInto(cell, bytes).written)
    if (Number.isFinite(tick)) ticks.push(tick)
  }
  return ticks
}

/**
 * Sample interval, in ticks, where the rows prove it: a steady step, and rows that repeat the levels before them
 * (a list of changes has none) or voltages.
 *
 * @param repeats some row has the same levels as the one above it, or the columns are voltages
 */
export function sampleInterval(
  ticks: readonly number[],
  column: HeadColumn,
  rule: TimeRule,
  repeats: boolean,
): number | null {
  if (ticks.length < 4 || !repeats) return null
  let shortest = Infinity
  let longest = 0
  for (let n = 1; n < ticks.length; n++) {
    shortest = Math.min(shortest, ticks[n]! - ticks[n - 1]!)
    longest = Math.max(longest, ticks[n]! - ticks[n - 1]!)
  }
  // Steps may differ by one in the last digit written.
  let written = column.numbers.length < column.cells.length ? 0 : -Infinity
  for (const { fraction, exponent } of column.numbers) written = Math.max(written, fraction.length - exponent)
  const digit = rule.tickExponent === null ? Math.max(1, 10 ** (rule.decimals - written)) : 1
  if (shortest <= 0 || longest - shortest > digit) return null
  return (ticks.at(-1)! - ticks[0]!) / (ticks.length - 1)
}
