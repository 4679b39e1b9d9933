// What the card shows: one code per dot of the active area, and perhaps a border around it. A canvas to draw it on.

/** Lit dots beyond the active area: columns left and right, scanlines above and below; sync cuts off what does not fit. */
export interface PictureBorder {
  code: number
  dots: number
  scanlines: number
}

/** A still picture. */
export interface SignalPicture {
  widthDots: number
  /** Whole frame: both fields where interlaced. */
  heightScanlines: number
  /** Row by row; bit i is the level of video channel i. */
  codes: Uint16Array
  border: PictureBorder | null
}

/** Rectangle of a canvas, in dots. */
export interface Place {
  left: number
  top: number
  width: number
  height: number
}

/** Dots that can be written to; what falls outside is cut off. */
export class Canvas {
  readonly width: number
  readonly height: number
  readonly codes: Uint16Array

  constructor(width: number, height: number) {
    this.width = width
    this.height = height
    this.codes = new Uint16Array(width * height)
  }

  get whole(): Place {
    return { left: 0, top: 0, width: this.width, height: this.height }
  }

  dot(x: number, y: number, code: number): void {
    if (x >= 0 && y >= 0 && x < this.width && y < this.height) this.codes[y * this.width + x] = code
  }

  fill({ left, top, width, height }: Place, code: number): void {
    const right = Math.min(this.width, left + width)
    const bottom = Math.min(this.height, top + height)
    for (let y = Math.max(0, top); y < bottom; y++) {
      this.codes.fill(code, y * this.width + Math.max(0, left), y * this.width + right)
    }
  }

  /** A frame one dot thick along the inside of a place. */
  outline({ left, top, width, height }: Place, code: number): void {
    this.fill({ left, top, width, height: 1 }, code)
    this.fill({ left, top: top + height - 1, width, height: 1 }, code)
    this.fill({ left, top, width: 1, height }, code)
    this.fill({ left: left + width - 1, top, width: 1, height }, code)
  }

  picture(border: PictureBorder | null = null): SignalPicture {
    return { widthDots: this.width, heightScanlines: this.height, codes: this.codes, border }
  }
}

/** A place without `by` dots along each of its sides. */
export function inset({ left, top, width, height }: Place, by: number): Place {
  return {
    left: left + by,
    top: top + by,
    width: Math.max(0, width - 2 * by),
    height: Math.max(0, height - 2 * by),
  }
}
