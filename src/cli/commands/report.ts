// report CAPTURE -o FILE.html: let me show somebody. Everything in one page that needs nothing else.

import { createHash } from 'node:crypto'
import type { AdapterDescription } from '../../adapter/adapter-description.ts'
import { inputOfSegment } from '../../adapter/input-mode.ts'
import { outputChoices } from '../../adapter/output-modes.ts'
import { findPlans, planForClock } from '../../adapter/plan-search.ts'
import { measuredSignal } from '../../adapter/segment-signal.ts'
import { STANDARDS } from '../../classify/standards.ts'
import { CaptureError, SignalError } from '../../errors.ts'
import type { CaptureMeasurement } from '../../measure.ts'
import { measurePulses } from '../../measure-pulses.ts'
import { CLIPS_PER_KIND, CLIP_REACH_SECONDS } from '../../page/fault-section.ts'
import type { Found, PageSubject } from '../../page/page-subject.ts'
import { reportPage } from '../../page/report-page.ts'
import { verdict } from '../../page/verdict.ts'
import { encodePng } from '../../picture/png.ts'
import { renderFrame } from '../../render-frame.ts'
import type { OutputAnswer } from '../../report/output-report.ts'
import { printable } from '../../report/printable.ts'
import type { SamplingAnswer } from '../../report/sampling-report.ts'
import { commandWord } from '../../report/shell-word.ts'
import { wrapped } from '../../report/wrapped.ts'
import { inFile } from '../in-file.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { checkOutputFile, writeWhole } from '../output-file.ts'
import { readPageCode } from '../page-code.ts'
import { print } from '../print.ts'
import { readAdapter } from '../read-adapter.ts'
import { readCapture } from '../read-capture.ts'
import { UsageError } from '../usage-error.ts'
import { VERSION } from '../version.ts'

/** Options of `report` beside those of the capture. */
export interface ReportCommandOptions extends CaptureOptions {
  output: string
  clock?: number
  ram?: number
  palette?: string
  adapter?: string
  force?: boolean
}

/**
 * @param argv the whole command line, for whoever wants to make the page again
 * @returns exit status
 */
export async function report(
  file: string,
  options: ReportCommandOptions,
  argv: readonly string[],
  io: Io,
): Promise<number> {
  const { output, force = false } = options
  await checkOutputFile(output, force, file, io)
  const adapter = await readAdapter(options.adapter)
  const code = await readPageCode()
  const digest = createHash('sha256')
  let inputBytes = 0
  const measurement = await readCapture(
    file,
    options,
    io,
    { keepSignal: true, clips: { reachSeconds: CLIP_REACH_SECONDS, mostPerKind: CLIPS_PER_KIND } },
    (bytes) => {
      digest.update(bytes)
      inputBytes += bytes.length
    },
  )
  const subject: PageSubject = inFile(file, () => ({
    file,
    measurement,
    picture: found(() => {
      if (measurement.main.picture?.planes.every((role) => role === 'display-enable'))
        throw new SignalError(
          'VIDEO_NOT_FOUND',
          'no colour channel was captured: there is nothing to draw',
          {},
        )
      const frame = renderFrame(measurement, { palette: options.palette })
      return { frame, png: encodePng(frame) }
    }),
    sampling: found(() => samplingAnswer(file, measurement, options, adapter)),
    adapter,
    output: found(() => outputAnswer(file, measurement, options, adapter)),
    made: {
      version: VERSION,
      command: ['rastertap', ...argv].map(commandWord).join(' '),
      inputBytes,
      inputSha256: digest.digest('hex'),
    },
    code,
  }))
  const page = new TextEncoder().encode(reportPage(subject))
  await writeWhole(output, page, force)
  const head = `${printable(output)}: ${Math.ceil(page.length / 1000)} kB. `
  const sentence = verdict(measurement, measurePulses(measurement))
  await print(io, `${wrapped(printable(head + sentence), '').join('\n')}\n`)
  return EXIT.done
}

/** What the library cannot give of this capture is told on the page; a name that the user got wrong is an error. */
function found<T>(work: () => T): Found<T> {
  try {
    return { value: work(), missing: null }
  } catch (error) {
    if (!(error instanceof CaptureError) || error.code === 'PALETTE_UNKNOWN') throw error
    return { value: null, missing: error.message }
  }
}

function samplingAnswer(
  file: string,
  { main }: CaptureMeasurement,
  options: ReportCommandOptions,
  adapter: AdapterDescription,
): SamplingAnswer {
  const measured = measuredSignal(main)
  const clockHz = options.clock ?? adapter.clockHz
  const { clockHz: _fixed, clocksPerDot: _perDot, ...others } = adapter
  try {
    return {
      file,
      ...measured,
      given: clockHz === undefined ? null : planForClock(measured.signal, clockHz, adapter),
      found: findPlans(measured.signal, adapter.pll ? adapter : others),
      plansFrom: adapter.pll ? 'pll' : 'multiples',
      clockTolerancePpm: adapter.clockTolerancePpm ?? null,
    }
  } catch (error) {
    // the description allows more settings than can be tried
    if (error instanceof RangeError)
      throw new UsageError(error.message, 'narrow the ranges in the description')
    throw error
  }
}

function outputAnswer(
  file: string,
  { main }: CaptureMeasurement,
  options: ReportCommandOptions,
  adapter: AdapterDescription,
): OutputAnswer {
  const measured = inputOfSegment(main)
  const ramBytes = options.ram ?? adapter.ramBytes
  const bitsPerDot = adapter.bitsPerDot ?? 8
  const choices = outputChoices(measured.input, STANDARDS, {
    ...(ramBytes === undefined ? {} : { ramBytes }),
    bitsPerDot,
    adapter,
  })
  return { file, measured, ramBytes: ramBytes ?? null, bitsPerDot, choices }
}
