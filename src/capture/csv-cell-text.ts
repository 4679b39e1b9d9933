// What one cell of the first rows looks like, as text. Only the dialect is found this way; rows of the body
// are read from bytes (csv-level.ts, csv-time.ts).

import { clockText } from './csv-clock.ts'
import { timeUnitExponent } from './csv-time.ts'

/** `unknown` cells (X, Z, …) fit any column; `empty` ones too. */
export type CellClass = 'empty' | 'number' | 'word' | 'unknown' | 'hex' | 'text'

/** A number as written, before anything is rounded. */
export interface NumberText {
  readonly negative: boolean
  readonly integer: string
  readonly fraction: string
  readonly exponent: number
  /** The decimal mark, or empty where there is none. */
  readonly mark: string
  /** What follows the number: `ms`, `V`, or nothing. */
  readonly unit: string
  /** Set for a time of day, whose number is seconds. */
  readonly clock?: true
}

// Digit groups by spaces are common beside a unit: `4.647 800 ms`.
const NUMBER =
  /^([+-]?)(\d{1,3}(?: \d{3})+|\d*)(?:([.,])(\d{3}(?: \d{1,3})+|\d*))?(?:[eE]([+-]?\d{1,3}))?\s*([a-zA-Zµμ\ufffd]*)$/
const VOLT_UNIT = /^(?:[munkµμ\ufffd]?v|volts?|millivolts?)$/i
// IEEE 1164-1993 writes U X 0 1 Z W L H and `-`; L and H are weak low and high.
const UNKNOWN = /^[xzuw?-]$/i
const WORD = /^(?:h|l|high|low|hi|lo|true|false|on|off|yes|no)$/i
const CONTROL = /\p{Cc}|\p{Cf}|\p{Zl}|\p{Zp}/gu
const HEX =
  /^(?:(?:0x|\$|h(?=.*\d)|\d*'h)[0-9a-fxz_]+|(?:0b|\d*'b)[01xz_]+|[0-9a-f]+ ?h|(?=.*[a-f])[0-9a-f]+)$/i

// Nearly all cells of the first rows are one of these, and a pattern takes a hundred times as long.
const LOW_TEXT: NumberText = { negative: false, integer: '0', fraction: '', exponent: 0, mark: '', unit: '' }
const HIGH_TEXT: NumberText = { ...LOW_TEXT, integer: '1' }
/** And nearly all others one of these; groups of digits need the long pattern. */
const PLAIN_NUMBER = /^(\d+)(?:\.(\d*))?$/

/** Reads a cell as a number with an optional unit of time or voltage, or as a time of day. */
export function numberText(cell: string): NumberText | undefined {
  if (cell === '0') return LOW_TEXT
  if (cell === '1') return HIGH_TEXT
  const plain = PLAIN_NUMBER.exec(cell)
  if (plain) {
    const [, integer = '', fraction] = plain
    return { ...LOW_TEXT, integer, fraction: fraction ?? '', mark: fraction === undefined ? '' : '.' }
  }
  const found = NUMBER.exec(cell)
  if (!found) return clockText(cell)
  const [, sign, integer = '', mark = '', fraction = '', exponent = '0', unit = ''] = found
  if (integer === '' && fraction === '') return undefined
  if (unit !== '' && !isVoltUnit(unit) && timeUnitExponent(unit) === undefined) return undefined
  return {
    negative: sign === '-',
    integer: integer.replaceAll(' ', ''),
    fraction: fraction.replaceAll(' ', ''),
    exponent: Number(exponent),
    mark,
    unit,
  }
}

/** The number's value in its own unit; for comparing, never for ticks. */
export function valueOf(number: NumberText): number {
  if (number === LOW_TEXT) return 0
  if (number === HIGH_TEXT) return 1
  const size = Number(`${number.integer || '0'}.${number.fraction || '0'}e${number.exponent}`)
  return number.negative ? -size : size
}

export function isVoltUnit(unit: string): boolean {
  return VOLT_UNIT.test(unit)
}

/** Volts in one of the unit, for the units that {@link isVoltUnit} accepts. */
export function voltsPerUnit(unit: string): number {
  if (/^(?:mv|milli)/i.test(unit)) return 1e-3
  if (/^[uµμ\ufffd]v/i.test(unit)) return 1e-6
  if (/^nv/i.test(unit)) return 1e-9
  return /^kv/i.test(unit) ? 1e3 : 1
}

export function classOf(cell: string): CellClass {
  if (cell === '') return 'empty'
  if (numberText(cell)) return 'number'
  if (UNKNOWN.test(cell) || /^n\/?an?$/i.test(cell)) return 'unknown'
  if (WORD.test(cell)) return 'word'
  return HEX.test(cell) ? 'hex' : 'text'
}

/** A cell for use in a message: no control characters, not long. */
export function shown(cell: string): string {
  const clean = cell.replace(CONTROL, '\ufffd')
  return `"${clean.length > 40 ? `${clean.slice(0, 37)}...` : clean}"`
}
