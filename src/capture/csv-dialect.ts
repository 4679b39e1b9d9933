// First bytes of a table → how to read the rest: delimiter, columns, time, and what the capture says of itself.

import type { CaptureHeader, ReaderOptions, TimebaseOrigin } from './capture-header.ts'
import { shown } from './csv-cell-text.ts'
import { channelColumns } from './csv-channel-columns.ts'
import { MIN_CLOCK_DECIMALS } from './csv-clock.ts'
import { COLUMN_ANALOG, COLUMN_IGNORED, headColumns, type CsvColumn, type HeadColumn } from './csv-columns.ts'
import { findLayout, headRows, MAX_COLUMNS, RUN_OF_SPACES, type CsvLayout } from './csv-layout.ts'
import { refuseOtherTables } from './csv-other-tables.ts'
import { preambleStatements } from './csv-preamble.ts'
import { findTimeColumn, namesIndex, namesTime, type TimeColumn } from './csv-time-column.ts'
import { columnTimebase, headTicks, sampleInterval } from './csv-timebase.ts'
import { MAX_TICK, type TimeRule } from './csv-time.ts'
import { MalformedCaptureError, UnsupportedCaptureError } from '../errors.ts'

/** Bytes of a capture that the dialect is found from. */
export const HEAD_BYTES: number = 64 * 1024
/** Longest row, in bytes: 512 channels with room for words. */
export const MAX_ROW_BYTES: number = 32 * 1024

export interface CsvDialect {
  /** One byte between cells; a space stands for any run of spaces and tabs. */
  delimiter: number
  /** Last byte of a row: LF, or CR in files that have no LF. A CR before LF is passed over. */
  newline: number
  decimal: number
  /** Cells are quoted, at least some. */
  quoted: boolean
  /** Offset of the first row of values in the unpacked text. */
  bodyAtByte: number
  columns: readonly CsvColumn[]
  /** Undefined where rows are samples. */
  time: TimeRule | undefined
  timeColumn: number
  /** Ticks from row to row where rows are samples. */
  ticksPerRow: number
  /** Voltages at even steps: their edges are placed between rows. Else a row states a change at its own time. */
  placesEdges: boolean
  /** Time is written with a decimal comma between commas: two cells are one. */
  timeInTwoCells: boolean
  /** A short row means that its last channels have not changed. */
  shortRows: boolean
  header: CaptureHeader
}

/** Of voltages: a thousandth of a sample is below what noise leaves of an edge's place. */
const TICKS_PER_SAMPLE = 1000
/** Samples that must have exact ticks: more than oscilloscopes have memory for. */
const MOST_SAMPLES = 1e9
const COMMA = 0x2c
const POINT = 0x2e

/**
 * Finds the dialect; survivable oddities go to `options.notices`.
 *
 * @param head first bytes of the unpacked text, all of them when `whole`
 * @throws {MalformedCaptureError} CSV_NO_ROWS, CSV_ROW_TOO_LONG, CSV_TIME_MISSING, CSV_TIME_NOT_NUMBER,
 *   CSV_TIME_STANDS_STILL, CSV_TIME_TOO_COARSE
 * @throws {UnsupportedCaptureError} CSV_NOT_A_WAVEFORM, CSV_NO_CHANNELS, CSV_TOO_MANY_CHANNELS
 */
