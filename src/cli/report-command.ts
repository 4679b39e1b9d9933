// `report` as commander sees it. Loaded when called, like the other commands.

import type { Command } from 'commander'
import type { ReportCommandOptions } from './commands/report.ts'
import type { Io } from './io.ts'
import { addCaptureOptions, parseBytes, parseFrequency } from './options.ts'

/**
 * @param argv the whole command line: it goes into the page
 * @param setStatus takes the exit status
 */
export function addReportCommand(
  program: Command,
  argv: readonly string[],
  io: Io,
  setStatus: (status: number) => void,
): void {
  addCaptureOptions(program.command('report'))
    .description('write one page with all of it: picture, timing drawings, faults, eyes, plans, choices')
    .requiredOption('-o, --output <file.html>', 'page to write; it needs no network and no other file')
    .option('--clock <hz>', 'sampling clock to ask about, such as 270M', parseFrequency)
    .option('--ram <bytes>', 'memory for the picture, such as 264K', parseBytes)
    .option('--palette <name>', 'rgbi, rgbi-no-brown, rgbrgb, rgb, mono or grey; by the mode without it')
    .option('--adapter <file.json>', 'what the adapter is built of')
    .option('--force', 'replace an existing file')
    .addHelpText('after', '\nexample:\n  rastertap report capture.vcd -o report.html\n')
    .action(async (file: string, options: ReportCommandOptions) => {
      const { report } = await import('./commands/report.ts')
      setStatus(await report(file, options, argv, io))
    })
}
