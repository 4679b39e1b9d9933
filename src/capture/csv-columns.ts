// What each column of the table is: time, sample number, wire, bus, voltage, or nothing of ours.

import { MAX_NAME_CHARACTERS, type Channel } from './capture-header.ts'
import {
  isVoltUnit,
  numberText,
  valueOf,
  voltsPerUnit,
  type CellClass,
  type NumberText,
} from './csv-cell-text.ts'
import { fromFirst, isClock } from './csv-clock.ts'
import type { CsvLayout } from './csv-layout.ts'
import { timeUnitExponent } from './csv-time.ts'

/** Kinds of columns, as numbers for the row reader. */
export const COLUMN_IGNORED = 0
export const COLUMN_TIME = 1
export const COLUMN_WIRE = 2
export const COLUMN_BUS = 3
export const COLUMN_ANALOG = 4

/** One column as the row reader sees it. */
export interface CsvColumn {
  kind: number
  name: string
  /** First of `channels.length` channel numbers; set when all columns are known. */
  firstChannel: number
  channels: Channel[]
  /** Of a bus: 2, 10 or 16. */
  radix: number
  /** Of a voltage: volts per unit of its cells, and whether that unit is volts at all. */
  voltsPerUnit: number
  isVolts: boolean
}

/** A column of the head: its cells and how it is headed. */
export interface HeadColumn {
  index: number
  /** Name without its unit; empty without a header. */
  name: string
  unit: string
  class: CellClass
  /** Cells of the head that are filled. */
  cells: string[]
  numbers: NumberText[]
}

/** No TTL signal is this far from ground, so such numbers are not in volts. */
const NOT_VOLTS = 30
const MAX_BUS_BITS = 256

/** Gathers columns from the rows of the head. */
export function headColumns(layout: CsvLayout): HeadColumn[] {
  return layout.classes.map((kind, index) => {
    // one more than may be, so that what is too long shows
    const heading = splitUnit((layout.names?.[index] ?? '').slice(0, MAX_NAME_CHARACTERS + 1))
    const { cells, numbers } = filledCells(layout.rows, index)
    return {
      index,
      name: heading.name,
      unit: layout.units?.[index] || heading.unit,
      class: kind,
      cells,
      numbers: isClock(numbers) ? fromFirst(numbers) : numbers,
    }
  })
}

/** Every capture of a table begins with this, tens of thousands of times, before anything is compiled: one plain loop. */
function filledCells(rows: CsvLayout['rows'], column: number): { cells: string[]; numbers: NumberText[] } {
  const cells: string[] = []
  const numbers: NumberText[] = []
  for (const row of rows) {
    const cell = row.cells[column]
    if (cell === undefined || cell === '') continue
    cells.push(cell)
    const number = numberText(cell)
    if (number) numbers.push(number)
  }
  return { cells, numbers }
}

/** `Time [s]`, `Time(ms)`, `t/us`, `time_ns`, `second` → name and unit. */
function splitUnit(heading: string): { name: string; unit: string } {
  const bracket = lastBracket(heading)
  if (
    bracket &&
    (timeUnitExponent(bracket.unit) !== undefined ||
      isVoltUnit(bracket.unit) ||
      /^samples?$/i.test(bracket.unit))
  ) {
    return bracket
  }
  const tail = /^(t|.*time.*?)(?:\s*\/\s*|_|\s+)([a-zµμ\ufffd]+)$/i.exec(heading)
  if (tail && timeUnitExponent(tail[2]!) !== undefined) return { name: tail[1]!, unit: tail[2]! }
  return { name: heading, unit: /^(?:\w+)?seconds?$/i.test(heading) ? heading : '' }
}

