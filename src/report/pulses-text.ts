// Judged sync pulses → what a person at a bench reads: is the sync clean, what is wrong and why, what removes it, how
// steady it is. 80 columns.

import type {
  JitterSeconds,
  PulseFault,
  PulseFrame,
  PulseMeasurement,
  PulseRemedy,
  SecondsRange,
} from '../measure-pulses.ts'
import { CAUSE_REMEDIES, FAULT_CAUSES } from '../sync/fault-cause.ts'
import { FAULT_KINDS } from '../sync/sync-fault.ts'
import type { Ink } from './ink.ts'
import { count, plain } from './number-text.ts'
import { printable } from './printable.ts'
import { section, table } from './section.ts'
import { stripChart, type StripChart } from './strip-chart.ts'
import { wrapped } from './wrapped.ts'

/** Faults printed one by one; --json lists more. */
const SHOWN_FAULTS = 16
const SHOWN_FRAMES = 8
const CHART_COLUMNS = 64
const CHART_ROWS = 6
/** Samples that the chart's scale covers at least. */
const CHART_SAMPLES = 12
/** Mains and twice mains, in hertz, as a rectifier shows it. */
const MAINS_HZ = [50, 60, 100, 120]

/** What the text needs beside the measurement. */
export interface PulsesTextOptions {
  file: string
  /** Express filters in clocks of this frequency too. */
  clockHz?: number | undefined
  /** Scanline period against scanline number, seconds. */
  chart?: StripChart | undefined
  /** Which stretch of equal timing is judged, where there are several. */
  stretch?: { index: number; count: number; startSeconds: number; endSeconds: number } | undefined
  /** Sample interval, seconds: the chart's scale covers several. */
  sampleSeconds?: number | undefined
}

export function pulsesText(pulses: PulseMeasurement, options: PulsesTextOptions, ink: Ink): string {
  const lines = [
    ...headline(pulses, options.file, ink),
    ...stretchLines(options),
    ...faultTable(pulses, ink),
    ...section('Likely causes, and what to do', causes(pulses), ink),
    ...section(
      'Filters that keep every true pulse and drop every false one',
      filters(pulses, options.clockHz),
      ink,
    ),
    ...frameTable(pulses, ink),
    ...section('Not judged', notJudged(pulses), ink),
    ...jitterLines(pulses, ink),
    ...chartLines(options, ink),
  ]
  return `${lines.join('\n')}\n`
}

function headline(pulses: PulseMeasurement, file: string, ink: Ink): string[] {
  const { faultCounts } = pulses
  const kinds = FAULT_KINDS.filter((kind) => faultCounts[kind] > 0)
  const name = file === '-' ? 'standard input' : printable(file)
  if (kinds.length === 0 && pulses.oddFrames === 0 && pulses.phaseBreaks === 0) {
    return [ink.good('No sync faults'), ...wrapped(`${name}: ${allWell(pulses)}.`, '  ')]
  }
  const total = kinds.reduce((sum, kind) => sum + faultCounts[kind], 0)
  const list = kinds.map((kind) => `${faultCounts[kind]} ${kind}`).join(', ')
  const found = total > 0 ? [`${count(total, 'sync fault')}: ${list}`] : []
  if (pulses.oddFrames > 0) found.push(`${count(pulses.oddFrames, 'frame')} of unusual length`)
  if (pulses.phaseBreaks > 0)
    found.push(`${count(pulses.phaseBreaks, 'time')} the scanlines went on in another phase`)
  const [head, ...more] = found
  return [
    ink.odd(head!),
    ...more.flatMap((text) => wrapped(text, '  ')),
    ...wrapped(`${name}: ${effectOf(pulses)}`, '  '),
  ]
}

/** A change of timing is no fault, but whoever looks for faults should know that there is more to look at. */
function stretchLines({ stretch }: PulsesTextOptions): string[] {
  if (!stretch || stretch.count < 2) return []
  const { index, count: stretches, startSeconds, endSeconds } = stretch
  return wrapped(
    `The timing changes: this is stretch ${index} of ${stretches}, ${plain(startSeconds, 's', 4)} to ` +
      `${plain(endSeconds, 's', 4)}; --segment 0 to ${stretches - 1} tell of each.`,
    '  ',
  )
}

function effectOf({ miscounted: { gained, lost } }: PulseMeasurement): string {
  if (gained + lost === 0) return 'a counter of sync edges is not misled.'
  const net = gained - lost
  const parts =
    gained > 0 && lost > 0 ? `gains ${gained} and loses ${lost}` : `is off by ${net > 0 ? '+' : ''}${net}`
  return `a counter of sync edges ${parts} over this stretch, and the picture jumps.`
}

