// Everything that is answered about one capture, as lines of `path: value`: easy to compare, and to read in a review.

import { compareWith } from '../../src/classify/distance.ts'
import type { MeasuredTiming } from '../../src/classify/measured-timing.ts'
import { STANDARDS } from '../../src/classify/standards.ts'
import { CaptureError } from '../../src/errors.ts'
import { CaptureMeasurer, type CaptureMeasurement, type JudgedPulse } from '../../src/measure.ts'
import { measurePulses } from '../../src/measure-pulses.ts'
import type { SegmentMeasurement } from '../../src/measure-segment.ts'
import { dotEyes } from '../../src/page/dot-eye.ts'
import { periodSeries } from '../../src/page/period-series.ts'
import { renderFrame, type RenderedFrame } from '../../src/render-frame.ts'
import { renderMerged } from '../../src/render-merged.ts'
import { identifyReport } from '../../src/report/identify-report.ts'
import type { Answers } from './approval.ts'
import type { ApprovedCapture } from './captures.ts'

const FAULTS_SHOWN = 12

export function answersTo({ bytes, measure, merged = false }: ApprovedCapture): Answers {
  const pulses: JudgedPulse[] = []
  const answers: Answers = new Map()
  const measurement = found(() => {
    const measurer = new CaptureMeasurer({
      keepSignal: true,
      clips: { reachSeconds: 20e-6, mostPerKind: 2 },
      frames: { first: 0, count: merged ? 32 : 2 },
      onPulse: (pulse) => void pulses.push(pulse),
      ...measure,
    })
    measurer.write(bytes())
    return measurer.end()
  })
  if (!('segments' in measurement)) {
    flatten('error', measurement, answers)
    return answers
  }
  const { capture, segments } = identifyReport(measurement, '-')
  const { channels, ...rest } = capture
  flatten('capture', rest, answers)
  flatten('capture.channels', channels.map(({ name, role }) => `${name}=${role}`).join(' '), answers)
  flatten(
    'capture.thresholds',
    channels.flatMap(({ threshold }) => threshold ?? []),
    answers,
  )
  segments.forEach((segment, index) => flatten(`segment ${index}`, segment, answers))
  measurement.segments.forEach((segment, index) => {
    flatten(`segment ${index} sync`, syncOf(measurement, segment), answers)
    flatten(`segment ${index} line`, lineOf(measurement, segment), answers)
    if (segment.signal) flatten(`segment ${index} rows`, rowsFor(segment.signal.rates), answers)
    flatten(`segment ${index} near edges`, segment.colourEdgeShare, answers)
    flatten(
      `segment ${index} frame`,
      found(() => frameOf(renderFrame(measurement, { segment: index }))),
      answers,
    )
    flatten(`segment ${index} eyes`, dotEyes(segment).map(eyeOf), answers)
  })
  if (merged)
    flatten(
      'merged',
      found(() => frameOf(renderMerged(measurement))),
      answers,
    )
  flatten('pulses', pulsesOf(pulses), answers)
  const series = periodSeries(measurement)
  if (series) {
    const { timeMs, periodUs, faultsMs, binUs, counts, ...shape } = series
    const lists = { timeMs, periodUs, faultsMs, binUs, counts }
    flatten('periods', shape, answers)
    for (const [name, list] of Object.entries(lists)) flatten(`periods.${name}`, digest(list), answers)
  }
  flatten('clips', measurement.clips.length, answers)
  return answers
}

/** Of a capture of syncs alone: whose they are, and what is wrong with them. */
export function syncAnswersTo(bytes: Uint8Array): Answers {
  const pulses: JudgedPulse[] = []
  const answers: Answers = new Map()
  const measurement = found(() => {
    const measurer = new CaptureMeasurer({ onPulse: (pulse) => void pulses.push(pulse) })
    measurer.write(bytes)
    return measurer.end()
  })
  if (!('segments' in measurement)) {
    flatten('error', measurement, answers)
    return answers
  }
  const { channels, notices, segments } = measurement
  flatten('channels', channels.map(({ name, role }) => `${name}=${role}`).join(' '), answers)
  for (const { code, count, message } of notices) flatten(`notice ${code}`, `${count}: ${message}`, answers)
  segments.forEach((segment, index) => {
    flatten(`segment ${index}`, syncOf(measurement, segment), answers)
    flatten(`segment ${index} line`, segment.sync.fit(measurement.timebase.resolutionTicks), answers)
  })
  flatten('pulses', pulsesOf(pulses), answers)
  return answers
}

