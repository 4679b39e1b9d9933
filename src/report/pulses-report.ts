// Judged sync pulses → the object that `pulses --json` prints.

import type { PulseMeasurement } from '../measure-pulses.ts'

/** `rastertap.pulses/1`. Times in seconds. */
export interface PulsesReport extends PulseMeasurement {
  format: 'rastertap.pulses/1'
  file: string
}

export function pulsesReport(pulses: PulseMeasurement, file: string): PulsesReport {
  return { format: 'rastertap.pulses/1', file, ...pulses }
}
