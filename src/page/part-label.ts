// Parts of a raster in words and colours, the same in both timing drawings.

import { plain } from '../report/number-text.ts'
import type { PartName, RasterAxis, RasterPart } from '../report/raster-parts.ts'
import { withMicro } from './quantity.ts'

/** Class that gives a part its colour; the page's style has it. */
export const PART_CLASS: Readonly<Record<PartName, string>> = {
  sync: 'part-sync',
  'back porch': 'part-back',
  active: 'part-active',
  'front porch': 'part-front',
  'not measured': 'part-unknown',
}

/** `640 dots`, `262.5 scanlines`. */
export function lengthText(length: number, unit: 'dots' | 'scanlines'): string {
  const rounded = Number(length.toFixed(2))
  return `${rounded} ${rounded === 1 ? unit.slice(0, -1) : unit}`
}

/** `39.366 µs`, to the digits that a drawing can use. */
export function timeText(seconds: number): string {
  return withMicro(plain(seconds, 's', 5))
}

/** `sync, 80 dots, 4.921 µs; …`: a drawing for those who cannot see it. */
export function axisText({ parts }: RasterAxis, unit: 'dots' | 'scanlines'): string {
  const each = (part: RasterPart): string =>
    `${part.name} ${lengthText(part.length, unit)}, ${timeText(part.seconds)}`
  return parts.map(each).join('; ')
}
