// First bytes of a table → how to read the rest: delimiter, columns, time, and what the capture says of itself.

import {
  MAX_CHANNELS,
  type CaptureHeader,
  type ReaderOptions,
  type TimebaseOrigin,
} from './capture-header.ts'
import { shown } from './csv-cell-text.ts'
import {
  COLUMN_ANALOG,
  COLUMN_IGNORED,
  COLUMN_TIME,
  headColumns,
  levelColumn,
  notAWaveform,
  type CsvColumn,
  type HeadColumn,
} from './csv-columns.ts'
import { findLayout, headRows, MAX_COLUMNS, RUN_OF_SPACES, type CsvLayout } from './csv-layout.ts'
import { preambleStatements } from './csv-preamble.ts'
import { findTimeColumn, namesIndex, namesTime, type TimeColumn } from './csv-time-column.ts'
import { columnTimebase, headTicks, sampleInterval } from './csv-timebase.ts'
import type { TimeRule } from './csv-time.ts'
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
  /** Time is written with a decimal comma between commas: two cells are one. */
  timeInTwoCells: boolean
  /** A short row means that its last channels have not changed. */
  shortRows: boolean
  header: CaptureHeader
}

const COMMA = 0x2c
const POINT = 0x2e

/**
 * Finds the dialect; survivable oddities go to `options.notices`.
 *
 * @param head first bytes of the unpacked text, all of them when `whole`
 * @throws {MalformedCaptureError} CSV_NO_ROWS, CSV_ROW_TOO_LONG, CSV_TIME_MISSING, CSV_TIME_NOT_NUMBER, CSV_TIME_STANDS_STILL
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
  const decimal = layout.rows.some((row) => row.cells.some((cell) => /^[+-]?\d*,\d/.test(cell)))
    ? COMMA
    : POINT
  const columns = readColumns(found, levels, layout, time, options)
  const dialect: CsvDialect = {
    delimiter: layout.delimiter.charCodeAt(0),
    newline: layout.newline,
    decimal,
    quoted: layout.quoted && layout.delimiter !== RUN_OF_SPACES,
    bodyAtByte: first.byte,
    columns,
    time: undefined,
    timeColumn: -1,
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
  if (!time) return dialect
  return withTime(dialect, layout, found[time.index]!, time, statements, options)
}

function rowOrigin(statedRateHz: number | null, optionHz: number | undefined): TimebaseOrigin {
  if (optionHz !== undefined) return 'option'
  return statedRateHz === null ? 'none' : 'sample-rate'
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

function refuseOtherTables(
  all: readonly HeadColumn[],
  levels: readonly HeadColumn[],
  layout: CsvLayout,
  time: TimeColumn | undefined,
): void {
  const byte = layout.preamble.at(-1)?.byte ?? layout.rows[0]!.byte
  const found = notAWaveform(all, levels)
  const timeWords = all.find((column) => column.class === 'text' && namesTime(column))
  if (
    found !== undefined &&
    !(
      timeWords &&
      levels.length > 0 &&
      time === undefined &&
      !all.some((c) => c !== timeWords && c.class === 'text')
    )
  ) {
    throw new UnsupportedCaptureError(
      'CSV_NOT_A_WAVEFORM',
      `this table holds ${found}; expected one column of levels per channel, and at most one of time`,
      { byte },
      { hint: 'export the raw channels (samples or changes) rather than decoded results' },
    )
  }
  if (timeWords && time === undefined) {
    throw new MalformedCaptureError(
      'CSV_TIME_NOT_NUMBER',
      `column ${shown(timeWords.name)} holds ${shown(timeWords.cells[0] ?? '')} where a time in seconds or another unit was expected`,
      { byte: layout.rows[0]!.byte, column: timeWords.name },
      { hint: 'export times as numbers from the start or trigger, not as dates' },
    )
  }
  const empty = all.find((column) => column.class === 'empty' && namesTime(column))
  if (empty && time === undefined && levels.length > 0) {
    throw new MalformedCaptureError(
      'CSV_TIME_MISSING',
      `column ${shown(empty.name)} is empty in all rows`,
      { byte: layout.rows[0]!.byte, column: empty.name },
      { hint: 'export with times, or delete the column and give the sample rate' },
    )
  }
  if (levels.length === 0) {
    throw new UnsupportedCaptureError(
      'CSV_NO_CHANNELS',
      'the table has no column of levels',
      { byte: layout.rows[0]!.byte },
      { hint: 'export at least one channel' },
    )
  }
}

/** All columns in order, levels named and numbered. */
function readColumns(
  all: readonly HeadColumn[],
  levels: readonly HeadColumn[],
  layout: CsvLayout,
  time: TimeColumn | undefined,
  { notices }: Pick<ReaderOptions, 'notices'>,
): CsvColumn[] {
  const byte = layout.rows[0]!.byte
  if (!layout.names) {
    notices.add(
      'CSV_NO_HEADER',
      () => 'the table has no header row; channels are named D0, D1, … in the order of the columns',
      byte,
    )
  }
  let channel = 0
  let unnamed = 0
  const analog: string[] = []
  const columns = all.map((head): CsvColumn => {
    const ignored: CsvColumn = {
      kind: COLUMN_IGNORED,
      name: head.name,
      firstChannel: channel,
      channels: [],
      radix: 0,
      low: 0,
      high: 0,
      middle: 0,
    }
    if (head.index === time?.index) return { ...ignored, kind: COLUMN_TIME, name: head.name || 'time' }
    if (!levels.includes(head)) {
      if (head.name !== '' && layout.names) {
        notices.add(
          'CSV_COLUMN_IGNORED',
          () => `column ${shown(head.name)} is no channel and was left out`,
          byte,
        )
      }
      return ignored
    }
    const name = head.name || `D${unnamed}`
    unnamed++
    const column = levelColumn(head, name)
    if (channel + column.channels.length > MAX_CHANNELS) {
      notices.add(
        'CHANNELS_IGNORED',
        () => `only the first ${MAX_CHANNELS} channels are read; column ${shown(name)} was left out`,
        byte,
      )
      return ignored
    }
    column.firstChannel = channel
    channel += column.channels.length
    if (column.kind === COLUMN_ANALOG) {
      analog.push(
        `${shown(name)} (high above ${thousandths(column.high)}, low below ${thousandths(column.low)})`,
      )
    }
    return column
  })
  if (analog.length > 0) {
    notices.add(
      'CSV_ANALOG_THRESHOLD',
      () => `voltages were turned into levels in column ${analog.slice(0, 8).join(', ')}`,
      byte,
      analog.length,
    )
  }
  return columns
}

function thousandths(value: number): number {
  return Math.round(value * 1000) / 1000
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