export function findDialect(
  head: Uint8Array,
  whole: boolean,
  options: Pick<ReaderOptions, 'notices' | 'timeUnit' | 'sampleRateHz'>,
): CsvDialect {
  const from = head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf ? 3 : 0
  const lines = headRows(head, from, whole)
  if (!whole && lines.rows.length === 0) {
    throw new MalformedCaptureError(
      'CSV_ROW_TOO_LONG',
      `no text line ends in the first ${head.length} bytes`,
      { byte: from },
      { hint: 'export with one row per text line' },
    )
  }
  const layout = findLayout(lines)
  const first = layout?.rows[0]
  if (!layout || !first) {
    throw new MalformedCaptureError(
      'CSV_NO_ROWS',
      'no row of levels was found below the header or comments',
      { byte: lines.rows.at(-1)?.byte ?? from },
      { hint: 'export the samples themselves, not only the settings' },
    )
  }
  if (layout.columnCount > MAX_COLUMNS) {
    throw new UnsupportedCaptureError(
      'CSV_TOO_MANY_CHANNELS',
      `a row has ${layout.columnCount} cells; at most ${MAX_COLUMNS} are read`,
      { byte: first.byte },
      { hint: 'export only the channels that carry video and sync' },
    )
  }

  const timeInTwoCells = joinTimeCells(layout)
  const found = headColumns(layout)
  const time = findTimeColumn(found, layout.names !== undefined)
  const levels = found.filter(
    (column) =>
      column.index !== time?.index &&
      column.class !== 'empty' &&
      column.class !== 'text' &&
      !namesIndex(column) &&
      !(namesTime(column) && column.class === 'number' && time !== undefined && !time.samples),
  )
  refuseOtherTables(found, levels, layout, time)

  const statements = preambleStatements([
    ...layout.preamble.map((row) => row.text),
    ...layout.rows.slice(0, 100).map((row) => row.text),
  ])
  const statedRateHz = options.sampleRateHz ?? statements.rateHz
  const mayHaveCommas = layout.delimiter !== ',' || layout.quoted || timeInTwoCells
  const hasCommas = mayHaveCommas && layout.rows.some((row) => row.cells.some(hasDecimalComma))
  const columns = channelColumns(found, levels, layout, time, options.notices)
  const dialect: CsvDialect = {
    delimiter: layout.delimiter.charCodeAt(0),
    newline: layout.newline,
    decimal: hasCommas ? COMMA : POINT,
    quoted: layout.quoted && layout.delimiter !== RUN_OF_SPACES,
    bodyAtByte: first.byte,
    columns,
    time: undefined,
    timeColumn: -1,
    ticksPerRow: 1,
    placesEdges: false,
    timeInTwoCells,
    shortRows: layout.shortRows,
    header: {
      kind: 'csv',
      channels: columns.flatMap((column) => column.channels),
      secondsPerTick: statedRateHz === null ? null : 1 / statedRateHz,
      timebaseFrom: rowOrigin(statedRateHz, options.sampleRateHz),
      statedRateHz,
      sampleIntervalTicks: 1,
    },
  }
  const timed = time ? withTime(dialect, layout, found[time.index]!, time, statements, options) : dialect
  const isSampled = timed.header.sampleIntervalTicks !== null
  return isSampled && columns.some((column) => column.kind === COLUMN_ANALOG)
    ? withFinerTicks(timed, layout)
    : timed
}

/**
 * Voltages cross their threshold between samples: ticks are made so fine that rounding to them is far below what can be
 * told there, as far as their numbers stay exact.
 */
function withFinerTicks(dialect: CsvDialect, layout: CsvLayout): CsvDialect {
  const { header, time } = dialect
  const interval = header.sampleIntervalTicks ?? 1
  let digits = 0
  const cells = time ? layout.rows.map((row) => row.cells[dialect.timeColumn] ?? '') : []
  const furthest = (time ? headTicks(cells, time) : []).reduce(
    (most, tick) => Math.max(most, Math.abs(tick)),
    0,
  )
  const fits = (more: number): boolean => (furthest + MOST_SAMPLES * interval) * 10 ** more <= MAX_TICK
  while (interval * 10 ** digits < TICKS_PER_SAMPLE && fits(digits + 1)) digits++
  const factor = 10 ** digits
  const finer: CsvDialect = {
    ...dialect,
    placesEdges: true,
    ticksPerRow: factor,
    header: {
      ...header,
      // a quotient such as 1e-9 / 100 is off in its last digit
      secondsPerTick:
        header.secondsPerTick === null ? null : Number((header.secondsPerTick / factor).toPrecision(15)),
      sampleIntervalTicks: interval * factor,
      placedChannels: dialect.columns
        .filter(({ kind }) => kind === COLUMN_ANALOG)
        .map(({ firstChannel }) => firstChannel),
    },
  }
  if (!time) return finer
  const tickExponent = time.tickExponent === null ? null : time.tickExponent - digits
  return { ...finer, time: { ...time, decimals: time.decimals + digits, tickExponent } }
}

function rowOrigin(statedRateHz: number | null, optionHz: number | undefined): TimebaseOrigin {
  if (optionHz !== undefined) return 'option'
  return statedRateHz === null ? 'none' : 'sample-rate'
}

function hasDecimalComma(cell: string): boolean {
  return cell.includes(',') && /^[+-]?\d*,\d/.test(cell)
}

