// resistors: which resistors?

import type { AdapterDescription, VideoOutputDescription } from '../../adapter/adapter-description.ts'
import type { SeriesName } from '../../adapter/e-series.ts'
import type { NetworkKind } from '../../adapter/resistor-network.ts'
import { designResistors, type ResistorDesign, type ResistorRequest } from '../../adapter/resistor-pick.ts'
import { resistorsReport } from '../../report/resistors-report.ts'
import { resistorsText } from '../../report/resistors-text.ts'
import { inkFor } from '../ink-for.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import { print, printJson } from '../print.ts'
import { readAdapter } from '../read-adapter.ts'
import { UsageError } from '../usage-error.ts'

/** Options of `resistors`; each wins over the description. */
export interface ResistorsCommandOptions {
  supply?: number
  load?: number
  fullScale?: number
  pinOhms?: number
  bits?: number
  network?: 'rgbi' | 'mono'
  series?: SeriesName
  tolerance?: number
  combinations?: boolean
  adapter?: string
  json?: boolean
}

/** @returns exit status */
export async function resistors(options: ResistorsCommandOptions, io: Io): Promise<number> {
  if (options.bits !== undefined && options.network !== undefined)
    throw new UsageError('--bits and --network exclude each other', 'leave one of them out')
  const adapter = await readAdapter(options.adapter)
  const request = requestOf(options, adapter)
  const design = designOf(request)
  if (options.json) await printJson(io, resistorsReport(design))
  else await print(io, resistorsText(design, request.maxPinMilliamps !== undefined, inkFor(io)))
  return EXIT.done
}

function requestOf(options: ResistorsCommandOptions, { output = {} }: AdapterDescription): ResistorRequest {
  const electrics = {
    supplyVolts: options.supply ?? output.supplyVolts,
    loadOhms: options.load ?? output.loadOhms,
    fullScaleVolts: options.fullScale ?? output.fullScaleVolts,
    pinOhms: options.pinOhms ?? output.pinOhms,
  }
  const series = options.series ?? output.series
  // the tolerance described belongs to the series described
  const tolerance =
    options.tolerance ??
    (options.series === undefined || options.series === output.series ? output.tolerancePercent : undefined)
  return {
    network: networkOf(options, output),
    electrics: present(electrics),
    ...present({
      series,
      tolerancePercent: tolerance,
      maxPinMilliamps: output.maxPinMilliamps,
      maxTotalMilliamps: output.maxTotalMilliamps,
    }),
    combinations: options.combinations ?? false,
  }
}

function networkOf({ bits, network }: ResistorsCommandOptions, output: VideoOutputDescription): NetworkKind {
  const chosen = network ?? bits ?? output.network ?? 2
  if (chosen === 'rgbi' || chosen === 'mono') return { kind: chosen }
  return { kind: 'weighted', bits: chosen as 1 | 2 | 3 | 4 }
}

/** Leaves out what is undefined. */
function present<T extends object>(values: T): { [Key in keyof T]?: Exclude<T[Key], undefined> } {
  return Object.fromEntries(Object.entries(values).filter(([, value]) => value !== undefined)) as {
    [Key in keyof T]?: Exclude<T[Key], undefined>
  }
}

function designOf(request: ResistorRequest): ResistorDesign {
  try {
    return designResistors(request)
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(error.message)
    throw error
  }
}
