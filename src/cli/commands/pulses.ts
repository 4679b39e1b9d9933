// pulses CAPTURE: why does my picture jump?

import { SignalError } from '../../errors.ts'
import type { CaptureMeasurement } from '../../measure.ts'
import { measurePulses, scanlinePeriods, type PulseMeasurement } from '../../measure-pulses.ts'
import type { SegmentMeasurement } from '../../measure-segment.ts'
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
import { AbandonedError, RowStream } from '../row-stream.ts'

/** Options of `pulses` beside those of the capture. */
export interface PulsesCommandOptions extends CaptureOptions {
  segment?: number
  clock?: number
  plot?: boolean
  csv?: string
  force?: boolean
  json?: boolean
}

interface Judged {
  measurement: CaptureMeasurement
  segment: SegmentMeasurement
  pulses: PulseMeasurement
}

/** @returns exit status: `no` where the sync has faults */
export async function pulses(file: string, options: PulsesCommandOptions, io: Io): Promise<number> {
  const { csv, force = false } = options
  if (csv !== undefined) await checkOutputFile(csv, force, file, io)
  const judged =
    csv === undefined ? await judge(file, options, io) : await judgeAndWrite(file, csv, force, options, io)
  const { measurement, segment, pulses: found } = judged
  if (options.json) await printJson(io, pulsesReport(found, file))
  else {
    const chart = options.plot ? scanlinePeriods(measurement, segment) : undefined
    const sampleSeconds = measurement.sampleIntervalSeconds ?? undefined
    const { segments } = measurement
    const { startSeconds, endSeconds } = segment
    const stretch = { index: segments.indexOf(segment), count: segments.length, startSeconds, endSeconds }
    const text = pulsesText(
      found,
      { file, clockHz: options.clock, chart, sampleSeconds, stretch },
      inkFor(io),
    )
    await print(io, text)
  }
  const isFaulty = segment.sync.faultCount > 0 || found.oddFrames > 0 || found.phaseBreaks > 0
  return isFaulty ? EXIT.no : EXIT.done
}

async function judge(
  file: string,
  options: PulsesCommandOptions,
  io: Io,
  table?: RowStream,
): Promise<Judged> {
  const measurement = table
    ? await readCapture(
        file,
        options,
        io,
        { onPulse: (pulse) => table.add(pulseCsvRow(pulse)) },
        undefined,
        () => table.flush(),
      )
    : await readCapture(file, options, io)
  const segment = options.segment === undefined ? measurement.main : measurement.segments[options.segment]
  if (!segment) {
    throw new SignalError(
      'SEGMENT_NOT_FOUND',
      `there is no segment ${options.segment}`,
      { file },
      { hint: `the capture has ${measurement.segments.length}, counted from 0` },
    )
  }
  return { measurement, segment, pulses: measurePulses(measurement, segment) }
}

/** The table is written while the capture is read: it may be longer than memory. */
async function judgeAndWrite(
  file: string,
  csv: string,
  force: boolean,
  options: PulsesCommandOptions,
  io: Io,
): Promise<Judged> {
  const table = new RowStream()
  table.add(PULSES_CSV_HEAD)
  const written = writeWhole(csv, table, force).then(
    () => undefined,
    (error: unknown) => error,
  )
  try {
    const judged = await judge(file, options, io, table)
    table.end()
    const failure = await written
    if (failure !== undefined) throw failure
    return judged
  } catch (error) {
    table.abandon()
    const failure = await written
    // a disk that is full stops the reading, not the other way round
    throw failure === undefined || failure instanceof AbandonedError ? error : failure
  }
}