/** What a bracket at the end of a heading holds, and what stands before it. */
function lastBracket(heading: string): { name: string; unit: string } | undefined {
  if (!/[\])]$/.test(heading)) return undefined
  const inner = heading.slice(0, -1)
  const from = Math.max(inner.lastIndexOf(']'), inner.lastIndexOf(')')) + 1
  const opens = inner.slice(from).search(/[[(]/)
  if (opens < 0) return undefined
  return { name: inner.slice(0, from + opens).trimEnd(), unit: inner.slice(from + opens + 1).trim() }
}

/** Turns a column of values into a wire, a bus or a voltage. */
export function levelColumn(column: HeadColumn, name: string): CsvColumn {
  const range = /^(.*?)\s*[[(<](\d+):(\d+)[\])>]$/.exec(name)
  if (range) {
    const top = Number(range[2])
    const bottom = Number(range[3])
    const width = Math.abs(top - bottom) + 1
    if (
      width <= MAX_BUS_BITS &&
      column.class !== 'word' &&
      column.numbers.every((number) => number.mark === '')
    ) {
      return bus(range[1]!, top, top >= bottom ? -1 : 1, width, radixFor(column.cells, width))
    }
  }
  const known = column.cells.filter((cell) => !/^[xzu-]$|\?/i.test(cell))
  if (column.class === 'hex') return bus(name, ...plainBus(known))
  if (column.class !== 'number') return wire(name)
  const length = known[0]?.length ?? 0
  // `00101`: digits of 0 and 1, all cells alike, at least one with a leading zero
  if (
    length > 1 &&
    known.every((cell) => cell.length === length && /^[01xzu]+$/i.test(cell)) &&
    known.some((cell) => cell.startsWith('0'))
  ) {
    return bus(name, length - 1, -1, length, 2)
  }
  const values = column.numbers.map(valueOf)
  if (values.every((value) => value === 0 || value === 1)) return wire(name)
  const whole = known.every((cell) => /^\d{1,3}$/.test(cell)) && !isVoltUnit(column.unit)
  const highest = Math.max(...values)
  if (whole && highest < 256 && new Set(values).size > 2) {
    const width = Math.ceil(Math.log2(highest + 1))
    return bus(name, width - 1, -1, width, 10)
  }
  return analog(column, name)
}

function wire(name: string): CsvColumn {
  const channels = [{ name, aliases: [], bus: null }]
  return { kind: COLUMN_WIRE, name, firstChannel: 0, channels, radix: 0, voltsPerUnit: 1, isVolts: false }
}

function bus(name: string, topBit: number, step: number, width: number, radix: number): CsvColumn {
  const channels = Array.from({ length: width }, (_, n): Channel => {
    const bit = topBit + step * n
    return { name: `${name}[${bit}]`, aliases: [], bus: { name, bit, widthBits: width } }
  })
  return { kind: COLUMN_BUS, name, firstChannel: 0, channels, radix, voltsPerUnit: 1, isVolts: false }
}

/** Radix of a bus whose width the header states. */
function radixFor(cells: readonly string[], width: number): number {
  if (cells.some((cell) => /^(?:0x|\$|h|\d*'h)|h$/i.test(cell) || /^[0-9]*[a-f][0-9a-f]*$/i.test(cell)))
    return 16
  if (cells.some((cell) => /^(?:0b|\d*'b)/i.test(cell))) return 2
  if (cells.every((cell) => cell.length === width && /^[01xzu]+$/i.test(cell))) return 2
  // Leading zeros fill a hex number to its width; a decimal one is written without them.
  const digits = Math.ceil(width / 4)
  return cells.every((cell) => cell.length === digits) ? 16 : 10
}

/** Bits of a bus whose header states no width: as many as the longest cell has digits for. */
function plainBus(cells: readonly string[]): [topBit: number, step: number, width: number, radix: number] {
  const binary = cells.some((cell) => /^(?:0b|\d*'b)/i.test(cell))
  const digits = cells.map(
    (cell) => cell.replace(/^(?:0x|0b|\$|h|\d*'[hb])|\s?h$/gi, '').replaceAll('_', '').length,
  )
  const width = Math.min(MAX_BUS_BITS, Math.max(1, ...digits) * (binary ? 1 : 4))
  return [width - 1, -1, width, binary ? 2 : 16]
}

function analog(column: HeadColumn, name: string): CsvColumn {
  const cellUnit = column.numbers.find((number) => isVoltUnit(number.unit))?.unit
  const unit = cellUnit ?? column.unit
  const inVolts = isVoltUnit(unit)
  const highest = Math.max(...column.numbers.map(valueOf))
  return {
    ...wire(name),
    kind: COLUMN_ANALOG,
    voltsPerUnit: inVolts ? voltsPerUnit(unit) : 1,
    isVolts: inVolts || highest <= NOT_VOLTS,
  }
}
