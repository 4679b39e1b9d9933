// argv → exit code; the only place where errors become exit codes. Commands are loaded when they are called, so that
// --help and --version cost nothing.

import { Command, CommanderError } from 'commander'
import { CaptureError } from '../errors.ts'
import { printable } from '../report/printable.ts'
import { addAdapterCommands } from './adapter-commands.ts'
import type { Io } from './io.ts'
import type { IdentifyCommandOptions } from './commands/identify.ts'
import type { PulsesCommandOptions } from './commands/pulses.ts'
import {
  addCaptureOptions,
  parseFrame,
  parseFramePair,
  parseFrequency,
  parseIndex,
  parseMergeCount,
  type CaptureOptions,
} from './options.ts'
import { PlacedError } from './placed-error.ts'
import { complain, OutputError, print } from './print.ts'
import { addReportCommand } from './report-command.ts'
import { addSynthesizeCommand } from './synthesize-command.ts'
import { UsageError } from './usage-error.ts'
import { VERSION } from './version.ts'

/** Exit statuses: done; measured, but the answer is no; usage or capture error; a bug of ours. */
export const EXIT = { done: 0, no: 1, usage: 2, bug: 70 } as const

/**
 * Runs one command.
 * @param argv words after the program's name
 * @returns exit status, one of EXIT
 */
export async function main(argv: readonly string[], io: Io): Promise<number> {
  // a failed write comes back through its callback; unheard, Node would end the process over it as well
  const unheard = (): void => undefined
  io.stdout.on('error', unheard)
  io.stderr.on('error', unheard)
  try {
    return await run(argv, io)
  } catch (error) {
    const { status, text } = await verdictOn(error)
    await complain(io, text)
    return status
  } finally {
    // the stream says it once more a little later
    await new Promise((resolve) => setImmediate(resolve))
    io.stdout.off('error', unheard)
    io.stderr.off('error', unheard)
  }
}

async function run(argv: readonly string[], io: Io): Promise<number> {
  let status: number = EXIT.done
  const said = { out: '', error: '' }
  const program = buildProgram(argv, io, said, (code) => {
    status = code
  })
  try {
    await program.parseAsync([...argv], { from: 'user' })
  } catch (error) {
    // commander throws for --help and --version too
    if (!(error instanceof CommanderError)) throw error
    status = error.exitCode === 0 ? EXIT.done : EXIT.usage
  }
  await complain(io, said.error)
  if (said.out !== '') await print(io, said.out)
  return status
}

async function verdictOn(error: unknown): Promise<{ status: number; text: string }> {
  if (error instanceof OutputError) {
    // whoever read the pipe has seen enough
    if (error.isClosedPipe) return { status: EXIT.done, text: '' }
    return { status: EXIT.usage, text: `rastertap: cannot write the answer: ${error.message}\n` }
  }
  const [capture, position] =
    error instanceof PlacedError ? [error.captureError, error.position] : [error, undefined]
  if (capture instanceof CaptureError) {
    const { captureErrorText } = await import('./print-error.ts')
    return { status: EXIT.usage, text: captureErrorText(capture, position) }
  }
  if (error instanceof UsageError) {
    const hint = error.hint ? `hint: ${printable(error.hint)}\n` : ''
    return { status: EXIT.usage, text: `rastertap: ${printable(error.message)}\n${hint}` }
  }
  const stack = error instanceof Error ? (error.stack ?? error.message) : String(error)
  return {
    status: EXIT.bug,
    text: `rastertap: this is a bug in rastertap, please report it\n${printableLines(stack)}\n`,
  }
}

/** Of commands that measure a few frames, however long the capture is. */
const QUICK = 'read no further than the frames that are wanted'

