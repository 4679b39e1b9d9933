// The time cell of a row: bytes to whole ticks, digit by digit. A float would already be wrong in the last digits
// of `0.123456789012345`, and a rounded time is an edge in the wrong place.

import { clockText, ClockCounter } from './csv-clock.ts'

/** How the time cells of one capture are read. */
export interface TimeRule {
  /** Decimal mark, as a byte. */
  readonly decimal: number
  /** Ticks are 10^-decimals of the unit. */
  readonly decimals: number
  /** Power of ten of a tick in seconds, where cells name their own unit; null = a unit in a cell is passed over. */
  readonly tickExponent: number | null
  /** Cells are times of day; ticks count from the first of them. */
  readonly clock?: boolean
}

/** Largest tick: whole numbers are exact in a float64 up to here. */
export const MAX_TICK: number = Number.MAX_SAFE_INTEGER

const ZERO = 0x30
const SPACE = 0x20
const PLUS = 0x2b
const MINUS = 0x2d
// Beyond this no time can be meant; it also bounds the loops that scale by powers of ten.
const MAX_EXPONENT = 400
/** A date, a time of day with all digits that a tick holds, a time zone. */
const MAX_CLOCK_BYTES = 64

const UNIT_EXPONENTS: readonly (readonly [RegExp, number])[] = [
  [/^(?:s|secs?|seconds?)$/i, 0],
  [/^(?:ms|msecs?|milliseconds?)$/i, -3],
  // A byte B5 from an 8-bit code page arrives as U+FFFD.
  [/^(?:[uµμ\ufffd]s|[uµμ\ufffd]secs?|microseconds?)$/i, -6],
  [/^(?:ns|nsecs?|nanoseconds?)$/i, -9],
  [/^(?:ps|psecs?|picoseconds?)$/i, -12],
  [/^(?:fs|femtoseconds?)$/i, -15],
]

/** Power of ten in seconds of a unit of time as people write it; undefined for any other word. */
export function timeUnitExponent(word: string): number | undefined {
  // most numbers stand alone
  return word === '' ? undefined : UNIT_EXPONENTS.find(([pattern]) => pattern.test(word))?.[1]
}

/** Unit of time after a number in a cell, from its bytes; undefined for anything else. */
function unitInCell(bytes: Uint8Array, from: number, to: number): number | undefined {
  // Two letters are all but every case, and a row is no place to build a string.
  const first = bytes[from]! | SPACE
  if (to - from === 1) return first === 0x73 ? 0 : undefined
  if (to - from === 2 && (bytes[from + 1]! | SPACE) === 0x73) {
    if (first === 0x6e) return -9
    if (first === 0x75) return -6
    if (first === 0x6d) return -3
    if (first === 0x70) return -12
    if (first === 0x66) return -15
  }
  return to - from > 16 ? undefined : timeUnitExponent(new TextDecoder().decode(bytes.subarray(from, to)))
}

function isDigit(byte: number): boolean {
  return byte >= ZERO && byte <= 0x39
}

/** Reads time cells; keeps whether the last one had more digits than a tick holds. */
export class TimeCells {
  /** Set by {@link ticks}: digits other than zero were rounded away. */
  rounded = false
  readonly #rule: TimeRule
  readonly #clock = new ClockCounter()

  constructor(rule: TimeRule) {
    this.#rule = rule
  }

  /**
   * @param bytes holds the cell in [from, to), without spaces around it
   * @returns whole ticks, half rounded away from zero; NaN when this is no number, ±Infinity beyond MAX_TICK
   */
  ticks(bytes: Uint8Array, from: number, to: number): number {
    this.rounded = false
    if (this.#rule.clock === true) return this.#clockTicks(bytes, from, to)
    const decimal = this.#rule.decimal
    let at = from
    const negative = bytes[at] === MINUS
    if (negative || bytes[at] === PLUS) at++

    // First pass: where the digits end, how many stand before the mark, exponent and unit.
    const digitsFrom = at
    let whole = 0
    let digits = 0
    let marked = false
    for (; at < to; at++) {
      const byte = bytes[at]!
      if (isDigit(byte)) {
        digits++
        if (!marked) whole++
      } else if (byte === decimal && !marked) marked = true
      // A space is part of the number only between two digits: `4.647 800 ms`.
      else if (byte !== SPACE || digits === 0 || at + 1 >= to || !isDigit(bytes[at + 1]!)) break
    }
    if (digits === 0) return NaN
    const digitsTo = at
    let exponent = 0
    if (at < to && (bytes[at]! | SPACE) === 0x65) {
      at++
      const down = at < to && bytes[at] === MINUS
      if (down || (at < to && bytes[at] === PLUS)) at++
      const exponentFrom = at
      for (; at < to && isDigit(bytes[at]!); at++) {
        exponent = exponent * 10 + (bytes[at]! - ZERO)
        if (exponent > MAX_EXPONENT) exponent = MAX_EXPONENT
      }
      if (at === exponentFrom) return NaN
      if (down) exponent = -exponent
    }
    let scale = this.#rule.decimals
    while (at < to && bytes[at] === SPACE) at++
    if (at < to) {
      const unit = unitInCell(bytes, at, to)
      if (unit === undefined) return NaN
      if (this.#rule.tickExponent !== null) scale = unit - this.#rule.tickExponent
    }
    return this.#accumulate(bytes, digitsFrom, digitsTo, whole - 1 + exponent + scale, negative)
  }

  #clockTicks(bytes: Uint8Array, from: number, to: number): number {
    const time =
      to - from > MAX_CLOCK_BYTES ? undefined : clockText(new TextDecoder().decode(bytes.subarray(from, to)))
    if (time === undefined) return NaN
    const { decimals } = this.#rule
    const seconds = this.#clock.seconds(Number(time.integer))
    const kept = time.fraction.slice(0, decimals).padEnd(decimals, '0')
    const rest = time.fraction.slice(decimals)
    this.rounded = /[1-9]/.test(rest)
    const ticks = seconds * 10 ** decimals + Number(kept) + (rest >= '5' ? 1 : 0)
    return Math.abs(ticks) > MAX_TICK ? Infinity : ticks
  }

  /** Second pass: `weight` is the power of ten, in ticks, of the first digit. */
  #accumulate(bytes: Uint8Array, from: number, to: number, first: number, negative: boolean): number {
    let weight = first
    let ticks = 0
    let up = 0
    for (let at = from; at < to; at++) {
      const digit = bytes[at]! - ZERO
      if (digit < 0 || digit > 9) continue
      if (weight >= 0) {
        ticks = ticks * 10 + digit
        if (ticks > MAX_TICK) return negative ? -Infinity : Infinity
      } else if (digit !== 0) {
        this.rounded = true
        if (weight === -1 && digit >= 5) up = 1
      }
      weight--
    }
    if (ticks === 0 && up === 0) return 0
    for (; weight >= 0 && ticks !== 0; weight--) {
      ticks *= 10
      if (ticks > MAX_TICK) return negative ? -Infinity : Infinity
    }
    ticks += up
    return negative ? 0 - ticks : ticks
  }
}
