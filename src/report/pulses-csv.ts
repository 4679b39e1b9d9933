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
  const [offset, width] = [offsetSeconds, widthSeconds].map((seconds) =>
    Number.isNaN(seconds) ? '' : seconds.toExponential(6),
  )
  return `${kind},${channel},${timeSeconds.toFixed(12)},${scanline},${offset},${width}\n`
}
