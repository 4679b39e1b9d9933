// output (CAPTURE | --mode ID): what do I send to the VGA monitor? And, with --check, is that what my adapter sends?

import { inputOfSegment, inputOfStandard, outputOfSegment } from '../../adapter/input-mode.ts'
import { checkOutput } from '../../adapter/output-check.ts'
import { outputChoices } from '../../adapter/output-modes.ts'
import type { Standard } from '../../classify/standard.ts'
import { standardById, STANDARDS } from '../../classify/standards.ts'
import { outputCheckText } from '../../report/output-check-text.ts'
import { outputCheckReport, outputReport, type OutputAnswer } from '../../report/output-report.ts'
import { outputText } from '../../report/output-text.ts'
import { inFile } from '../in-file.ts'
import { inkFor } from '../ink-for.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { print, printJson } from '../print.ts'
import { readAdapter } from '../read-adapter.ts'
import { readCapture } from '../read-capture.ts'
import { UsageError } from '../usage-error.ts'

/** Options of `output` beside those of the capture. */
export interface OutputCommandOptions extends CaptureOptions {
  mode?: string
  ram?: number
  bitsPerDot?: number
  check?: string
  adapter?: string
  json?: boolean
}

/** @returns exit status: `no` where nothing fits, or the check fails */
export async function output(
  file: string | undefined,
  options: OutputCommandOptions,
  io: Io,
): Promise<number> {
  if (options.check !== undefined) return await check(file, options.check, options, io)
  if ((file === undefined) === (options.mode === undefined))
    throw new UsageError(
      file === undefined ? 'a capture is wanted, or --mode' : 'a capture and --mode exclude each other',
      'rastertap output --mode cga-200',
    )
  const row = options.mode === undefined ? undefined : knownMode(options.mode)
  const adapter = await readAdapter(options.adapter)
  const ramBytes = options.ram ?? adapter.ramBytes
  const bitsPerDot = options.bitsPerDot ?? adapter.bitsPerDot ?? 8
  const measured = row ? inputOfStandard(row) : await measuredInput(file!, options, io)
  const choices = outputChoices(measured.input, STANDARDS, {
    ...(ramBytes === undefined ? {} : { ramBytes }),
    bitsPerDot,
    adapter,
  })
  const answer: OutputAnswer = {
    file: file ?? null,
    measured,
    ramBytes: ramBytes ?? null,
    bitsPerDot,
    choices,
  }
  if (options.json) await printJson(io, outputReport(answer))
  else await print(io, outputText(answer, inkFor(io)))
  return choices.some(({ fits }) => fits) ? EXIT.done : EXIT.no
}

async function check(
  file: string | undefined,
  id: string,
  options: OutputCommandOptions,
  io: Io,
): Promise<number> {
  if (file === undefined || options.mode !== undefined)
    throw new UsageError(
      file === undefined
        ? '--check wants a capture of the sync pins'
        : '--check and --mode exclude each other',
      'rastertap output capture.vcd --check vga-480-60',
    )
  const row = knownMode(id)
  const { main } = await readCapture(file, options, io)
  const answer = { file, check: checkOutput(outputOfSegment(main), row) }
  if (options.json) await printJson(io, outputCheckReport(answer))
  else await print(io, outputCheckText(answer, inkFor(io)))
  return answer.check.pass ? EXIT.done : EXIT.no
}

async function measuredInput(
  file: string,
  options: OutputCommandOptions,
  io: Io,
): Promise<OutputAnswer['measured']> {
  const { main } = await readCapture(file, options, io)
  return inFile(file, () => inputOfSegment(main))
}

function knownMode(id: string): Standard {
  const row = standardById(id)
  if (row) return row
  const near = STANDARDS.map((known) => known.id).filter(
    (known) => known.startsWith(id.slice(0, 3)) || known.includes(id),
  )
  throw new UsageError(
    `there is no mode ${id}`,
    near.length > 0
      ? `such as ${near.slice(0, 4).join(', ')}; \`rastertap modes\` lists all`
      : '`rastertap modes` lists the known ones',
  )
}
