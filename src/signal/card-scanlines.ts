// The card's counters: one scanline after the other with its place in the frame, what of the picture it shows, and where
// vsync changes in it.
//
// Where interlaced, the field whose vsync falls with an hsync comes first and has the upper rows; the vsync of the other
// falls in mid-scanline, so that the first scanline it shows lies half a scanline lower after its vsync.

import { scanlinesOf, totalOf, type SignalTiming } from './signal-timing.ts'

/** One scanline. Frame 0 begins with the first vsync whose leading edge is captured; the part before it is frame -1. */
export interface CardScanline {
  frame: number
  /** From 0, the one in which vsync's leading edge falls; a dropped scanline keeps its number. */
  scanline: number
  /** Where its hsync begins, in dots; frame 0 begins at dot 0 unless scanlines before it were dropped. */
  startDot: number
  /** Changes of vsync in it, in dots like `startDot`, with the number of the vsync pulse since frame -1. */
  vsyncChanges: { dot: number; leading: boolean; pulse: number }[]
  /** Scanlines below the first active one of its field: negative above it, `active` and more below the picture. */
  fieldRow: number
  /** Row of the picture it shows, null outside the picture. */
  pictureRow: number | null
}

/**
 * Walks without end.
 * @param firstFrame 0 or -1
 * @param isDropped whether the card leaves out the scanline that would begin at `startDot`
 */
export function* cardScanlines(
  timing: SignalTiming,
  firstFrame: number,
  isDropped: (frame: number, scanline: number, startDot: number) => boolean,
): Generator<CardScanline, never> {
  const dots = totalOf(timing.horizontal)
  const fieldScanlines = totalOf(timing.vertical)
  const perFrame = scanlinesOf(timing)
  const fields = timing.interlaced ? 2 : 1
  const { sync, backPorch, active } = timing.vertical
  const vsyncBegins = Array.from({ length: fields }, (_, field) => field * fieldScanlines)
  const firstActive = vsyncBegins.map((begin, field) =>
    field === 0 ? Math.floor(begin + sync + backPorch) : Math.ceil(begin + sync + backPorch),
  )
  let startDot = firstFrame * perFrame * dots
  for (let frame = firstFrame; ; frame++) {
    const changes = vsyncBegins.flatMap((begin, field) => {
      const pulse = (frame + 1) * fields + field
      return [
        { at: begin, leading: true, pulse },
        { at: begin + sync, leading: false, pulse },
      ]
    })
    for (let scanline = 0; scanline < perFrame; scanline++) {
      if (isDropped(frame, scanline, startDot)) continue
      const vsyncChanges: CardScanline['vsyncChanges'] = []
      while (changes.length > 0 && changes[0]!.at < scanline + 1) {
        const { at, leading, pulse } = changes.shift()!
        // what fell into a dropped scanline happens as soon as the next one begins
        vsyncChanges.push({ dot: startDot + Math.max(0, at - scanline) * dots, leading, pulse })
      }
      const field = scanline > vsyncBegins.at(-1)! && fields === 2 ? 1 : 0
      const fieldRow = scanline - firstActive[field]!
      const shown = fieldRow >= 0 && fieldRow < active
      yield {
        frame,
        scanline,
        startDot,
        vsyncChanges,
        fieldRow,
        pictureRow: shown ? fieldRow * fields + field : null,
      }
      startDot += dots
    }
  }
}
