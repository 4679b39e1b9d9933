// Columns of the head → columns for the row reader: channels named and numbered, the rest marked as ignored.

import { MAX_CHANNELS, MAX_NAME_CHARACTERS } from './capture-header.ts'
import { shown } from './csv-cell-text.ts'
import { COLUMN_IGNORED, COLUMN_TIME, levelColumn, type CsvColumn, type HeadColumn } from './csv-columns.ts'
import type { CsvLayout } from './csv-layout.ts'
import type { TimeColumn } from './csv-time-column.ts'
import { MalformedCaptureError, UnsupportedCaptureError } from '../errors.ts'
import type { NoticeList } from '../notices.ts'

/**
 * All columns in order, levels named and numbered.
 *
 * @throws {MalformedCaptureError} CHANNEL_NAME_TOO_LONG
 * @throws {UnsupportedCaptureError} CSV_NO_CHANNELS where all are too wide
 */
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
  const columns = all.map((head): CsvColumn => {
    const ignored: CsvColumn = {
      kind: COLUMN_IGNORED,
      name: head.name,
      firstChannel: channel,
      channels: [],
      radix: 0,
      voltsPerUnit: 1,
      isVolts: false,
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
    if (name.length > MAX_NAME_CHARACTERS) throw nameTooLong(name, layout.preamble.at(-1)?.byte ?? byte)
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
    return column
  })
  if (channel === 0) {
    throw new UnsupportedCaptureError(
      'CSV_NO_CHANNELS',
      `every column of levels is a bus of more than ${MAX_CHANNELS} bits`,
      { byte },
      { hint: 'export the channels of the video output, one column each' },
    )
  }
  return columns
}

function nameTooLong(name: string, byte: number): MalformedCaptureError {
  return new MalformedCaptureError(
    'CHANNEL_NAME_TOO_LONG',
    `a channel's name has more than ${MAX_NAME_CHARACTERS} characters: ${shown(name)}`,
    { byte },
    { hint: 'give the channel a short name; a quote may be missing in the header row' },
  )
}
