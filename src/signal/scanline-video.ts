// Picture and border → the codes of one scanline's dots, sync and porches included.

import { totalOf, type SignalTiming } from './signal-timing.ts'
import type { CardScanline } from './card-scanlines.ts'
import type { SignalPicture } from './signal-picture.ts'

/** Draws scanlines into one array. */
export class ScanlineVideo {
  /** Codes by dot, counted from hsync's leading edge. */
  readonly codes: Uint16Array
  readonly #timing: SignalTiming
  readonly #picture: SignalPicture
  readonly #left: number
  readonly #border: { code: number; from: number; to: number; above: number; below: number } | null

  constructor(timing: SignalTiming, picture: SignalPicture) {
    const { horizontal, vertical } = timing
    this.#timing = timing
    this.#picture = picture
    this.codes = new Uint16Array(totalOf(horizontal))
    this.#left = horizontal.sync + horizontal.backPorch
    const { border } = picture
    // in sync the beam flies back, and cards keep it dark
    this.#border = border && {
      code: border.code,
      from: this.#left - Math.min(border.dots, horizontal.backPorch),
      to: this.#left + horizontal.active + Math.min(border.dots, horizontal.frontPorch),
      above: Math.min(border.scanlines, Math.floor(vertical.backPorch)),
      below: Math.min(border.scanlines, Math.floor(vertical.frontPorch)),
    }
  }

  draw({ fieldRow, pictureRow }: CardScanline): void {
    const border = this.#border
    this.codes.fill(0)
    if (border && fieldRow >= -border.above && fieldRow < this.#timing.vertical.active + border.below) {
      this.codes.fill(border.code, border.from, border.to)
    }
    if (pictureRow === null) return
    const { widthDots, codes } = this.#picture
    this.codes.set(codes.subarray(pictureRow * widthDots, (pictureRow + 1) * widthDots), this.#left)
  }
}
