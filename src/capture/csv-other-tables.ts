// Tables that hold no waveform are refused here, with what they hold instead.

import { numberText, shown } from './csv-cell-text.ts'
import type { HeadColumn } from './csv-columns.ts'
import type { CsvLayout } from './csv-layout.ts'
import { namesTime, type TimeColumn } from './csv-time-column.ts'
import { MalformedCaptureError, UnsupportedCaptureError } from '../errors.ts'

/**
 * @param levels those of `all` that can be channels
 * @throws {UnsupportedCaptureError} CSV_NOT_A_WAVEFORM, CSV_NO_CHANNELS
 * @throws {MalformedCaptureError} CSV_TIME_NOT_NUMBER, CSV_TIME_MISSING: a time column without one usable time
 */
export function refuseOtherTables(
  all: readonly HeadColumn[],
  levels: readonly HeadColumn[],
  layout: CsvLayout,
  time: TimeColumn | undefined,
): void {
  const byte = layout.preamble.at(-1)?.byte ?? layout.rows[0]!.byte
  const found = notAWaveform(all, levels)
  // Dates beside levels: a waveform, but with times that cannot be read.
  const words = all.filter((column) => column.class === 'text')
  const dates = words.find(namesTime)
  const onlyDates = dates && words.length === 1 && levels.length > 0 && time === undefined
  if (found !== undefined && !onlyDates) {
    throw new UnsupportedCaptureError(
      'CSV_NOT_A_WAVEFORM',
      `this table holds ${found}; expected one column of levels per channel, and at most one of time`,
      { byte },
      { hint: 'export the raw channels (samples or changes) rather than decoded results' },
    )
  }
  if (dates && time === undefined) {
    throw new MalformedCaptureError(
      'CSV_TIME_NOT_NUMBER',
      `column ${shown(dates.name)} holds ${shown(dates.cells[0] ?? '')} where a time in seconds or another unit was expected`,
      { byte: layout.rows[0]!.byte, column: dates.name },
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

/** What a table of decoded results has in its header and a waveform has not. */
const DECODER_NAME =
  /^(?:duration|start[ _]?time|end[ _]?time|packet.*|analyzer.*|protocol.*|decoded.*|.*\berror|.*\bresult|ack\/nak|annotation.*|payload)$/i

/** Why the table cannot be a waveform, in words; undefined when it can. */
function notAWaveform(columns: readonly HeadColumn[], levels: readonly HeadColumn[]): string | undefined {
  const decoder = columns.find((column) => DECODER_NAME.test(column.name))
  if (decoder) return `a column named ${shown(decoder.name)}, as tables of decoded results have it`
  const text = columns.find((column) => column.class === 'text')
  if (!text) return undefined
  const wordColumns = columns.filter((column) => column.class === 'text').length
  const digital = levels.filter((column) => column.numbers.every((number) => number.mark === '')).length
  if (digital > wordColumns) return undefined
  const cell = text.cells.find((value) => !numberText(value)) ?? ''
  return `words such as ${shown(cell)} in column ${shown(text.name || String(text.index + 1))}`
}
