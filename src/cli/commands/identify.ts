// identify CAPTURE: what comes out of this card?

import { identifyReport } from '../../report/identify-report.ts'
import { identifyText } from '../../report/identify-text.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { inkFor } from '../ink-for.ts'
import { print, printJson } from '../print.ts'
import { readCapture } from '../read-capture.ts'

/** @returns exit status: `no` where no standard fits */
export async function identify(
  file: string,
  options: CaptureOptions & { json?: boolean },
  io: Io,
): Promise<number> {
  const measurement = await readCapture(file, options, io)
  if (options.json) await printJson(io, identifyReport(measurement, file))
  else await print(io, identifyText(measurement, file, inkFor(io)))
  return measurement.main.classification.standard ? EXIT.done : EXIT.no
}
