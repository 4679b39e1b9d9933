// `synthesize` as commander sees it. Loaded when called, like the other commands.

import { InvalidArgumentError, type Command } from 'commander'
import { CAPTURE_FORMS, CHART_PURPOSES, COMPOSITE_KINDS } from '../signal/choices.ts'
import { DEFECT_HELP } from './defect-words.ts'
import type { Io } from './io.ts'
import { parseAmount, parseFrequency, parseNotNegative, parseWhole, parseWord } from './options.ts'
import type { SynthesizeCommandOptions } from './commands/synthesize.ts'

const COLOURS = ['mono', 'rgb', 'rgbi', 'rgbrgb'] as const

/** @param setStatus takes the exit status */
export function addSynthesizeCommand(program: Command, io: Io, setStatus: (status: number) => void): void {
  const charts = Object.entries(CHART_PURPOSES).map(([name, purpose]) => `  ${name.padEnd(12)}  ${purpose}`)
  program
    .command('synthesize')
    .description('make a capture of a known mode or of timings by numbers, with the defects asked for')
    .requiredOption('-o, --output <file>', 'capture to write: .vcd or .csv, with .gz packed')
    .option('--mode <id>', 'mode of the catalogue (rastertap modes); other timing options change it')
    .option('--dot-clock <hz>', 'dot clock, such as 16.257M', parseFrequency)
    .option('--horizontal <dots>', 'active,front,sync,back, such as 640,16,96,48')
    .option('--vertical <scanlines>', 'the same in scanlines of one field')
    .option('--polarity <signs>', 'of hsync and vsync: --polarity=++, =+-, =-+ or =--')
    .option('--interlaced', 'two fields a frame; --vertical then ends in half a scanline')
    .option('--colour <wires>', `colour wires: ${COLOURS.join(', ')}`, parseWord(COLOURS))
    .option('--picture <file.png>', "what is shown, in the mode's nearest colours")
    .option('--chart <name>', 'what is shown, of our own; card without it')
    .option('--rate <hz>', 'sample rate; enough for the mode without it', parseFrequency)
    .option('--frames <n>', 'length in frames, also a fraction; 3 without it', parseAmount)
    .option('--start-phase <share>', 'begin so far into a frame, 0 to 1; 0.6 without it', parseNotNegative)
    .option('--clock-error <ppm>', "how much faster the card's clock runs than nominal", parseSigned)
    .option('--skew <channel=ns,...>', 'delay of a channel, negative is early', listed)
    .option('--jitter <kind=ns[@hz]>', 'what shakes the edges, see below', listed)
    .option('--defect <kind:...>', 'what goes wrong, see below', listed)
    .option(
      '--composite [kind]',
      `both syncs on one wire: ${COMPOSITE_KINDS.join(', ')}`,
      parseWord(COMPOSITE_KINDS),
    )
    .option(
      '--format <name>',
      `${CAPTURE_FORMS.join(', ')}; by the file's name without it`,
      parseWord(CAPTURE_FORMS),
    )
    .option('--seed <n>', 'another number, another chance; 1 without it', parseWhole(0, 999_999_999))
    .option('--force', 'replace an existing file')
    .option('--json', 'print one JSON object')
    .addHelpText('after', `\ncharts (--chart):\n${charts.join('\n')}\n${DEFECT_HELP}`)
    .addHelpText(
      'after',
      '\nexample:\n  rastertap synthesize --mode cga-200 -o cga.vcd.gz --defect ringing:share=0.01\n',
    )
    .action(async (options: SynthesizeCommandOptions) => {
      const { synthesize } = await import('./commands/synthesize.ts')
      setStatus(await synthesize(options, io))
    })
}

/** Collects what is given several times. */
function listed(text: string, before: readonly string[] = []): string[] {
  return [...before, text]
}

function parseSigned(text: string): number {
  const value = /^[+-]?(\d+(\.\d*)?|\.\d+)$/.test(text) ? Number(text) : NaN
  if (!Number.isFinite(value)) throw new InvalidArgumentError('a number is wanted, such as 40 or -25.5')
  return value
}
