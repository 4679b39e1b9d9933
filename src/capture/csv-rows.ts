// One row of the table → transitions. Slow, plain and complete: the fast scanners (csv-body.ts) hand over to it whatever
// they do not expect, and tests hold them to it.

import type { CaptureExtent, ReaderOptions } from './capture-header.ts'
import { AnalogEdges } from './analog-edges.ts'
import { thresholdText, type AnalogThreshold } from './analog-threshold.ts'
import { shown } from './csv-cell-text.ts'
import { COLUMN_ANALOG, COLUMN_BUS, COLUMN_IGNORED, COLUMN_TIME, COLUMN_WIRE } from './csv-columns.ts'
import type { CsvDialect } from './csv-dialect.ts'
import { MAX_COLUMNS } from './csv-layout.ts'
import { CsvRowErrors } from './csv-row-errors.ts'
import { BATCH_ROOM } from './csv-scan-limits.ts'
import { busLevels, cellNumber, NOT_A_LEVEL, wireLevel } from './csv-level.ts'
import { TimeCells } from './csv-time.ts'
import {
  BATCH_ROWS,
  LEVEL_LOW,
  LEVEL_UNKNOWN,
  newTransitionBatch,
  type TransitionBatch,
} from './transition-batch.ts'
import { MalformedCaptureError, type CaptureError } from '../errors.ts'

const SPACE = 0x20
const TAB = 0x09
const CR = 0x0d
const LF = 0x0a
const QUOTE = 0x22

/** Offset of a cell's first byte in the unpacked text. */
type CellByte = (cell: number) => number

/** Reads rows; holds what is carried from row to row, open to the fast scanners. */
export class CsvRows {
  readonly dialect: CsvDialect
  batch: TransitionBatch
  /** Level of each channel after the last row. */
  readonly levels: Uint8Array
  /** Time of the last row, in ticks; -Infinity before the first. */
  lastTick: number = -Infinity
  firstTick = 0
  /** Rows read so far: the sample number of the next one. */
  sample = 0
  /** A short row was met: harmless only when none follows. */
  short: CaptureError | undefined
  /** Cells of the row last split, as offsets into its bytes. */
  readonly starts: Int32Array = new Int32Array(MAX_COLUMNS + 2)
  readonly ends: Int32Array = new Int32Array(MAX_COLUMNS + 2)
  readonly #options: Pick<ReaderOptions, 'sink' | 'nextBatch' | 'notices'>
  readonly #errors: CsvRowErrors
  readonly #next: Uint8Array
  readonly #time: TimeCells | undefined
  readonly #kinds: Uint8Array
  readonly #firstChannels: Int32Array
  /** Cells that a row must have. */
  readonly #needed: number
  readonly #analog: AnalogEdges | undefined
  readonly #isAnalog: Uint8Array
  /** Voltages of the row, and by column where in it they stand. */
  readonly #volts: Float64Array
  readonly #voltsAt: Int32Array
  #quoteMet = false

  constructor(dialect: CsvDialect, options: Pick<ReaderOptions, 'sink' | 'nextBatch' | 'notices'>) {
    this.dialect = dialect
    this.#options = options
    this.#errors = new CsvRowErrors(dialect)
    this.batch = options.nextBatch?.() ?? newTransitionBatch()
    this.levels = new Uint8Array(dialect.header.channels.length).fill(LEVEL_UNKNOWN)
    this.#next = new Uint8Array(this.levels.length)
    this.#time = dialect.time && new TimeCells(dialect.time)
    this.#kinds = Uint8Array.from(dialect.columns, (column) => column.kind)
    this.#firstChannels = Int32Array.from(dialect.columns, (column) => column.firstChannel)
    const analog = dialect.columns.filter((column) => column.kind === COLUMN_ANALOG)
    this.#isAnalog = new Uint8Array(this.levels.length)
    for (const column of analog) this.#isAnalog[column.firstChannel] = 1
    this.#volts = new Float64Array(analog.length).fill(NaN)
    this.#voltsAt = Int32Array.from(dialect.columns, (column) => analog.indexOf(column))
    if (analog.length > 0) {
      const channels = analog.map((column) => ({ ...column, channel: column.firstChannel }))
      this.#analog = new AnalogEdges(channels, dialect.placesEdges, (...edge) => this.#add(...edge))
    }
    this.#needed = this.#kinds.findLastIndex((kind) => kind !== COLUMN_IGNORED) + 1
  }

