// Rows put down by hand → a recording, as the recorder would hand it on.

import type { Recording } from '../../src/dots/recording.ts'

/** @param rows tick and levels after it; the columns are longer than they, as a recorder's are */
export function recordingOf(
  rows: readonly (readonly [number, number])[],
  more: Partial<Recording> = {},
): Recording {
  return {
    initialLevels: 0,
    tick: Float64Array.from([...rows.map(([tick]) => tick), 0, 0]),
    levels: Uint16Array.from([...rows.map(([, levels]) => levels), 9, 9]),
    rows: rows.length,
    scanlineNumber: [],
    scanlineTick: [],
    frames: [],
    firstFrame: 0,
    overflowed: false,
    sync: null,
    ...more,
  }
}
