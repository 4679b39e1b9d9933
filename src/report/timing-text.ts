// One scanline and one frame, drawn to scale with characters: what is sync, what is porch, what is picture.

import type { SegmentMeasurement } from '../measure-segment.ts'
import type { Ink } from './ink.ts'
import { plain } from './number-text.ts'
import { COLUMNS } from './wrapped.ts'

/** One part of a period. */
interface Part {
  name: string
  size: number
}

const MARKS: Readonly<Record<string, string>> = {
  sync: '#',
  'back porch': '-',
  active: '=',
  'front porch': '-',
}

/** @returns no lines where the active area is not known */
export function timingText(segment: SegmentMeasurement, ink: Ink, columns: number = COLUMNS): string[] {
  const { raster, active, vsync, hsync } = segment
  const dots = raster.dotsPerScanline
  if (!active || dots === null) return []
  const scanlineSeconds = 1 / hsync.frequencyHz.value
  const syncDots = Math.round((hsync.widthSeconds.value / scanlineSeconds) * dots)
  const dotSeconds = scanlineSeconds / dots
  const horizontal: Part[] = [
    { name: 'sync', size: syncDots },
    { name: 'back porch', size: active.hBackPorchDots },
    { name: 'active', size: active.dots },
    { name: 'front porch', size: active.hFrontPorchDots },
  ]
  const lines = [
    ink.strong(`One scanline: ${dots} dots, ${plain(scanlineSeconds, 's', 5)}, from hsync's leading edge`),
    ...drawing(horizontal, dots, columns),
    ...horizontal.map(({ name, size }) => legend(name, `${size} dots`, plain(size * dotSeconds, 's', 4))),
  ]
  const scanlines = raster.scanlinesPerFrame
  if (scanlines === null || !vsync || raster.interlaced) return lines
  const vertical: Part[] = [
    { name: 'sync', size: Math.round(vsync.widthScanlines) },
    { name: 'back porch', size: active.vBackPorchScanlines },
    { name: 'active', size: active.scanlines },
    { name: 'front porch', size: active.vFrontPorchScanlines },
  ]
  return [
    ...lines,
    '',
    ink.strong(
      `One frame: ${scanlines} scanlines, ${plain(scanlines * scanlineSeconds, 's', 5)}, from vsync's leading edge`,
    ),
    ...drawing(vertical, scanlines, columns),
    ...vertical.map(({ name, size }) =>
      legend(name, `${size} scanlines`, plain(size * scanlineSeconds, 's', 4)),
    ),
  ]
}

/** A bar of the parts in order; each that is there at all gets a column. A porch below zero is overlap, and has none. */
function drawing(parts: readonly Part[], total: number, columns: number): string[] {
  const width = columns - 2
  let bar = ''
  let passed = 0
  for (const { name, size } of parts) {
    passed += size
    const end = Math.round((passed / total) * width)
    const count = size > 0 ? Math.max(1, end - bar.length) : 0
    bar += MARKS[name]!.repeat(count)
  }
  return [`|${bar.slice(0, width).padEnd(width)}|`]
}

function legend(name: string, size: string, time: string): string {
  return `  ${MARKS[name]} ${name.padEnd(12)} ${size.padStart(14)}  ${time.padStart(10)}`
}
