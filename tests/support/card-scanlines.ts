// The card's own count of frames and scanlines, dropped and extra ones included, and where vsync changes in them.

import type { Timing } from './timings.ts'

/** A place in the card's count. Frame 0 begins with the first vsync; frames before it count downward. */
export interface ScanlinePlace {
  frame: number
  scanline: number
}

/** One scanline as the card puts it out. */
export interface CardScanline extends ScanlinePlace {
  /** Dots from frame 0's first hsync leading edge. */
  startDot: number
  /** Row of the picture shown in it, or -1. */
  pictureRow: number
  /** Scanlines to the nearest active one; 0 for active ones, Infinity where vsync lies between. */
  scanlinesToActive: number
  isInVsync: boolean
  /** Dots (absolute) at which vsync changes in this scanline; the first change of a frame begins a pulse. */
  vsyncChangeDots: number[]
}

/** Begin and end of every vsync of a frame, in scanlines from the frame's begin. */
export function vsyncMarks(timing: Timing): number[] {
  const { sync, total } = timing.v
  return timing.interlaced === true ? [0, sync, total, total + sync] : [0, sync]
}

/** Scanlines of a whole frame (two fields when interlaced). */
export function scanlinesPerFrame(timing: Timing): number {
  return timing.interlaced === true ? timing.v.total * 2 : timing.v.total
}

/**
 * Walks frames `fromFrame` … until `untilDot` is passed.
 *
 * A dropped scanline is left out with its row of the picture; an extra one is shown twice. Both keep the numbers of
 * the others, so that a place always means the same part of the picture.
 */
export function* cardScanlines(
  timing: Timing,
  fromFrame: number,
  untilDot: number,
  dropped: readonly ScanlinePlace[],
  extra: readonly ScanlinePlace[],
): Generator<CardScanline> {
  const perFrame = scanlinesPerFrame(timing)
  const marks = vsyncMarks(timing)
  const has = (places: readonly ScanlinePlace[], frame: number, scanline: number): boolean =>
    places.some((place) => place.frame === frame && place.scanline === scanline)
  let startDot = fromFrame * perFrame * timing.h.total
  for (let frame = fromFrame; ; frame++) {
    let nextMark = 0
    for (let scanline = 0; scanline < perFrame; scanline++) {
      if (has(dropped, frame, scanline)) continue
      const repeats = has(extra, frame, scanline) ? 2 : 1
      for (let repeat = 0; repeat < repeats; repeat++) {
        const vsyncChangeDots: number[] = []
        for (; nextMark < marks.length && marks[nextMark]! < scanline + 1; nextMark++) {
          const withinScanline = Math.max(0, marks[nextMark]! - scanline) * timing.h.total
          vsyncChangeDots.push(startDot + withinScanline + timing.vsyncOffsetDots)
        }
        yield { frame, scanline, startDot, vsyncChangeDots, ...placeInField(timing, scanline) }
        startDot += timing.h.total
        if (startDot > untilDot) return
      }
    }
  }
}

function placeInField(
  timing: Timing,
  scanline: number,
): Pick<CardScanline, 'pictureRow' | 'scanlinesToActive' | 'isInVsync'> {
  const { sync, backPorch, active, total } = timing.v
  // The second field's vsync falls in mid-scanline; its scanlines are counted from the next whole one, so its rows
  // come half a scanline later after vsync and lie between those of the first field.
  const secondBegin = Math.ceil(total)
  const isSecond = timing.interlaced === true && scanline >= secondBegin
  const inField = isSecond ? scanline - secondBegin : scanline
  const fieldRow = inField - Math.floor(sync + backPorch)
  const isActive = fieldRow >= 0 && fieldRow < active
  const isHalfVsync = timing.interlaced === true && scanline === secondBegin - 1
  const isInVsync = inField < sync || isHalfVsync
  const pictureRow = !isActive
    ? -1
    : timing.interlaced === true
      ? 2 * fieldRow + (isSecond ? 1 : 0)
      : fieldRow
  const scanlinesToActive = isInVsync
    ? Infinity
    : isActive
      ? 0
      : fieldRow < 0
        ? -fieldRow
        : fieldRow - active + 1
  return { pictureRow, scanlinesToActive, isInVsync }
}
