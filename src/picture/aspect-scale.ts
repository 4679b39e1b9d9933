// Dots → square pixels of the right shape: each dot becomes a block of whole pixels as near the monitor's aspect as small
// whole numbers come, so that every dot stays sharp.

import { checkPictureSize } from './picture-size.ts'
import type { CodeRows } from './weave.ts'

/** Whole pixels that one dot becomes. */
export interface DotBlock {
  across: number
  down: number
}

/** Largest block side; more makes pictures nobody can open. */
const MAX_SIDE = 6
/** Relative error of the aspect that nobody sees. */
const GOOD_ENOUGH = 0.02

/** The smallest block whose shape is within 2 % of the pixel aspect; else the nearest there is. */
export function dotBlock(pixelAspect: number): DotBlock {
  let best: DotBlock = { across: 1, down: 1 }
  let least = Infinity
  for (let size = 2; size <= 2 * MAX_SIDE; size++) {
    for (let across = Math.max(1, size - MAX_SIDE); across <= Math.min(MAX_SIDE, size - 1); across++) {
      const down = size - across
      const error = Math.abs(Math.log(across / down / pixelAspect))
      if (error < least - 1e-9) {
        least = error
        best = { across, down }
      }
    }
    if (least < GOOD_ENOUGH) break
  }
  return best
}

/**
 * Repeats each dot across and down.
 * @throws {CaptureError} PICTURE_TOO_LARGE
 */
export function enlarge(
  { widthDots, heightScanlines, codes }: CodeRows,
  { across, down }: DotBlock,
): CodeRows {
  const width = widthDots * across
  checkPictureSize(width, heightScanlines * down)
  const scaled = new Uint16Array(width * heightScanlines * down)
  for (let row = 0; row < heightScanlines; row++) {
    const first = row * down * width
    for (let dot = 0; dot < widthDots; dot++) {
      const from = first + dot * across
      scaled.fill(codes[row * widthDots + dot]!, from, from + across)
    }
    for (let copy = 1; copy < down; copy++) scaled.copyWithin(first + copy * width, first, first + width)
  }
  return { widthDots: width, heightScanlines: heightScanlines * down, codes: scaled }
}
