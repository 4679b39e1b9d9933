// Which column is time: by name, by unit, or by behaviour, in this order.

import { numberText, valueOf } from './csv-cell-text.ts'
import type { HeadColumn } from './csv-columns.ts'
import { timeUnitExponent } from './csv-time.ts'

const TIME_NAME =
  /(?:^|[^a-z])times?(?:$|[^a-z]|stamps?)|^x-axis$|^(?:micro|milli|nano)?seconds?$|^zeit\b|^temps$|^tiempo$/i
/** Names that mean time only when the values could not be levels. */
const SHORT_TIME_NAME = /^[tx]$/i
const INDEX_NAME =
  /^(?:#|n|no\.?|nr\.?|idx|index|point|row|samples?|sample ?(?:#|no\.?|nr\.?|number|index|point)s?)$/i

export interface TimeColumn {
  index: number
  /** The values count samples. */
  samples: boolean
}

/** Is the column headed as time or measured in a unit of time? */
export function namesTime(column: HeadColumn): boolean {
  return TIME_NAME.test(column.name) || timeUnitExponent(column.unit) !== undefined
}

export function namesIndex(column: HeadColumn): boolean {
  return INDEX_NAME.test(column.name) && column.numbers.every((number) => number.mark === '')
}

/** Finds the time column; undefined when the rows are counted instead. */
export function findTimeColumn(columns: readonly HeadColumn[], headed: boolean): TimeColumn | undefined {
  const numeric = columns.filter((column) => column.class === 'number')
  const real = (column: HeadColumn) => ({ index: column.index, samples: /^samples?$/i.test(column.unit) })
  const named = numeric.filter(
    (column) => TIME_NAME.test(column.name) || (SHORT_TIME_NAME.test(column.name) && !onlyBits(column)),
  )
  const byName = named.find(isRising) ?? named[0]
  if (byName) return real(byName)
  const byUnit = numeric.find(
    (column) =>
      timeUnitExponent(column.unit) !== undefined ||
      column.numbers.some((number) => timeUnitExponent(number.unit) !== undefined),
  )
  if (byUnit) return real(byUnit)

  const rising = numeric.filter((column) => !onlyBits(column) && !namesIndex(column) && isRising(column))
  // A counter without a name is the row's number.
  const counter = rising.find((column) => column.name === '' && countsByOne(column))
  const outer = rising.filter((column) => column.index === 0 || column.index === columns.length - 1)
  const steady = outer.find(isSteady) ?? rising.find(isSteady)
  const byBehaviour = steady ?? (headed ? outer.find((column) => column.index === 0) : outer[0])
  if (byBehaviour && byBehaviour !== counter && columns.length > 1) return real(byBehaviour)
  const index =
    counter ?? numeric.find((column) => namesIndex(column) && isRising(column) && columns.length > 1)
  return index && columns.length > 1 ? { index: index.index, samples: true } : undefined
}

function onlyBits(column: HeadColumn): boolean {
  return column.cells.every((cell) => /^[01xzu?-]$/i.test(cell))
}

function values(column: HeadColumn): number[] {
  return column.numbers.map((number) => {
    const exponent = number.unit === '' ? 0 : (timeUnitExponent(number.unit) ?? 0)
    return valueOf(number) * 10 ** exponent
  })
}

/** Never falls, and rises; a single value counts where it could not be a level. */
function isRising(column: HeadColumn): boolean {
  const all = values(column)
  if (all.length < column.cells.length) return false
  if (all.length === 1) return numberText(column.cells[0]!)?.mark !== ''
  return all.every((value, n) => n === 0 || value >= all[n - 1]!) && all.at(-1)! > all[0]!
}

/** Rises by the same step in all rows, within the rounding of its digits. */
function isSteady(column: HeadColumn): boolean {
  const all = values(column)
  if (all.length < 4) return false
  const step = (all.at(-1)! - all[0]!) / (all.length - 1)
  return step > 0 && all.every((value, n) => Math.abs(value - all[0]! - n * step) < step * 0.75)
}

function countsByOne(column: HeadColumn): boolean {
  const all = values(column)
  return all.length > 1 && all.every((value, n) => n === 0 || value === all[n - 1]! + 1)
}
