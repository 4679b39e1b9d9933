// A measurement → what a person at a bench reads: what it is, measured against nominal, what is odd, what to do next.
// 80 columns.

import type { Candidate } from '../classify/classify.ts'
import type { CaptureMeasurement } from '../measure.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import { FAULT_KINDS } from '../sync/sync-fault.ts'
import { missingEvidence } from './missing-evidence.ts'
import { differenceText } from './difference-text.ts'
import type { Ink } from './ink.ts'
import { count, percent, plain } from './number-text.ts'
import { printable } from './printable.ts'
import { shellWord } from './shell-word.ts'
import { section } from './section.ts'
import { timingRows } from './timing-rows.ts'
import { COLUMNS, wrapped } from './wrapped.ts'

/** @param file name as the user gave it */
export function identifyText(measurement: CaptureMeasurement, file: string, ink: Ink): string {
  const { main, segments } = measurement
  const lines = [
    ...headline(main, ink),
    ...captureLines(measurement, file, ink),
    '',
    ...table(main, ink),
    ink.dim("± is what this capture resolves (k = 1); the instrument's own clock, often 50 to"),
    ink.dim('100 ppm off, comes on top.'),
    ...section('What is odd', oddities(measurement), ink),
    ...section(
      'What is missing',
      missingEvidence(main, measurement).map(({ message }) => message),
      ink,
    ),
    ...section('What to do next', nextSteps(measurement, file), ink),
  ]
  if (segments.length > 1) lines.push('', ...segmentLines(measurement, ink))
  return `${lines.join('\n')}\n`
}

function headline(segment: SegmentMeasurement, ink: Ink): string[] {
  const { standard, alternatives, nearest, family, familyConfidence, familyNote, noneConfidence } =
    segment.classification
  if (family.length > 1 || (!standard && family.length > 0)) return familyLines(segment, ink)
  if (!standard) {
    const lines = [ink.strong('None of the known standards'), `  confidence ${percent(noneConfidence)}`]
    lines.push(...wrapped(`${nearest.name} (${nearest.id})`, '  nearest: '))
    for (const difference of nearest.differences.slice(0, 4))
      lines.push(...wrapped(differenceText(difference), '    '))
    return lines
  }
  const sure = `confidence ${percent(familyConfidence)}`
  const isOneLine = `${standard.name} (${standard.id}), ${sure}`.length <= COLUMNS
  const name = `${ink.strong(standard.name)} ${ink.dim(`(${standard.id})`)}`
  const lines = isOneLine ? [`${name}, ${ink.good(sure)}`] : [name, `  ${ink.good(sure)}`]
  if (alternatives.length > 0) {
    lines.push(...wrapped(alternatives.map(candidate).join(', '), '  or: '))
  }
  if (familyNote) lines.push(...wrapped(familyNote, '  '))
  return lines
}

/** Several standards that this capture does not tell apart: one answer, with all their names. */
function familyLines({ classification }: SegmentMeasurement, ink: Ink): string[] {
  const { family, familyConfidence, familyNote, alternatives } = classification
  const names = family.map(({ name }) => name).join(' or ')
  const others = alternatives.filter((other) => !family.includes(other))
  return [
    ...wrapped(names, '').map(ink.strong),
    `  ${ink.good(`confidence ${percent(familyConfidence)}`)} that it is one of these`,
    ...wrapped(`one timing family, as far as this capture shows: ${family.map(candidate).join(', ')}`, '  '),
    ...(others.length > 0 ? wrapped(others.map(candidate).join(', '), '  or: ') : []),
    ...(familyNote ? wrapped(familyNote, '  ') : []),
  ]
}

function candidate({ id, confidence }: Candidate): string {
  return `${id} ${percent(confidence)}`
}

function captureLines(measurement: CaptureMeasurement, file: string, ink: Ink): string[] {
  const { kind, durationSeconds, sampleIntervalSeconds, transitions, channels } = measurement
  const rate = sampleIntervalSeconds === null ? '' : `, ${plain(1 / sampleIntervalSeconds, 'S/s', 5)}`
  const name = file === '-' ? 'standard input' : printable(file)
  const roles = channels.flatMap(({ name: channel, role }) =>
    role === null ? [] : [`${printable(channel)} = ${role}`],
  )
  return [
    ...wrapped(
      `${name}: ${kind.toUpperCase()}, ${plain(durationSeconds, 's', 4)}${rate}, ${count(transitions, 'transition')}`,
      '  ',
    ),
    ...(roles.length > 0 ? wrapped(roles.join(', '), '  ') : []),
  ].map(ink.dim)
}

