// argv → exit code; the only place where errors become exit codes. Commands are loaded when they are called, so that
// --help and --version cost nothing.

import { Command, CommanderError } from 'commander'
import { CaptureError } from '../errors.ts'
import { printable } from '../report/printable.ts'
import type { Io } from './io.ts'
import { addCaptureOptions, parseIndex, type CaptureOptions } from './options.ts'
import { PlacedError } from './placed-error.ts'
import { OutputError, print } from './print.ts'
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
    return await reportError(error, io)
  } finally {
    // the stream says it once more a little later
    await new Promise((resolve) => setImmediate(resolve))
    io.stdout.off('error', unheard)
    io.stderr.off('error', unheard)
  }
}

async function run(argv: readonly string[], io: Io): Promise<number> {
  let status: number = EXIT.done
  let help = ''
  const program = buildProgram(
    io,
    (code) => {
      status = code
    },
    (text) => {
      help += text
    },
  )
  try {
    await program.parseAsync([...argv], { from: 'user' })
  } catch (error) {
    // commander throws for --help and --version too
    if (!(error instanceof CommanderError)) throw error
    status = error.exitCode === 0 ? EXIT.done : EXIT.usage
  }
  if (help !== '') await print(io, help)
  return status
}

async function reportError(error: unknown, io: Io): Promise<number> {
  if (error instanceof OutputError) {
    // whoever read the pipe has seen enough
    if (error.isClosedPipe) return EXIT.done
    io.stderr.write(`rastertap: cannot write the answer: ${error.message}\n`)
    return EXIT.usage
  }
  const capture = error instanceof PlacedError ? error.captureError : error
  if (capture instanceof CaptureError) {
    const { captureErrorText } = await import('./print-error.ts')
    io.stderr.write(captureErrorText(capture, error instanceof PlacedError ? error.position : undefined))
    return EXIT.usage
  }
  if (error instanceof UsageError) {
    io.stderr.write(`rastertap: ${printable(error.message)}\n`)
    if (error.hint) io.stderr.write(`hint: ${printable(error.hint)}\n`)
    return EXIT.usage
  }
  const text = error instanceof Error ? (error.stack ?? error.message) : String(error)
  io.stderr.write(`rastertap: this is a bug in rastertap, please report it\n${printableLines(text)}\n`)
  return EXIT.bug
}

/** @param writeOut takes what --help and --version print */
function buildProgram(
  io: Io,
  setStatus: (status: number) => void,
  writeOut: (text: string) => void,
): Command {
  const program = new Command('rastertap')
    .description('Reads a logic-analyzer capture of digital (TTL) video: names the mode, draws the frame.')
    .version(VERSION)
    .exitOverride()
    .configureOutput({
      writeOut,
      writeErr: (text) => io.stderr.write(text),
      outputError: (text, write) => write(printableLines(text)),
    })
    .showSuggestionAfterError()
    .showHelpAfterError('(rastertap --help lists the commands)')
    .addHelpText('after', '\nexample:\n  rastertap identify capture.vcd\n')

  addCaptureOptions(program.command('identify'))
    .description('tell which video mode a capture holds, with every rate, width and porch')
    .option('--json', 'print one JSON object')
    .addHelpText('after', '\nexample:\n  rastertap identify capture.csv.gz --map red=D3,hsync=D6\n')
    .action(async (file: string, options: CaptureOptions & { json?: boolean }) => {
      const { identify } = await import('./commands/identify.ts')
      setStatus(await identify(file, options, io))
    })

  addCaptureOptions(program.command('render'))
    .description('draw a captured frame as a PNG, one pixel per dot, in the colours the monitor would show')
    .requiredOption('-o, --output <file.png>', 'picture to write')
    .option('--frame <n>', 'which whole frame of the stretch, counted from 0', parseIndex)
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