function found<T>(work: () => T): T | { code: string; message: string } {
  try {
    return work()
  } catch (error) {
    if (!(error instanceof CaptureError)) throw error
    return { code: error.code, message: error.message }
  }
}

function syncOf(measurement: CaptureMeasurement, segment: SegmentMeasurement): unknown {
  const { faults, frames, ...rest } = measurePulses(measurement, segment)
  return {
    ...rest,
    faults: faults.slice(0, FAULTS_SHOWN).map((fault) => Object.values(fault).map(digits).join(' ')),
    frames: frames.map(({ scanlines, countedEdges }) => `${scanlines}/${countedEdges}`).join(' '),
  }
}

/** How every row of the catalogue compares. */
export function rowsFor(measured: MeasuredTiming): unknown {
  const all = STANDARDS.map((row) => compareWith(measured, row))
  const list = (of: 'distance' | 'logRow' | 'logKin'): unknown => digest(all.map((one) => one[of]))
  return {
    distance: list('distance'),
    logRow: list('logRow'),
    logKin: list('logKin'),
    logNone: all[0]!.logNone,
    differences: digest(
      all.flatMap(({ differences }) => differences.map(({ inTolerances }) => inTolerances)),
    ),
  }
}

/** What the line through the scanlines leaves over. */
function lineOf({ timebase }: CaptureMeasurement, { sync, picture }: SegmentMeasurement): unknown {
  const residuals = sync.residuals()
  return {
    fit: sync.fit(timebase.resolutionTicks),
    offset: residuals && digest([...residuals.offset]),
    number: residuals && digest([...residuals.number]),
    phase: picture && digest([...picture.raster.phase.byEdge]),
  }
}

/** The picture as a number that any other dot would change (FNV-1a, 32 bits: common practice). */
function frameOf({ codes, palette, ...rest }: RenderedFrame): unknown {
  let hash = 0x811c9dc5
  for (const code of codes) hash = Math.imul(hash ^ code, 0x01000193)
  return { ...rest, palette: palette.name, codes: (hash >>> 0).toString(16) }
}

function eyeOf({ rising, falling, ...rest }: ReturnType<typeof dotEyes>[number]): unknown {
  return { ...rest, rising: digest([...rising]), falling: digest([...falling]) }
}

/** Of each kind how many, and where and how wide they are on the whole. */
function pulsesOf(pulses: readonly JudgedPulse[]): unknown {
  const kinds: Record<string, JudgedPulse[]> = {}
  for (const pulse of pulses) (kinds[`${pulse.channel} ${pulse.kind}`] ??= []).push(pulse)
  return Object.fromEntries(
    Object.entries(kinds).map(([kind, list]) => [
      kind,
      {
        count: list.length,
        time: digest(list.map(({ timeSeconds }) => timeSeconds)),
        scanline: digest(list.map(({ scanline }) => scanline)),
        offset: digest(list.map(({ offsetSeconds }) => offsetSeconds)),
        width: digest(list.map(({ widthSeconds }) => widthSeconds)),
      },
    ]),
  )
}

/** Length, mean and root mean square, which any value moves. */
function digest(values: readonly number[]): unknown {
  const known = values.filter((value) => !Number.isNaN(value))
  if (known.length === 0) return 'none'
  const mean = known.reduce((sum, value) => sum + value, 0) / known.length
  const square = known.reduce((sum, value) => sum + value * value, 0) / known.length
  return { known: known.length, mean, rms: Math.sqrt(square) }
}

export function flatten(path: string, value: unknown, into: Answers): void {
  if (value === undefined) return
  if (value === null || typeof value !== 'object') {
    into.set(path, digits(value))
    return
  }
  const { value: middle, uncertainty } = value as Record<string, unknown>
  if (typeof middle === 'number' && typeof uncertainty === 'number') {
    into.set(path, `${middle.toPrecision(12)} ± ${uncertainty.toPrecision(5)}`)
    return
  }
  for (const [key, one] of Object.entries(value)) flatten(`${path}.${key}`, one, into)
}

function digits(value: unknown): string {
  return typeof value === 'number' && !Number.isInteger(value)
    ? String(Number(value.toPrecision(7)))
    : String(value)
}