function faultTable({ faults, faultsNotListed }: PulseMeasurement, ink: Ink): string[] {
  if (faults.length === 0) return []
  const rows = [['kind', 'channel', 'time', 'frame', 'scanline', 'offset', 'width', 'cause', 'count']]
  for (const fault of faults.slice(0, SHOWN_FAULTS)) rows.push(faultRow(fault))
  const left = faults.length - SHOWN_FAULTS + faultsNotListed
  const more =
    left > 0 ? [ink.dim(`and ${left} more (--json lists ${faults.length}, --csv writes every pulse)`)] : []
  return ['', ...table(rows, 'llrrrrrlr', ink), ...more]
}

function faultRow(fault: PulseFault): string[] {
  const error = fault.lineCountError
  return [
    fault.kind,
    fault.channel,
    plain(fault.timeSeconds, 's', 6),
    fault.frame < 0 ? '-' : String(fault.frame),
    String(fault.scanline),
    plain(fault.offsetSeconds, 's', 3),
    fault.kind === 'missing' ? '-' : plain(fault.widthSeconds, 's', 3),
    fault.cause,
    error === 0 ? '0' : error > 0 ? '+1' : '-1',
  ]
}

/** Likely causes with what to do about each, as sentences. */
export function causes({ faults, crosstalk }: PulseMeasurement): string[] {
  const items = FAULT_CAUSES.flatMap((cause) => {
    const times = faults.filter((fault) => fault.cause === cause).length
    return times === 0 ? [] : [`${cause} (${times}): ${CAUSE_REMEDIES[cause]}`]
  })
  if (crosstalk.pulses > 0) {
    items.push(
      `of ${count(crosstalk.pulses, 'false pulse')} away from the sync's own edges ${crosstalk.withColourEdge} ` +
        `coincide with a colour edge; as many or more would by chance in ${chance(crosstalk.chance)} of cases`,
    )
  }
  return items
}

function chance(probability: number): string {
  if (probability < 1e-6) return 'fewer than one in a million'
  return probability < 0.01
    ? `${(probability * 100).toPrecision(1)} %`
    : `${(probability * 100).toFixed(0)} %`
}

/** What no fault at all means. */
export function allWell({ notJudged: list }: PulseMeasurement): string {
  const which = list.length > 0 ? 'sync pulse that could be judged' : 'sync pulse'
  return `every ${which} is where it belongs`
}

/** Where faults would not have been seen, as sentences. */
export function notJudged({ notJudged: list }: PulseMeasurement): string[] {
  return list.map(({ what, count: times }) => {
    switch (what) {
      case 'first-pulses':
        return `before the first pulse there was time for ${times} more: in or next to a vsync that may be right`
      case 'last-pulses':
        return (
          `after the last pulse there was time for ${times} more: next to a vsync that may be right, and without ` +
          'a captured vsync nothing tells'
        )
      case 'vertical-intervals':
        return (
          `${count(times, 'vertical interval')} of the composite sync: it takes three frames of the same kind, six fields ` +
          'where they are interlaced'
        )
      case 'half-scanline-pulses':
        return (
          `${count(times, 'pulse')} half a scanline from where sync is, near either end or beside a broad pulse: ` +
          'a vsync that was not captured whole may have equalizing pulses there'
        )
    }
  })
}

/** Filters that keep every true pulse and drop every false one, as sentences; empty without false ones. */
export function filters({ remedy, vsyncRemedy }: PulseMeasurement, clockHz: number | undefined): string[] {
  return [...filtersFor(remedy, clockHz), ...filtersFor(vsyncRemedy, clockHz).map((item) => `vsync: ${item}`)]
}

function filtersFor(remedy: PulseRemedy | null, clockHz: number | undefined): string[] {
  if (!remedy) return []
  const { holdOffSeconds: holdOff, minimumPulseSeconds: minimum, combined } = remedy
  const items = [
    holdOff
      ? `hold-off after a leading edge: ${range(holdOff, clockHz)}`
      : 'no hold-off does it: a false edge comes as late after a true one as the next true one may',
    minimum
      ? `minimum pulse width: ${range(minimum, clockHz)}`
      : 'no minimum pulse width does it: a false pulse is as wide as a true one',
  ]
  if (combined) {
    items.push(
      `both together do: minimum pulse width ${range(combined.minimumPulseSeconds, clockHz)}, ` +
        `then hold-off ${range(combined.holdOffSeconds, clockHz)}`,
    )
  } else if (!holdOff && !minimum) items.push('nor do both together: mend the cause')
  return items
}

