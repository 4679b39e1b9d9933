// identify CAPTURE: what comes out of this card?

import { identifyReport } from '../../report/identify-report.ts'
import { identifyText } from '../../report/identify-text.ts'
import { timingText } from '../../report/timing-text.ts'
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
  if (options.json) await printJson(io, identifyReport(measurement, file))
  else {
    const ink = inkFor(io)
    const drawing = options.timing ? timingText(measurement.main, ink) : []
    const below = drawing.length > 0 ? `\n${drawing.join('\n')}\n` : ''
    await print(io, identifyText(measurement, file, ink) + below)
  }
  return measurement.main.classification.standard ? EXIT.done : EXIT.no
}
