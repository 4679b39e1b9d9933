// Columns of the head → columns for the row reader: channels named and numbered, the rest marked as ignored.

import { MAX_CHANNELS } from './capture-header.ts'
import { shown } from './csv-cell-text.ts'
import {
  COLUMN_ANALOG,
  COLUMN_IGNORED,
  COLUMN_TIME,
  levelColumn,
  type CsvColumn,
  type HeadColumn,
} from './csv-columns.ts'
import type { CsvLayout } from './csv-layout.ts'
import type { TimeColumn } from './csv-time-column.ts'
import type { NoticeList } from '../notices.ts'

/** All columns in order, levels named and numbered. */
export function channelColumns(
  all: readonly HeadColumn[],
  levels: readonly HeadColumn[],
  layout: CsvLayout,
  time: TimeColumn | undefined,
  notices: NoticeList,
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