function range({ min, max }: SecondsRange, clockHz: number | undefined): string {
  const text = `${plain(min, 's', 3)} to ${plain(max, 's', 3)}`
  if (clockHz === undefined) return text
  const [from, to] = [Math.ceil(min * clockHz), Math.floor(max * clockHz)]
  return from <= to ? `${text} (${from} to ${to} clocks)` : `${text} (no whole number of clocks)`
}

/** Frames of unusual length, and those that a counter of leading edges miscounts, with how far it is off. */
export function oddFrames(pulses: PulseMeasurement): (PulseFrame & { off: number })[] {
  const errors = miscountsByFrame(pulses)
  return pulses.frames
    .map((frame) => ({
      ...frame,
      off: errors ? (errors.get(frame.frame) ?? 0) : frame.countedEdges - Math.round(frame.scanlines),
    }))
    .filter(({ scanlines, off }) => scanlines !== pulses.usualScanlines || off !== 0)
}

function frameTable(pulses: PulseMeasurement, ink: Ink): string[] {
  const rows = [['frame', 'scanlines', 'edges counted', 'off by']]
  for (const { frame, scanlines, countedEdges, off } of oddFrames(pulses))
    rows.push([String(frame), String(scanlines), String(countedEdges), off > 0 ? `+${off}` : String(off)])
  if (rows.length === 1) return []
  const more = rows.length - 1 - SHOWN_FRAMES
  return [
    '',
    ink.strong('Frames as a counter of leading edges counts them'),
    ...table(rows.slice(0, 1 + SHOWN_FRAMES), 'rrrr', ink),
    ...(more > 0 ? [ink.dim(`and ${more} more`)] : []),
  ]
}

/** Gains and losses by frame. A source without hsync in vsync has fewer edges than scanlines, and that is no loss. */
function miscountsByFrame({ faults, faultsNotListed }: PulseMeasurement): Map<number, number> | undefined {
  if (faultsNotListed > 0) return undefined
  const errors = new Map<number, number>()
  for (const { frame, lineCountError } of faults) errors.set(frame, (errors.get(frame) ?? 0) + lineCountError)
  return errors
}

function jitterLines({ jitter }: PulseMeasurement, ink: Ink): string[] {
  if (!jitter) return []
  const { details } = jitter
  const row = (label: string, { observedSeconds, resolutionSeconds }: JitterSeconds): string[] => [
    label,
    plain(observedSeconds, 's', 3),
    plain(resolutionSeconds, 's', 3),
  ]
  const rows = [
    ['', 'observed', 'of which sampling'],
    row('period, RMS', details.periodRms),
    row('period, peak to peak', details.periodPeakToPeak),
    row('cycle to cycle, RMS', details.cycleToCycleRms),
    row('time interval error, RMS', details.timeIntervalErrorRms),
    row('time interval error, peak', details.timeIntervalErrorPeak),
  ]
  const { value, uncertainty } = jitter.randomSeconds
  const verdict = jitter.belowResolution
    ? `The random jitter is below what this capture can resolve (about ${plain(uncertainty, 's', 2)}).`
    : `An edge jitters by ${plain(value, 's', 3)} RMS ± ${plain(uncertainty, 's', 1)}, sampling taken out.`
  const lines = ['', ink.strong('Steadiness'), ...table(rows, 'lrr', ink), ...wrapped(verdict, '')]
  if (jitter.periodic) {
    const { frequencyHz, amplitudeSeconds } = jitter.periodic
    const mains = MAINS_HZ.find((hz) => Math.abs(hz - frequencyHz.value) <= 2 * frequencyHz.uncertainty)
    const name = mains === undefined ? '' : `, the mains or twice its rate`
    lines.push(
      ...wrapped(
        `A regular component of ${plain(amplitudeSeconds, 's', 3)} at ${plain(frequencyHz.value, 'Hz', 4)} ± ` +
          `${plain(frequencyHz.uncertainty, 'Hz', 1)}${name} (or folded down from a faster one).`,
        '',
      ),
    )
  }
  return lines
}

function chartLines({ chart, sampleSeconds = 0 }: PulsesTextOptions, ink: Ink): string[] {
  if (!chart || chart.y.length < 2) return []
  const lines = stripChart(
    chart,
    CHART_COLUMNS,
    CHART_ROWS,
    (value) => `${(value * 1e6).toFixed(3)} us`,
    CHART_SAMPLES * sampleSeconds,
  )
  return ['', ink.strong('Scanline period against scanline'), ...lines]
}
