// What can be wrong with a row of the table, each as an error with its column and its place.

import { shown } from './csv-cell-text.ts'
import { COLUMN_ANALOG, COLUMN_BUS } from './csv-columns.ts'
import type { CsvDialect } from './csv-dialect.ts'
import { MAX_COLUMNS } from './csv-layout.ts'
import { MalformedCaptureError, type ErrorCode } from '../errors.ts'

/** Errors of one table; bytes are offsets in the unpacked text. */
export class CsvRowErrors {
  readonly #dialect: CsvDialect

  constructor(dialect: CsvDialect) {
    this.#dialect = dialect
  }

  #malformed(
    code: ErrorCode,
    message: string,
    byte: number,
    hint: string,
    column?: number,
  ): MalformedCaptureError {
    const name = column === undefined ? undefined : this.#dialect.columns[column]?.name
    return new MalformedCaptureError(code, message, name ? { byte, column: name } : { byte }, { hint })
  }

  rowLength(count: number, byte: number): MalformedCaptureError {
    return this.#malformed(
      'CSV_ROW_LENGTH',
      `a row has ${count} cells where ${this.#dialect.columns.length} were expected`,
      byte,
      'two exports may be joined here; cut the file above this row',
    )
  }

  tooManyCells(byte: number): MalformedCaptureError {
    return this.#malformed(
      'CSV_ROW_LENGTH',
      `a row has more than ${MAX_COLUMNS} cells where ${this.#dialect.columns.length} were expected`,
      byte,
      'the file may be damaged here; cut it above this row',
    )
  }

  timeMissing(byte: number): MalformedCaptureError {
    return this.#malformed(
      'CSV_TIME_MISSING',
      'a row has no time in its time column',
      byte,
      'fill in the time, or cut the file above this row',
      this.#dialect.timeColumn,
    )
  }

  timeUnreadable(tick: number, text: string, byte: number): MalformedCaptureError {
    const large = !Number.isNaN(tick)
    return this.#malformed(
      large ? 'CSV_TIME_TOO_LARGE' : 'CSV_TIME_NOT_NUMBER',
      large
        ? `time ${shown(text)} is beyond 2^53 ticks, the most that is counted`
        : `the time column holds ${shown(text)} where a number was expected`,
      byte,
      large
        ? 'export times from the trigger or start rather than as a date'
        : 'cut the file above this row, or correct the cell',
      this.#dialect.timeColumn,
    )
  }

  timeBackward(text: string, byte: number): MalformedCaptureError {
    return this.#malformed(
      'CSV_TIME_BACKWARD',
      `time runs backward, to ${shown(text)}`,
      byte,
      'two captures may be joined here; cut the file above this row',
      this.#dialect.timeColumn,
    )
  }

  levelMalformed(cell: number, text: string, byte: number): MalformedCaptureError {
    const expected =
      this.#dialect.columns[cell]!.kind === COLUMN_BUS
        ? `a bus value of ${this.#dialect.columns[cell]!.channels.length} bits`
        : this.#dialect.columns[cell]!.kind === COLUMN_ANALOG
          ? 'a voltage'
          : 'a level (0, 1, X, high, low, …)'
    return this.#malformed(
      'CSV_LEVEL_MALFORMED',
      `column ${shown(this.#dialect.columns[cell]!.name)} holds ${shown(text)} where ${expected} was expected`,
      byte,
      'correct the cell, or leave the column out of the export',
      cell,
    )
  }
}
