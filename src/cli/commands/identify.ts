// identify CAPTURE: what comes out of this card? Reports are loaded when there is something to report: first of all the
// capture is to be read.

import type { CaptureMeasurement } from '../../measure.ts'
import type { Ink } from '../../report/ink.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { inkFor } from '../ink-for.ts'
import { print, printJson } from '../print.ts'
import { readCapture } from '../read-capture.ts'

/** Options of `identify` beside those of the capture. */
export interface IdentifyCommandOptions extends CaptureOptions {
  timing?: boolean
  json?: boolean
}

/** @returns exit status: `no` where no standard fits */
export async function identify(file: string, options: IdentifyCommandOptions, io: Io): Promise<number> {
  const measurement = await readCapture(file, options, io)
  if (options.json) {
    const { identifyReport } = await import('../../report/identify-report.ts')
    await printJson(io, identifyReport(measurement, file))
  } else {
    const { identifyText } = await import('../../report/identify-text.ts')
    const ink = inkFor(io)
    const text = identifyText(measurement, file, ink)
    await print(io, text + (options.timing ? await drawing(measurement, ink) : ''))
  }
  return measurement.main.classification.standard ? EXIT.done : EXIT.no
}

async function drawing({ main }: CaptureMeasurement, ink: Ink): Promise<string> {
  const { timingText } = await import('../../report/timing-text.ts')
  const rows = timingText(main, ink)
  return rows.length > 0 ? `\n${rows.join('\n')}\n` : ''
}
