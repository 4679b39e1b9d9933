// The commands for whoever builds an adapter, as commander sees them. Like the others they are loaded when called.

import type { Command } from 'commander'
import { SERIES_NAMES } from '../adapter/e-series.ts'
import type { Io } from './io.ts'
import {
  addCaptureOptions,
  parseAmount,
  parseBytes,
  parseFrequency,
  parseNotNegative,
  parsePercent,
  parseWhole,
  parseWord,
} from './options.ts'

const ADAPTER = ['--adapter <file.json>', 'what the adapter is built of'] as const
const JSON_OPTION = ['--json', 'print one JSON object'] as const

/** Most frames of a preview: a second of them, which fits into memory. */
const MOST_FRAMES = 60

/** @param setStatus takes the exit status */
export function addAdapterCommands(program: Command, io: Io, setStatus: (status: number) => void): void {
  addCaptureOptions(program.command('sampling'), true)
    .description('tell where a sampling clock makes vertical bands, and which clocks make none')
    .option('--dot-clock <hz>', 'dot clock, in place of a capture', parseFrequency)
    .option('--active <dots>', 'dots shown in a scanline, in place of a capture', parseWhole(1, 100_000))
    .option('--clock <hz>', 'sampling clock to ask about, such as 270M', parseFrequency)
    .option('--clocks-per-dot <n>', 'clocks from one sample to the next; the best without it', parseAmount)
    .option(...ADAPTER)
    .option(...JSON_OPTION)
    .addHelpText('after', '\nexample:\n  rastertap sampling --dot-clock 16.257M --active 640 --clock 270M\n')
    .action(async (file: string | undefined, options: object) => {
      const { sampling } = await import('./commands/sampling.ts')
      setStatus(await sampling(file, options, io))
    })

  addCaptureOptions(program.command('preview'))
    .description('draw what the monitor behind an adapter would show, with its clock and its sync input')
    .requiredOption('-o, --output <file.png>', 'picture to write')
    .option(
      '--clock <hz>',
      'sampling clock, such as 260M; needed unless the adapter is described',
      parseFrequency,
    )
    .option('--clocks-per-dot <n>', 'clocks from one sample to the next; the best without it', parseAmount)
    .option(
      '--count <how>',
      'scanlines are counted by sync edges, or filtered',
      parseWord(['edges', 'filtered']),
    )
    .option('--frames <n>', 'write so many frames, as file-0.png and so on', parseWhole(1, MOST_FRAMES))
    .option('--animate', 'write the frames as one animated PNG')
    .option('--mask <file.png>', 'write which dots differ from the true picture')
    .option(...ADAPTER)
    .option('--force', 'replace existing files')
    .option(...JSON_OPTION)
    .addHelpText(
      'after',
      '\nexample:\n  rastertap preview capture.vcd -o seen.png --clock 270M --count edges\n',
    )
    .action(async (file: string, options: object) => {
      const { preview } = await import('./commands/preview.ts')
      setStatus(await preview(file, options as never, io))
    })

  program
    .command('resistors')
    .description('choose the resistors between logic pins and the colour inputs of a monitor')
    .option('--supply <volts>', 'high level of a pin without load; 3.3 without it', parseAmount)
    .option('--load <ohms>', 'termination in the monitor; 75 without it', parseAmount)
    .option('--full-scale <volts>', 'level of full brightness; 0.7 without it', parseAmount)
    .option('--pin-ohms <ohms>', 'output impedance of a pin; 0 without it', parseNotNegative)
    .option('--bits <n>', 'bits per colour, 1 to 4; 2 without it', parseWhole(1, 4))
    .option('--network <kind>', 'rgbi or mono, in place of --bits', parseWord(['rgbi', 'mono']))
    .option('--series <name>', `${SERIES_NAMES.join(', ')}; E24 without it`, parseWord(SERIES_NAMES))
    .option('--tolerance <percent>', 'of the resistors; what is usual in the series without it', parsePercent)
    .option('--combinations', 'allow two resistors in series or in parallel for one')
    .option(...ADAPTER)
    .option(...JSON_OPTION)
    .addHelpText('after', '\nexample:\n  rastertap resistors --bits 2 --series E96\n')
    .action(async (options: object) => {
      const { resistors } = await import('./commands/resistors.ts')
      setStatus(await resistors(options, io))
    })

  addCaptureOptions(program.command('output'), true)
    .description('tell what to send to a VGA monitor: modes, scanline repetition, memory, beat')
    .option('--mode <id>', 'what the card sends, in place of a capture; `rastertap modes` lists them')
    .option('--ram <bytes>', 'memory for the picture, such as 264K', parseBytes)
    .option('--bits-per-dot <n>', 'bits kept of each dot; 8 without it', parseWhole(1, 32))
    .option('--check <id>', "take the capture for the adapter's own output and check it against this mode")
    .option(...ADAPTER)
    .option(...JSON_OPTION)
    .addHelpText('after', '\nexample:\n  rastertap output --mode cga-200 --ram 264K\n')
    .action(async (file: string | undefined, options: object) => {
      const { output } = await import('./commands/output.ts')
      setStatus(await output(file, options, io))
    })
}
