// A check of an adapter's output → pass or fail, every deviation beside its tolerance, what next. 80 columns.

import { cautionsFor } from '../adapter/cautions.ts'
import type { OutputFinding } from '../adapter/output-check.ts'
import type { Ink } from './ink.ts'
import { count, plain, relative } from './number-text.ts'
import type { OutputCheckAnswer } from './output-report.ts'
import { printable } from './printable.ts'
import { cautionSection, section, table } from './section.ts'
import { wrapped } from './wrapped.ts'

export function outputCheckText({ file, check }: OutputCheckAnswer, ink: Ink): string {
  const failed = check.findings.filter(({ pass }) => pass === false)
  const unseen = check.findings.filter(({ measured }) => measured === null)
  const verdict = check.pass ? 'pass' : `fail: ${failed.map(({ what }) => what).join(', ')}`
  const rows = check.findings.map((finding) => [
    finding.what,
    valueText(finding, finding.measured),
    valueText(finding, finding.expected),
    offText(finding),
    toleranceText(finding),
    finding.pass === null ? '' : finding.pass ? 'pass' : 'FAIL',
  ])
  const lines = [
    ...wrapped(`${check.name} (${check.id}): ${verdict}`, '').map(check.pass ? ink.good : ink.odd),
    ...wrapped(file === '-' ? 'standard input' : printable(file), '  ').map(ink.dim),
    '',
    ...table([['', 'measured', 'published', 'off by', 'allowed', ''], ...rows], 'llllll', ink),
    ...section('What to do next', nextSteps(failed, unseen), ink),
    ...cautionSection(cautionsFor('output'), ink),
  ]
  return `${lines.join('\n')}\n`
}

function valueText({ unit }: OutputFinding, value: number | string | null): string {
  if (value === null) return 'not captured'
  if (typeof value === 'string') return value
  return unit === 'Hz' ? plain(value, 'Hz', 7) : `${Number(value.toFixed(2))} ${unit}`
}

function offText({ unit, measured, expected, deviationPpm }: OutputFinding): string {
  if (measured === null || expected === null) return ''
  if (unit === 'Hz') return deviationPpm === null ? '' : relative(deviationPpm / 1e6)
  if (typeof measured === 'string' || typeof expected === 'string')
    return measured === expected ? '' : 'inverted'
  const off = measured - expected
  return Math.abs(off) < 0.005 ? '' : `${off > 0 ? '+' : '-'}${Number(Math.abs(off).toFixed(2))}`
}

function toleranceText({ tolerancePpm, expected, unit }: OutputFinding): string {
  if (tolerancePpm === null || typeof expected !== 'number' || tolerancePpm === 0) return ''
  // a count is right or wrong; what is allowed is the doubt of its measurement
  if (unit !== 'Hz' && tolerancePpm < 10_000)
    return `± ${Number(((expected * tolerancePpm) / 1e6).toPrecision(2))}`
  return tolerancePpm >= 10_000
    ? `± ${(tolerancePpm / 1e4).toFixed(0)} %`
    : `± ${tolerancePpm.toFixed(0)} ppm`
}

function nextSteps(failed: readonly OutputFinding[], unseen: readonly OutputFinding[]): string[] {
  const items: string[] = []
  const fails = (what: string): boolean => failed.some((finding) => finding.what === what)
  if (fails('scanline rate') || fails('frame rate'))
    items.push('connect no monitor yet: a fixed-frequency CRT can be damaged by a wrong rate')
  if (fails('hsync polarity') || fails('vsync polarity'))
    items.push(
      'invert the sync that is wrong: VGA monitors read the height of the picture from the polarities',
    )
  if (fails('scanlines per frame'))
    items.push('count the scanlines that the program sends: sync, both porches and the picture')
  if (unseen.length > 0)
    items.push(
      `${count(unseen.length, 'value')} not captured and not judged: ${unseen.map(({ what }) => what).join(', ')}`,
    )
  if (failed.length === 0) items.push('try it on a monitor that can be spared first')
  return items
}
