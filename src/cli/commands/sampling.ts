// sampling (CAPTURE | --dot-clock HZ --active DOTS): why do I see vertical bands, which clock must I run?

import type { AdapterDescription } from '../../adapter/adapter-description.ts'
import { findPlans, planForClock } from '../../adapter/plan-search.ts'
import { measuredSignal } from '../../adapter/segment-signal.ts'
import { samplingReport, type SamplingAnswer } from '../../report/sampling-report.ts'
import { samplingText } from '../../report/sampling-text.ts'
import { inFile } from '../in-file.ts'
import { inkFor } from '../ink-for.ts'
import type { Io } from '../io.ts'
import { EXIT } from '../main.ts'
import type { CaptureOptions } from '../options.ts'
import { print, printJson } from '../print.ts'
import { readAdapter } from '../read-adapter.ts'
import { readCapture } from '../read-capture.ts'
import { UsageError } from '../usage-error.ts'

/** Options of `sampling` beside those of the capture. */
export interface SamplingCommandOptions extends CaptureOptions {
  dotClock?: number
  active?: number
  clock?: number
  clocksPerDot?: number
  adapter?: string
  json?: boolean
}

/** @returns exit status */
export async function sampling(
  file: string | undefined,
  options: SamplingCommandOptions,
  io: Io,
): Promise<number> {
  checkNumbers(file, options)
  const adapter = await readAdapter(options.adapter)
  const measured = await signalOf(file, options, io)
  const clockHz = options.clock ?? adapter.clockHz
  const fixed = options.clocksPerDot === undefined ? {} : { clocksPerDot: options.clocksPerDot }
  const given =
    clockHz === undefined ? null : planForClock(measured.signal, clockHz, { ...adapter, ...fixed })
  if (options.clocksPerDot !== undefined && given === null && adapter.pll === undefined)
    throw new UsageError('--clocks-per-dot is wanted with a clock', 'give one with --clock or --adapter')
  // a fixed clock has one plan; beside it stands what another clock could do
  const { clockHz: _fixed, clocksPerDot: _perDot, ...others } = adapter
  const searched: AdapterDescription = adapter.pll ? { ...adapter, ...(given ? {} : fixed) } : others
  const answer: SamplingAnswer = {
    file: file ?? null,
    ...measured,
    given,
    found: searchPlans(measured.signal, searched),
    plansFrom: adapter.pll ? 'pll' : 'multiples',
    clockTolerancePpm: adapter.clockTolerancePpm ?? null,
  }
  if (options.json) await printJson(io, samplingReport(answer))
  else await print(io, samplingText(answer, inkFor(io)))
  return EXIT.done
}

function checkNumbers(file: string | undefined, { dotClock, active }: SamplingCommandOptions): void {
  const byHand = dotClock !== undefined || active !== undefined
  if (file !== undefined && byHand)
    throw new UsageError('a capture and --dot-clock or --active exclude each other', 'leave one of them out')
  if (file === undefined && (dotClock === undefined || active === undefined))
    throw new UsageError(
      byHand
        ? '--dot-clock and --active are wanted together'
        : 'a capture is wanted, or --dot-clock with --active',
      'rastertap sampling --dot-clock 16.257M --active 720',
    )
}

async function signalOf(
  file: string | undefined,
  options: SamplingCommandOptions,
  io: Io,
): Promise<Pick<SamplingAnswer, 'signal' | 'jitter' | 'dotClockAssumed' | 'activeAssumed'>> {
  if (file === undefined)
    return {
      signal: { dotClockHz: { value: options.dotClock!, uncertainty: 0 }, activeDots: options.active! },
      jitter: { cardRmsSeconds: null, instrumentRmsSeconds: null },
      dotClockAssumed: false,
      activeAssumed: false,
    }
  const { main } = await readCapture(file, options, io, { keepSignal: true })
  return inFile(file, () => measuredSignal(main))
}

function searchPlans(signal: SamplingAnswer['signal'], adapter: AdapterDescription): SamplingAnswer['found'] {
  try {
    return findPlans(signal, adapter)
  } catch (error) {
    // the description allows more settings than can be tried
    if (error instanceof RangeError)
      throw new UsageError(error.message, 'narrow the ranges in the description')
    throw error
  }
}
