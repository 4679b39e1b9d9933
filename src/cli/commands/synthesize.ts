// synthesize -o FILE: I have no capture yet.

import { readFile } from 'node:fs/promises'
import type { ColourWires } from '../../classify/standards.ts'
import { CaptureError } from '../../errors.ts'
import type { Polarity } from '../../measurement.ts'
import { synthesizeReport, synthesizeText } from '../../report/synthesize-report.ts'
import type { CaptureForm, CompositeKind } from '../../signal/choices.ts'
import { mapPicture, type MappedPicture } from '../../signal/map-picture.ts'
import { signalPalette } from '../../signal/signal-channels.ts'
import { activeScanlinesOf, signalTiming, type SignalTiming } from '../../signal/signal-timing.ts'
import { CaptureSynthesizer } from '../../signal/synthesize.ts'
import { drawChart } from '../../signal/test-charts.ts'
import { parseDefect, parseInterval, parseJitter, parseSkew } from '../defect-words.ts'
import { gzipped } from '../gzip.ts'
import { inkFor } from '../ink-for.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import { checkOutputFile, writeWhole } from '../output-file.ts'
import { print, printJson } from '../print.ts'
import { readPng } from '../read-png.ts'
import { UsageError } from '../usage-error.ts'

/** Options as commander gives them; what is said in one word is parsed here. */
export interface SynthesizeCommandOptions {
  output: string
  mode?: string
  dotClock?: number
  horizontal?: string
  vertical?: string
  polarity?: string
  interlaced?: boolean
  colour?: ColourWires
  picture?: string
  chart?: string
  rate?: number
  frames?: number
  startPhase?: number
  clockError?: number
  skew?: readonly string[]
  jitter?: readonly string[]
  defect?: readonly string[]
  composite?: CompositeKind | true
  format?: CaptureForm
  seed?: number
  force?: boolean
  json?: boolean
}

/** Rates that instruments commonly have. */
const USUAL_RATES_HZ = [24e6, 50e6, 100e6, 200e6, 400e6, 800e6] as const
/** Samples per dot that show every dot, with something to spare. */
const ENOUGH_SAMPLES = 1.4
const USUAL = { frames: 3, chart: 'card', seed: 1 } as const

/** @returns exit status */
export async function synthesize(options: SynthesizeCommandOptions, io: Io): Promise<number> {
  const { output, force = false, frames = USUAL.frames, seed = USUAL.seed } = options
  const form = formOf(options)
  const { timing, sampleRateHz } = fromOptions(() => timingAndRate(options))
  await checkOutputFile(output, force, options.picture ?? null, io, 'picture')
  const { chart, mapped } = await pictureOf(options, timing)
  const synthesizer = fromOptions(
    () =>
      new CaptureSynthesizer({
        timing,
        picture: mapped.picture,
        sampleRateHz,
        frames,
        startPhase: options.startPhase,
        clockErrorPpm: options.clockError,
        skewSeconds: parseSkew(options.skew ?? []),
        jitter: parseJitter(options.jitter ?? []),
        defects: options.defect?.map(parseDefect),
        composite: options.composite === true ? 'xor' : options.composite,
        form,
        seed,
      }),
  )
  const chunks = synthesizer.chunks()
  await writeWhole(output, /\.gz$/i.test(output) ? gzipped(chunks) : chunks, force)
  const { channels, samples, durationSeconds, transitions, defects } = synthesizer.summary
  const report = synthesizeReport({
    file: output,
    mode: timing.id,
    sampleRateHz,
    frames,
    transitions,
    defects,
    form,
    seed,
    samples,
    durationSeconds,
    channels: [...channels],
    chart,
    picture:
      options.picture === undefined
        ? null
        : { file: options.picture, scaled: mapped.scaled, dotsChanged: mapped.dotsChanged },
  })
  if (options.json) await printJson(io, report)
  else await print(io, synthesizeText(report, timing.name, inkFor(io)))
  return EXIT.done
}

/** What the library finds impossible was asked for on the command line. */
function fromOptions<T>(make: () => T): T {
  try {
    return make()
  } catch (error) {
    if (error instanceof CaptureError && error.code === 'SYNTHESIS_IMPOSSIBLE')
      throw new UsageError(error.message, error.hint)
    throw error
  }
}

function formOf({ output, format }: SynthesizeCommandOptions): CaptureForm {
  const ending = /\.(vcd|csv)(?:\.gz)?$/i.exec(output)?.[1]?.toLowerCase() as 'vcd' | 'csv' | undefined
  const form = format ?? ending
  if (form) return form
  throw new UsageError(
    `the name ${output} does not tell the file's format`,
    'end it in .vcd, .csv, .vcd.gz or .csv.gz, or give --format',
  )
}

function timingAndRate(options: SynthesizeCommandOptions): { timing: SignalTiming; sampleRateHz: number } {
  const { horizontal, vertical } = options
  const [hsyncPolarity, vsyncPolarity] = polaritiesOf(options.polarity)
  const timing = signalTiming(options.mode ?? null, {
    dotClockHz: options.dotClock,
    horizontal: horizontal === undefined ? undefined : parseInterval(horizontal, '--horizontal'),
    vertical: vertical === undefined ? undefined : parseInterval(vertical, '--vertical'),
    interlaced: options.interlaced,
    hsyncPolarity,
    vsyncPolarity,
    colour: options.colour,
  })
  const least = ENOUGH_SAMPLES * timing.dotClockHz
  const usual = USUAL_RATES_HZ.find((rate) => rate >= least) ?? USUAL_RATES_HZ.at(-1)!
  return { timing, sampleRateHz: options.rate ?? usual }
}

function polaritiesOf(text: string | undefined): (Polarity | undefined)[] {
  if (text === undefined) return [undefined, undefined]
  if (!/^[+-]{2}$/.test(text)) {
    throw new UsageError(
      `--polarity ${text}: two signs are wanted`,
      'give hsync, then vsync, such as --polarity=+-',
    )
  }
  return [...text].map((sign) => (sign === '+' ? 'positive' : 'negative'))
}

async function pictureOf(
  { picture: file, chart }: SynthesizeCommandOptions,
  timing: SignalTiming,
): Promise<{ chart: string | null; mapped: MappedPicture }> {
  const [width, height] = [timing.horizontal.active, activeScanlinesOf(timing)]
  const palette = signalPalette(timing)
  if (file === undefined) {
    const name = (chart ?? USUAL.chart).toLowerCase()
    const picture = fromOptions(() => drawChart(name, width, height, palette))
    return { chart: name, mapped: { picture, scaled: false, dotsChanged: 0 } }
  }
  if (chart !== undefined) {
    throw new UsageError('--picture and --chart are both given', 'give one of them')
  }
  const bytes = await readFile(file).catch((cause: NodeJS.ErrnoException) => {
    const reason = cause.code === 'ENOENT' ? 'there is no such file' : (cause.code ?? cause.message)
    throw new UsageError(`the picture ${file} cannot be read: ${reason}`, 'give the name of a PNG file')
  })
  try {
    return { chart: null, mapped: mapPicture(readPng(bytes), width, height, palette) }
  } catch (error) {
    if (error instanceof CaptureError) error.at.file ??= file
    throw error
  }
}
