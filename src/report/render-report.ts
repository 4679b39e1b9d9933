// A rendered frame → what `render` prints, as data and as text.

import type { MergeSummary } from '../merge-summary.ts'
import type { RenderedFrame } from '../render-frame.ts'
import type { Ink } from './ink.ts'
import { mergeLines } from './merge-text.ts'
import { count } from './number-text.ts'
import { printable } from './printable.ts'
import { wrapped } from './wrapped.ts'

/** `rastertap.render/1` */
export interface RenderReport {
  format: 'rastertap.render/1'
  file: string
  widthPixels: number
  heightPixels: number
  standard: string | null
  palette: string
  frame: number | null
  whole: boolean
  dotsWithoutSample: number
  dotsInDispute: number
  /** What several frames together told; null without `--merge`. */
  merge: MergeSummary | null
}

/** @param file where the picture was written */
export function renderReport(frame: RenderedFrame, file: string): RenderReport {
  const { widthPixels, heightPixels, standard, palette, whole, dotsWithoutSample, dotsInDispute, merge } =
    frame
  return {
    format: 'rastertap.render/1',
    file,
    widthPixels,
    heightPixels,
    standard,
    palette: palette.name,
    frame: frame.frame,
    whole,
    dotsWithoutSample,
    dotsInDispute,
    merge,
  }
}

export function renderText(frame: RenderedFrame, file: string, ink: Ink): string {
  const { widthPixels, heightPixels, standard, palette } = frame
  const which = frame.merge
    ? `${count(frame.merge.frames, 'frame')} merged`
    : frame.frame === null
      ? 'what was captured of a frame'
      : `frame ${frame.frame}`
  const lines = wrapped(
    `${printable(file)}: ${which}, ${widthPixels} x ${heightPixels} dots, ` +
      `${standard ?? 'no known standard'}, palette ${palette.name}`,
    '',
  )
  if (palette.note) lines.push(...wrapped(palette.note, '  ').map(ink.dim))
  if (!frame.whole)
    lines.push(
      ...wrapped('The frame is not whole: scanlines that were not captured are black.', '  ').map(ink.odd),
    )
  if (frame.merge) {
    lines.push(...mergeLines(frame, frame.merge, ink))
  } else if (frame.dotsWithoutSample > 0) {
    const share = frame.dotsWithoutSample / frame.rasterDots
    lines.push(
      ...wrapped(
        `${count(frame.dotsWithoutSample, 'dot')} of the raster (${(share * 100).toFixed(0)} %) fell between two samples: ` +
          'narrow strokes may be missing. A higher sample rate shows them, and so do several frames of a still picture (--merge).',
        '  ',
      ).map(ink.odd),
    )
  }
  return `${lines.join('\n')}\n`
}
