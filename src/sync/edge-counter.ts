// Leading edges as an adapter counts them, by the scanline they fall in.

/** Scanlines looked back over: vsync is settled later than the scanlines around it, by less than this. */
export const LOOK_BACK = 4096

export class EdgeCounter {
  /** Edges before each scanline, by number modulo LOOK_BACK. */
  readonly #before = new Float64Array(LOOK_BACK)
  #edges = 0
  #next = NaN

  /** One edge in a scanline; numbers never fall. */
  count(scanline: number): void {
    if (Number.isNaN(this.#next)) this.#next = scanline
    if (scanline - this.#next >= LOOK_BACK) this.#next = scanline
    while (this.#next <= scanline) this.#before[this.#next++ % LOOK_BACK] = this.#edges
    this.#edges++
  }

  /** Edges from one scanline to another, the second not included. */
  between(from: number, to: number): number {
    return this.#upTo(to) - this.#upTo(from)
  }

  #upTo(scanline: number): number {
    return scanline >= this.#next ? this.#edges : this.#before[Math.max(0, scanline) % LOOK_BACK]!
  }
}