  /**
   * Reads one unquoted row.
   *
   * @param bytes holds the row in [from, to), without its newline
   * @param rowByte offset of the row in the unpacked text
   * @param last the capture ended without a newline after this row
   * @returns false when the row has quotes; nothing was read then
   */
  row(bytes: Uint8Array, from: number, to: number, rowByte: number, last: boolean): boolean {
    if (this.isComment(bytes, from, to)) return true
    const { delimiter } = this.dialect
    let end = to
    while (end > from && isBlank(bytes[end - 1]!) && bytes[end - 1] !== delimiter) end--
    const count = this.#split(bytes, from, end, rowByte)
    if (this.#quoteMet) return false
    this.cells(bytes, count, (cell) => rowByte + this.starts[cell]! - from, rowByte, last)
    return true
  }

  /** A row for people between rows of values, or a blank one. */
  isComment(bytes: Uint8Array, rowFrom: number, to: number): boolean {
    let from = rowFrom
    while (from < to && (isBlank(bytes[from]!) || bytes[from] === LF)) from++
    if (from === to) return true
    const first = bytes[from]!
    if (first === 0x23 || first === 0x25) return true
    if (first === 0x2f) return bytes[from + 1] === 0x2f && to - from > 1
    if (first === 0x3b) return this.dialect.delimiter !== 0x3b
    // META, as some exporters begin a settings row
    return (
      first === 0x4d &&
      to - from > 4 &&
      bytes[from + 1] === 0x45 &&
      bytes[from + 2] === 0x54 &&
      bytes[from + 3] === 0x41 &&
      isBlank(bytes[from + 4]!)
    )
  }

  /** Finds the cells; returns how many there are. */
  #split(bytes: Uint8Array, from: number, to: number, rowByte: number): number {
    const { delimiter, timeInTwoCells, columns, timeColumn, quoted } = this.dialect
    const { starts, ends } = this
    const spaced = delimiter === SPACE
    this.#quoteMet = false
    let count = 0
    let at = from
    for (;;) {
      while (at < to && isBlank(bytes[at]!) && bytes[at] !== delimiter) at++
      if (spaced) while (at < to && isBlank(bytes[at]!)) at++
      if (count > MAX_COLUMNS) throw this.#errors.tooManyCells(rowByte)
      starts[count] = at
      if (at < to && bytes[at] === QUOTE && !spaced && !quoted) this.#quoteMet = true
      if (spaced) while (at < to && !isBlank(bytes[at]!)) at++
      else while (at < to && bytes[at] !== delimiter) at++
      let end = at
      while (end > starts[count]! && isBlank(bytes[end - 1]!)) end--
      ends[count] = end
      count++
      if (at >= to) break
      at++
    }
    if (timeInTwoCells && count === columns.length + 1) {
      ends[timeColumn] = ends[timeColumn + 1]!
      count--
      for (let cell = timeColumn + 1; cell < count; cell++) {
        starts[cell] = starts[cell + 1]!
        ends[cell] = ends[cell + 1]!
      }
    }
    return count
  }

  /** Reads the row whose cells stand in `starts` and `ends`. */
  cells(bytes: Uint8Array, found: number, byteOf: CellByte, rowByte: number, last: boolean): void {
    const { starts, ends } = this
    const columns = this.dialect.columns
    let count = found
    while (count > 0 && starts[count - 1]! >= ends[count - 1]!) count--
    if (count === 0) return
    if (this.short) throw this.short
    if (count > columns.length) throw this.#errors.rowLength(count, byteOf(columns.length))
    // Trailing cells that are there but empty are as before; ones that are missing are a cut row, or a habit of the file.
    if (found < this.#needed && (last || !this.dialect.shortRows)) {
      this.short = this.#errors.rowLength(found, rowByte)
      return
    }
    try {
      this.#read(bytes, count, byteOf, rowByte)
    } catch (error) {
      if (!last || !(error instanceof MalformedCaptureError)) throw error
      // The capture ends inside this row, so its last cell is no evidence.
      this.short = error
    }
  }