function table(segment: SegmentMeasurement, ink: Ink): string[] {
  const rows = timingRows(segment).map(({ label, measured, nominal, off }) => [label, measured, nominal, off])
  const withNominal = segment.classification.standard !== null
  const head = ['', 'measured', withNominal ? 'nominal' : '', withNominal ? 'off by' : '']
  const widths = [0, 1, 2, 3].map((column) => Math.max(...[head, ...rows].map((row) => row[column]!.length)))
  // long numbers all at once need the room
  const gap = widths.reduce((sum, width) => sum + width + 2, -2) > COLUMNS ? ' ' : '  '
  return [head, ...rows].map((row, index) => {
    const line = row
      .map((cell, column) => cell.padEnd(widths[column]!))
      .join(gap)
      .trimEnd()
    return index === 0 ? ink.dim(line) : line
  })
}

/** What is odd about a capture, as sentences. */
export function oddities({ main, notices }: CaptureMeasurement): string[] {
  const items: string[] = []
  const faults = FAULT_KINDS.filter((kind) => main.faults[kind] > 0).map(
    (kind) => `${main.faults[kind]} ${kind}`,
  )
  if (faults.length > 0) {
    items.push(
      `sync faults: ${faults.join(', ')}. A counter of sync edges miscounts at extra and missing pulses, and the picture jumps.`,
    )
  }
  if (main.oddFrames > 0) {
    const lengths = [...main.sync.frameLengths]
      .filter(([, times]) => times > 0)
      .map(([length, times]) => `${times} of ${length}`)
    items.push(`frames differ in length: ${lengths.join(', ')} scanlines`)
  }
  const { pictureDotsPerScanline: shown, dotsPerScanline: dots } = main.raster
  if (shown !== null && dots !== null && shown !== dots) {
    items.push(
      `the picture shows ${shown} dots per scanline; the card counts ${dots}: each dot of the picture lasts ${dots / shown} of the card's`,
    )
  }
  for (const { message, count: times } of notices)
    items.push(times > 1 ? `${message} (${times} times)` : message)
  return items
}

function nextSteps(measurement: CaptureMeasurement, file: string): string[] {
  const see = `see the picture: rastertap render ${shellWord(file)} -o frame.png`
  return [...(hasColour(measurement.main) ? [see] : []), ...advice(measurement)]
}

/** Display enable alone is no picture. */
function hasColour({ picture }: CaptureMeasurement['main']): boolean {
  return picture?.planes.some((role) => role !== 'display-enable') ?? false
}

/** What to capture besides, and what not to do, as sentences. */
export function advice({ main, channels }: CaptureMeasurement): string[] {
  const steps: string[] = []
  if (!hasColour(main) && main.raster.dotsNotMeasured === 'no-edges') {
    steps.push('no picture in this capture: probe the colour pins too, and have something on the screen')
  }
  const isProbed = main.vsync !== null || channels.some(({ role }) => role === 'vsync' || role === 'csync')
  if (main.wholeFrames === 0 && isProbed)
    steps.push('capture for at least two frame times (50 ms) to get the frame rate')
  if (!isProbed) {
    steps.push(
      'probe vsync too, for at least two frame times (50 ms): it gives the frame rate and tells modes apart',
    )
  }
  if (main.classification.standard && main.hsync.frequencyHz.value < 30_000) {
    steps.push(
      'do not feed this to a VGA monitor directly: most refuse less than 31 kHz, and a fixed-frequency CRT can be damaged by a wrong rate',
    )
  }
  return steps
}

function segmentLines(measurement: CaptureMeasurement, ink: Ink): string[] {
  const { length } = measurement.segments
  const title = `The capture holds ${length} stretches with different timing; the longest is shown above`
  const lines = wrapped(title, '').map(ink.strong)
  measurement.segments.forEach((segment, index) => {
    const { standard } = segment.classification
    const mark = segment === measurement.main ? '*' : ' '
    const span = `${(segment.startSeconds * 1e3).toFixed(1)} to ${(segment.endSeconds * 1e3).toFixed(1)} ms`
    const rates = `${(segment.hsync.frequencyHz.value / 1e3).toFixed(3)} kHz, ${segment.raster.scanlinesPerFrame ?? '?'} scanlines`
    lines.push(` ${mark}${index}  ${span.padEnd(19)}  ${rates.padEnd(28)}  ${standard?.id ?? 'no standard'}`)
  })
  return lines
}