/** @param said takes what commander prints by itself: help, version, complaints */
function buildProgram(
  argv: readonly string[],
  io: Io,
  said: { out: string; error: string },
  setStatus: (status: number) => void,
): Command {
  const program = new Command('rastertap')
    .description('Reads a logic-analyzer capture of digital (TTL) video: names the mode, draws the frame.')
    .version(VERSION)
    .exitOverride()
    .configureOutput({
      writeOut: (text) => (said.out += text),
      writeErr: (text) => (said.error += text),
      outputError: (text, write) => write(printableLines(text)),
    })
    .showSuggestionAfterError()
    .showHelpAfterError('(rastertap --help lists the commands)')
    .addHelpText('after', '\nexample:\n  rastertap identify capture.vcd\n')

  addCaptureOptions(program.command('identify'))
    .description('tell which video mode a capture holds, with every rate, width and porch')
    .option('--timing', 'draw one scanline and one frame to scale')
    .option('--quick', QUICK)
    .option('--json', 'print one JSON object')
    .addHelpText('after', '\nexample:\n  rastertap identify capture.csv.gz --map red=D3,hsync=D6\n')
    .action(async (file: string, options: IdentifyCommandOptions) => {
      const { identify } = await import('./commands/identify.ts')
      setStatus(await identify(file, options, io))
    })

  addCaptureOptions(program.command('render'))
    .description('draw a captured frame as a PNG, one pixel per dot, in the colours the monitor would show')
    .option('-o, --output <file.png>', 'picture to write')
    .option('--terminal', 'draw into the terminal, in its own width')
    .option('--aspect', "whole blocks of square pixels, in the monitor's shape")
    .option(
      '--frame <n|all>',
      'which whole frame of the stretch, counted from 0; all: numbered files',
      parseFrame,
    )
    .option(
      '--merge [n]',
      'put so many frames (all without a number) between each other: every dot of a still picture, also where ' +
        'the sample rate is below the dot clock',
      parseMergeCount,
    )
    .option('--quick', QUICK)
    .option('--sheet', 'with --frame all: one contact sheet')
    .option('--difference <a,b>', 'draw where two frames differ', parseFramePair)
    .option(
      '--segment <n>',
      'which stretch of equal timing, counted from 0; the longest without it',
      parseIndex,
    )
    .option('--palette <name>', 'rgbi, rgbi-no-brown, rgbrgb, rgb, mono or grey; by the mode without it')
    .option('--full-raster', 'draw sync and porches too')
    .option('--force', 'replace an existing file')
    .option('--json', 'print one JSON object')
    .addHelpText('after', '\nexample:\n  rastertap render capture.vcd -o frame.png\n')
    .action(async (file: string, options: CaptureOptions & Record<string, never>) => {
      const { render } = await import('./commands/render.ts')
      setStatus(await render(file, options as never, io))
    })

  addCaptureOptions(program.command('pulses'))
    .description('find every extra, missing and misplaced sync pulse, say why, and which filter removes it')
    .option(
      '--segment <n>',
      'which stretch of equal timing, counted from 0; the longest without it',
      parseIndex,
    )
    .option('--clock <hz>', 'adapter clock: filters are given in its clocks too', parseFrequency)
    .option('--plot', 'draw scanline period against scanline')
    .option('--csv <file.csv>', 'write one row per pulse')
    .option('--force', 'replace an existing file')
    .option('--json', 'print one JSON object')
    .addHelpText('after', '\nexample:\n  rastertap pulses capture.vcd --clock 125M --plot\n')
    .action(async (file: string, options: PulsesCommandOptions) => {
      const { pulses } = await import('./commands/pulses.ts')
      setStatus(await pulses(file, options, io))
    })

  addAdapterCommands(program, io, setStatus)
  addSynthesizeCommand(program, io, setStatus)
  addReportCommand(program, argv, io, setStatus)

  program
    .command('modes')
    .description('list the known modes with their timings and sources')
    .option('--json', 'print one JSON object')
    .addHelpText('after', '\nexample:\n  rastertap modes --json\n')
    .action(async (options: { json?: boolean }) => {
      const { modes } = await import('./commands/modes.ts')
      setStatus(await modes(options, io))
    })
  return program
}

/** commander quotes what the user typed; each line stays a line. */
function printableLines(text: string): string {
  return text.split('\n').map(printable).join('\n')
}
