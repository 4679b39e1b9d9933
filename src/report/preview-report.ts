// A preview → the object that `preview --json` prints. The text is in preview-text.ts, the schema in preview-schema.ts.

import { cautionsFor, type Caution } from '../adapter/cautions.ts'
import type { Preview } from '../adapter/preview.ts'
import type { SamplingPlan } from '../adapter/sampling-plan.ts'

/** What `preview` was asked and made. */
export interface PreviewAnswer {
  /** The capture's name. */
  file: string
  plan: SamplingPlan
  preview: Preview
  count: 'edges' | 'filtered'
  /** Frames asked for; the capture may hold fewer. */
  framesAsked: number
  /** Written, in the order of the frames; one where animated. */
  files: string[]
  maskFiles: string[]
  animated: boolean
  standard: string | null
  palette: string
}

/** `rastertap.preview/1` */
export interface PreviewReport {
  format: 'rastertap.preview/1'
  file: string
  files: string[]
  maskFiles: string[]
  animated: boolean
  widthPixels: number
  heightPixels: number
  standard: string | null
  palette: string
  plan: SamplingPlan
  count: 'edges' | 'filtered'
  filterSeconds: number
  holdOffSeconds: number
  frames: {
    frame: number
    sentScanlines: number | null
    countedScanlines: number
    /** By how many rows the last row lies too low; null where its sync was not caught. */
    lowByRows: number | null
    differentDots: number
  }[]
  /** Columns, from 0, in which a dot of any frame differs from the card's picture. */
  columnsDiffering: number[]
  cautions: Caution[]
}

export function previewReport(answer: PreviewAnswer): PreviewReport {
  const { file, plan, preview, count, files, maskFiles, animated, standard, palette } = answer
  return {
    format: 'rastertap.preview/1',
    file,
    files,
    maskFiles,
    animated,
    widthPixels: preview.widthDots,
    heightPixels: preview.heightScanlines,
    standard,
    palette,
    plan,
    count,
    filterSeconds: preview.filterSeconds,
    holdOffSeconds: preview.holdOffSeconds,
    frames: preview.frames.map((frame) => ({
      frame: frame.frame,
      sentScanlines: frame.sentScanlines,
      countedScanlines: frame.countedScanlines,
      lowByRows: frame.lowByRows,
      differentDots: frame.differentDots,
    })),
    columnsDiffering: [...preview.differencesByColumn.keys()].filter(
      (column) => preview.differencesByColumn[column]! > 0,
    ),
    cautions: [...cautionsFor('capture')],
  }
}
