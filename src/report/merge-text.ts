// What several frames together told → lines for the screen of `render --merge`.

import type { MergedPart, MergeSummary } from '../merge-summary.ts'
import type { RenderedFrame } from '../render-frame.ts'
import type { Ink } from './ink.ts'
import { count, measured, measuredRate, plain } from './number-text.ts'
import { table } from './section.ts'
import { wrapped } from './wrapped.ts'

/** More samples per dot than any instrument takes: the capture holds changes of a simulation. */
const MANY_SAMPLES = 100
/** Counts of dots that are named one by one. */
const MOST_LISTED = 6

export function mergeLines(frame: RenderedFrame, merge: MergeSummary, ink: Ink): string[] {
  const lines = [
    ...wrapped(dotsText(merge), '  '),
    ...wrapped(sampledText(frame, merge), '  ').map(frame.dotsWithoutSample > 0 ? ink.odd : (text) => text),
  ]
  // where every dot was sampled it does not matter
  if (!merge.sampleGridMoves && frame.dotsWithoutSample > 0)
    lines.push(...wrapped(standstillText(merge), '  ').map(ink.odd))
  if (merge.parts.length > 0) lines.push(...partLines(merge, ink))
  return lines
}

function dotsText(merge: MergeSummary): string {
  const { dotsPerScanline, dotClockHz, dotClockFrom, otherDotsPerScanline, samplesPerDot } = merge
  const from = dotClockFrom === 'measured' ? 'measured' : 'assumed'
  const clock = `${dotsPerScanline} dots per scanline, ${measuredRate(dotClockHz)} (${from})`
  const others = otherDotsPerScanline.length > 0 ? `; ${othersText(otherDotsPerScanline)}` : ''
  const samples =
    samplesPerDot < MANY_SAMPLES ? `, ${samplesPerDot.toFixed(2)} samples per dot in each frame` : ''
  return `${clock}${samples}${others}`
}

/** @param others rising, not empty */
function othersText(others: readonly number[]): string {
  const listed =
    others.length <= MOST_LISTED
      ? others.join(', ')
      : `${others.length} other counts from ${others[0]} to ${others.at(-1)}`
  return `the picture agrees with ${listed} as well`
}

function sampledText(frame: RenderedFrame, { moreFrames, guardSeconds }: MergeSummary): string {
  const { dotsWithoutSample } = frame
  const near = guardSeconds === 0 ? '' : ` ${plain(guardSeconds, 's', 2)} or more from its edges`
  if (dotsWithoutSample === 0) return `Every dot was sampled${near}.`
  const found = `${count(dotsWithoutSample, 'dot')} of the picture without a sample${near}: undetermined, drawn as the neighbours.`
  if (moreFrames === null) return found
  const more = moreFrames === 0 ? '' : ` ${count(moreFrames, 'more frame')} would show them all.`
  return `${found}${more}`
}

function standstillText({ frameStepSamples }: MergeSummary): string {
  return (
    `Each frame is sampled ${frameStepSamples.value.toFixed(3)} samples later in its scanlines than the one before: ` +
    "the instrument's clock is commensurate with the frame rate, and further frames show the same again. " +
    'Another sample rate would show more.'
  )
}

const KIND_TEXT: Readonly<Record<MergedPart['kind'], string>> = {
  blinking: 'blinks',
  changed: 'changes once',
  moving: 'moves',
}

function partLines({ parts, partsNotListed, frames, framesInPart }: MergeSummary, ink: Ink): string[] {
  const rows = parts.map(({ kind, left, top, dots, scanlines, blinkHz, framesDrawn }) => [
    KIND_TEXT[kind],
    String(left),
    String(top),
    `${dots} x ${scanlines}`,
    blinkHz ? measured(blinkHz, 'Hz') : '-',
    `${framesDrawn} of ${frames + framesInPart}`,
  ])
  const head = ['', 'dot', 'scanline', 'dots x scanlines', 'rate', 'frames drawn']
  const rest = partsNotListed > 0 ? [`and ${count(partsNotListed, 'smaller part')}`] : []
  return [
    '',
    ink.strong('Parts that change, drawn as some frames show them'),
    ...table([head, ...rows], 'lrrlll', ink),
    ...rest,
  ]
}