  #read(bytes: Uint8Array, count: number, byteOf: CellByte, rowByte: number): void {
    const { starts, ends } = this
    const { columns, timeColumn, decimal } = this.dialect
    let tick = this.sample * this.dialect.ticksPerRow
    let rounded = false
    if (this.#time) {
      const from = starts[timeColumn]!
      const to = ends[timeColumn]!
      if (timeColumn >= count || from >= to) throw this.#errors.timeMissing(rowByte)
      tick = this.#time.ticks(bytes, from, to)
      rounded = this.#time.rounded
      if (!Number.isFinite(tick))
        throw this.#errors.timeUnreadable(tick, textOf(bytes, from, to), byteOf(timeColumn))
      if (tick < this.lastTick) throw this.#errors.timeBackward(textOf(bytes, from, to), byteOf(timeColumn))
    }
    const next = this.#next
    next.set(this.levels)
    let empty = 0
    let unknown = 0
    for (let cell = 0; cell < columns.length; cell++) {
      const kind = this.#kinds[cell]!
      if (kind === COLUMN_IGNORED || kind === COLUMN_TIME) continue
      const from = starts[cell]!
      const to = ends[cell]!
      if (cell >= count || from >= to) {
        empty++
        continue
      }
      const channel = this.#firstChannels[cell]!
      if (kind === COLUMN_WIRE) {
        const level = wireLevel(bytes, from, to, decimal)
        if (level === NOT_A_LEVEL)
          throw this.#errors.levelMalformed(cell, textOf(bytes, from, to), byteOf(cell))
        if (level === LEVEL_UNKNOWN && (this.levels[channel] !== level || this.sample === 0)) unknown++
        next[channel] = level
      } else if (kind === COLUMN_BUS) {
        const { radix, channels } = columns[cell]!
        if (!busLevels(bytes, from, to, radix, next, channel, channels.length)) {
          throw this.#errors.levelMalformed(cell, textOf(bytes, from, to), byteOf(cell))
        }
        for (let bit = channel; bit < channel + channels.length; bit++) {
          if (next[bit] === LEVEL_UNKNOWN && (this.levels[bit] !== LEVEL_UNKNOWN || this.sample === 0))
            unknown++
        }
      } else if (kind === COLUMN_ANALOG) {
        const volts = cellNumber(bytes, from, to, decimal)
        if (Number.isNaN(volts)) {
          if (wireLevel(bytes, from, to, decimal) !== LEVEL_UNKNOWN) {
            throw this.#errors.levelMalformed(cell, textOf(bytes, from, to), byteOf(cell))
          }
          if (next[channel] !== LEVEL_UNKNOWN || this.sample === 0) unknown++
          next[channel] = LEVEL_UNKNOWN
        } else next[channel] = LEVEL_LOW
        this.#volts[this.#voltsAt[cell]!] = volts
      }
    }
    this.#note(tick, rounded, empty, unknown, rowByte)
    if (this.sample === 0) this.firstTick = tick
    this.lastTick = tick
    this.sample++
    if (this.#analog) {
      this.#takeVolts(this.#analog, tick)
      return
    }
    for (let channel = 0; channel < next.length; channel++) {
      if (next[channel] !== this.levels[channel]) this.emit(tick, channel, next[channel]!)
    }
    // where the fast scanners do, so that it cannot be told who read a row
    if (this.batch.count > BATCH_ROOM) this.flush()
  }

  /** A row with voltages: what is high and low is not known until their levels are, and edges lie between rows. */
  #takeVolts(analog: AnalogEdges, tick: number): void {
    const next = this.#next
    for (let channel = 0; channel < next.length; channel++) {
      if (next[channel] === this.levels[channel]) continue
      this.levels[channel] = next[channel]!
      if (!this.#isAnalog[channel]) analog.other(tick, channel, next[channel]!)
    }
    analog.row(tick, this.#volts)
  }

  #note(tick: number, rounded: boolean, empty: number, unknown: number, rowByte: number): void {
    const { notices } = this.#options
    if (rounded) {
      notices.add(
        'CSV_TIME_ROUNDED',
        () => 'a time has more digits than a tick holds; it was rounded',
        rowByte,
      )
    }
    if (tick === this.lastTick) {
      notices.add(
        'CSV_TIME_REPEATED',
        () => 'rows carry the same time as the row above; their order was kept',
        rowByte,
      )
    }
    if (empty > 0) {
      notices.add('CSV_CELL_EMPTY', () => 'empty cells were taken as unchanged', rowByte, empty)
    }
    if (unknown > 0) {
      notices.add('LEVEL_UNKNOWN', () => 'a cell such as X or Z states no level', rowByte, unknown)
    }
  }

  /** Levels of the first 32 channels, channel n in bit n; none of them may be unknown. */
  get levelBits(): number {
    let bits = 0
    for (let n = 0; n < this.levels.length; n++) bits |= this.levels[n]! << n
    return bits
  }

  /** Puts back where a fast scanner has come to. */
  resume(levelBits: number, sample: number, count: number): void {
    for (let n = 0; n < this.levels.length; n++) this.levels[n] = (levelBits >>> n) & 1
    this.sample = sample
    this.batch.count = count
  }

  /** Adds one transition and remembers the level. */
  emit(tick: number, channel: number, level: number): void {
    this.levels[channel] = level
    this.#add(tick, channel, level)
  }

  #add(tick: number, channel: number, level: number): void {
    const batch = this.batch
    const row = batch.count
    batch.tick[row] = tick
    batch.channel[row] = channel
    batch.level[row] = level
    batch.count = row + 1
    if (batch.count === BATCH_ROWS) this.flush()
  }

  /** Hands the batch on. */
  flush(): void {
    const { sink, nextBatch } = this.#options
    if (this.batch.count > 0) {
      sink(this.batch)
      if (nextBatch) this.batch = nextBatch()
    }
    this.batch.count = 0
  }

  /** @throws {MalformedCaptureError} CSV_NO_ROWS when not one row was whole */
  end(): CaptureExtent {
    const short = this.short
    if (short) {
      this.#options.notices.add(
        'CSV_ROW_CUT_SHORT',
        () => `the last row is cut short and was left out: ${short.message}`,
        short.at.byte ?? null,
      )
    }
    if (this.sample === 0) {
      throw new MalformedCaptureError(
        'CSV_NO_ROWS',
        'the table has no whole row',
        { byte: this.dialect.bodyAtByte },
        { hint: 'export the samples themselves, and copy the file whole' },
      )
    }
    this.#analog?.end()
    this.flush()
    const extent = { firstTick: this.firstTick, lastTick: this.lastTick }
    const thresholds = this.#analog?.thresholds
    return thresholds ? { ...extent, thresholds: this.#thresholdsByChannel(thresholds) } : extent
  }

  /** Tells the thresholds, and puts each at its channel. */
  #thresholdsByChannel(thresholds: readonly AnalogThreshold[]): (AnalogThreshold | null)[] {
    const byChannel: (AnalogThreshold | null)[] = Array.from(this.levels, () => null)
    const columns = this.dialect.columns.filter((column) => column.kind === COLUMN_ANALOG)
    columns.forEach((column, n) => (byChannel[column.firstChannel] = thresholds[n]!))
    const texts = columns.map((column, n) => thresholdText(shown(column.name), thresholds[n]!))
    this.#options.notices.add(
      'CSV_ANALOG_THRESHOLD',
      () =>
        `voltages were turned into levels, their edges placed between samples: ${texts.slice(0, 8).join('; ')}`,
      this.dialect.bodyAtByte,
      texts.length,
    )
    return byChannel
  }
}

function isBlank(byte: number): boolean {
  return byte === SPACE || byte === TAB || byte === CR
}

function textOf(bytes: Uint8Array, from: number, to: number): string {
  return new TextDecoder().decode(bytes.subarray(from, to))
}