/** `0,001234,1,0` under `Time,HSYNC,VSYNC`: the comma in the time is a decimal mark. */
function joinTimeCells(layout: CsvLayout): boolean {
  const names = layout.names
  if (
    layout.delimiter !== ',' ||
    !names ||
    names.length !== layout.columnCount - 1 ||
    !/^t(?:ime)?\b/i.test(names[0]!)
  ) {
    return false
  }
  const full = layout.rows.filter((row) => row.cells.length === layout.columnCount)
  if (
    !full.every(
      (row) => row.cells.at(-1) !== '' && /^[+-]?\d+$/.test(row.cells[0]!) && /^\d+$/.test(row.cells[1]!),
    )
  ) {
    return false
  }
  for (const row of full) row.cells = [`${row.cells[0]},${row.cells[1]}`, ...row.cells.slice(2)]
  layout.columnCount--
  layout.classes.splice(1, 1)
  return true
}

/** Adds the time column to a dialect that so far counts rows. */
function withTime(
  dialect: CsvDialect,
  layout: CsvLayout,
  column: HeadColumn,
  time: TimeColumn,
  statements: ReturnType<typeof preambleStatements>,
  options: Pick<ReaderOptions, 'notices' | 'timeUnit' | 'sampleRateHz'>,
): CsvDialect {
  const byte = layout.rows[0]!.byte
  const base = columnTimebase(column, time.samples, dialect.decimal, statements, options)
  const ticks = headTicks(column.cells, base.rule)
  const name = shown(column.name || String(time.index + 1))
  const moves = repeatsLevels(layout, time.index)
  if (ticks.length > 1 && ticks.every((tick) => tick === ticks[0])) {
    if (dialect.header.statedRateHz === null) {
      throw new MalformedCaptureError(
        'CSV_TIME_STANDS_STILL',
        `column ${name} is ${shown(column.cells[0]!)} in every row`,
        { byte, column: column.name },
        { hint: 'export with more digits of time, or give the sample rate if there is one row per sample' },
      )
    }
    options.notices.add(
      'CSV_TIME_FROM_ROW_NUMBER',
      () =>
        `column ${name} is ${shown(column.cells[0]!)} in every row, so each row was taken for one sample` +
        (moves ? '' : '; no row repeats the one above it, so rows may be changes whose times are lost'),
      byte,
    )
    const columns = dialect.columns.map((old, n) =>
      n === time.index ? { ...old, kind: COLUMN_IGNORED } : old,
    )
    return { ...dialect, columns }
  }
  if (base.rule.clock === true) refuseCoarseClock(column, byte)
  if (base.unitAssumed) {
    options.notices.add(
      'CSV_TIME_UNIT_ASSUMED',
      () => `nothing states the unit of column ${name}; seconds were assumed`,
      byte,
    )
  }
  const analog = dialect.columns.some((old) => old.kind === COLUMN_ANALOG)
  return {
    ...dialect,
    time: base.rule,
    timeColumn: time.index,
    header: {
      ...dialect.header,
      secondsPerTick: base.secondsPerTick,
      timebaseFrom: base.timebaseFrom,
      sampleIntervalTicks: sampleInterval(ticks, column, base.rule, moves || analog),
    },
  }
}

/** Times of day are seldom written with the digits that scanlines need. */
function refuseCoarseClock(column: HeadColumn, byte: number): void {
  const decimals = Math.max(...column.numbers.map((number) => number.fraction.length))
  if (decimals >= MIN_CLOCK_DECIMALS) return
  throw new MalformedCaptureError(
    'CSV_TIME_TOO_COARSE',
    `column ${shown(column.name)} holds times such as ${shown(column.cells[0]!)}, with ${decimals} decimals: ` +
      `scanlines last 15 to 64 us`,
    { byte, column: column.name },
    {
      hint: `export times with at least ${MIN_CLOCK_DECIMALS} decimals, or delete the column and give --rate if there is one row per sample`,
    },
  )
}

/** Does some row have the same cells as the row above it, but for the time? */
function repeatsLevels(layout: CsvLayout, timeColumn: number): boolean {
  let before: string | undefined
  for (const row of layout.rows) {
    const levels = row.cells.filter((_, column) => column !== timeColumn).join('\t')
    if (levels === before) return true
    before = levels
  }
  return false
}
