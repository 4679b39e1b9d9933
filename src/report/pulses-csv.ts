// Sync pulses as they are judged → rows of a CSV file for a spreadsheet. Numbers and our own words only, so that no cell
// can be taken for a formula.

import type { JudgedPulse } from '../measure.ts'

export const PULSES_CSV_HEAD = 'kind,channel,time_s,scanline,offset_s,width_s\n'

export function pulseCsvRow({
  kind,
  channel,
  timeSeconds,
  scanline,
  offsetSeconds,
  widthSeconds,
}: JudgedPulse): string {
  const width = Number.isNaN(widthSeconds) ? '' : widthSeconds.toExponential(6)
  return `${kind},${channel},${timeSeconds.toFixed(12)},${scanline},${offsetSeconds.toExponential(6)},${width}\n`
}
