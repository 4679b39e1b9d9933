// One scanline and one frame, drawn to scale with characters: what is sync, what is porch, what is picture.

import type { SegmentMeasurement } from '../measure-segment.ts'
import type { Ink } from './ink.ts'
import { plain } from './number-text.ts'
import { frameAxis, scanlineAxis, type PartName, type RasterAxis, type RasterPart } from './raster-parts.ts'
import { COLUMNS } from './wrapped.ts'

const MARKS: Readonly<Record<PartName, string>> = {
  sync: '#',
  'back porch': '-',
  active: '=',
  'front porch': '-',
  'not measured': '?',
}

/** @returns no lines where the active area is not known */
export function timingText(segment: SegmentMeasurement, ink: Ink, columns: number = COLUMNS): string[] {
  const scanline = segment.active && scanlineAxis(segment)
  if (!scanline) return []
  const frame = segment.vsync && frameAxis(segment)
  const sweep = segment.raster.interlaced ? 'field' : 'frame'
  return [
    ...axisText(scanline, 'One scanline', 'dots', 'hsync', ink, columns),
    ...(frame ? ['', ...axisText(frame, `One ${sweep}`, 'scanlines', 'vsync', ink, columns)] : []),
  ]
}

function axisText(
  axis: RasterAxis,
  what: string,
  unit: string,
  sync: string,
  ink: Ink,
  columns: number,
): string[] {
  const { parts, total, seconds } = axis
  return [
    ink.strong(`${what}: ${size(total)} ${unit}, ${plain(seconds, 's', 5)}, from ${sync}'s leading edge`),
    drawing(axis, columns),
    ...parts.map((part) => legend(part, unit)),
  ]
}

/** A bar of the parts in order; each gets a column at least. */
function drawing({ parts, total }: RasterAxis, columns: number): string {
  const width = columns - 2
  let bar = ''
  for (const { name, start, length } of parts) {
    const end = Math.round(((start + length) / total) * width)
    bar += MARKS[name].repeat(Math.max(1, end - bar.length))
  }
  return `|${bar.slice(0, width).padEnd(width)}|`
}

function legend({ name, length, seconds }: RasterPart, unit: string): string {
  const count = `${size(length)} ${unit}`
  return `  ${MARKS[name]} ${name.padEnd(12)} ${count.padStart(14)}  ${plain(seconds, 's', 4).padStart(10)}`
}

/** Whole, or half of one where fields are interlaced. */
function size(length: number): string {
  return String(Math.round(2 * length) / 2)
}
