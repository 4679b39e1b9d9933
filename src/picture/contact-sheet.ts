// Several frames → one sheet, in rows, with a gap between them.

import { checkPictureSize } from './picture-size.ts'
import type { CodeRows } from './weave.ts'

/** Pixels between two frames. */
const GAP = 8

/**
 * @param frames at least one, all of one size
 * @param gapCode code that fills the gaps
 * @throws {CaptureError} PICTURE_TOO_LARGE
 */
export function contactSheet(frames: readonly CodeRows[], gapCode: number): CodeRows {
  const { widthDots, heightScanlines } = frames[0]!
  // about as many across as down: sheets that are looked at on a screen
  const across = Math.ceil(Math.sqrt(frames.length))
  const down = Math.ceil(frames.length / across)
  const width = across * widthDots + (across - 1) * GAP
  const height = down * heightScanlines + (down - 1) * GAP
  checkPictureSize(width, height)
  const codes = new Uint16Array(width * height).fill(gapCode)
  frames.forEach((frame, index) => {
    const left = (index % across) * (widthDots + GAP)
    const top = Math.floor(index / across) * (heightScanlines + GAP)
    for (let row = 0; row < heightScanlines; row++) {
      const from = row * widthDots
      codes.set(frame.codes.subarray(from, from + widthDots), (top + row) * width + left)
    }
  })
  return { widthDots: width, heightScanlines: height, codes }
}
