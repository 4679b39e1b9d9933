// pulses CAPTURE: why does my picture jump?

import { SignalError } from '../../errors.ts'
import { measurePulses, scanlinePeriods } from '../../measure-pulses.ts'
import { PULSES_CSV_HEAD, pulseCsvRow } from '../../report/pulses-csv.ts'
import { pulsesReport } from '../../report/pulses-report.ts'
import { pulsesText } from '../../report/pulses-text.ts'
import { inkFor } from '../ink-for.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { checkOutputFile, writeWhole } from '../output-file.ts'
import { print, printJson } from '../print.ts'
import { readCapture } from '../read-capture.ts'

/** Options of `pulses` beside those of the capture. */
export interface PulsesCommandOptions extends CaptureOptions {
  segment?: number
  clock?: number
  plot?: boolean
  csv?: string
  force?: boolean
  json?: boolean
}

/** @returns exit status: `no` where the sync has faults */
export async function pulses(file: string, options: PulsesCommandOptions, io: Io): Promise<number> {
  const { csv, force = false } = options
  if (csv !== undefined) await checkOutputFile(csv, force, file, io)
  const rows: string[] = [PULSES_CSV_HEAD]
  const onPulse =
    csv === undefined
      ? undefined
      : (pulse: Parameters<typeof pulseCsvRow>[0]) => rows.push(pulseCsvRow(pulse))
  const measurement = await readCapture(file, options, io, { onPulse })
  const segment = options.segment === undefined ? measurement.main : measurement.segments[options.segment]
  if (!segment) {
    throw new SignalError(
      'SEGMENT_NOT_FOUND',
      `there is no segment ${options.segment}`,
      { file },
      { hint: `the capture has ${measurement.segments.length}, counted from 0` },
    )
  }
  const judged = measurePulses(measurement, segment)
  if (csv !== undefined) await writeWhole(csv, new TextEncoder().encode(rows.join('')), force)
  if (options.json) await printJson(io, pulsesReport(judged, file))
  else {
    const chart = options.plot ? scanlinePeriods(measurement, segment) : undefined
    const sampleSeconds = measurement.sampleIntervalSeconds ?? undefined
    const text = pulsesText(judged, { file, clockHz: options.clock, chart, sampleSeconds }, inkFor(io))
    await print(io, text)
  }
  const faulty = segment.sync.faultCount > 0 || judged.oddFrames > 0
  return faulty ? EXIT.no : EXIT.done
}
