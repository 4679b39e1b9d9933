// A straight line through points as they come, by least squares. Means and sums about them are kept in place of sums of
// squares, so that large numbers cost no digits (B. P. Welford, Technometrics 4, 1962, pp. 419-420; from memory).

export class RunningLine {
  count = 0
  meanX = 0
  meanY = 0
  /** Sum of squared distances of x from its mean; 0 where no line can be told. */
  spread = 0
  #product = 0
  #square = 0

  /** @param y best taken off a line that is nearly the right one: a small number loses nothing */
  add(x: number, y: number): void {
    this.count++
    const dx = x - this.meanX
    const dy = y - this.meanY
    this.meanX += dx / this.count
    this.meanY += dy / this.count
    this.spread += dx * (x - this.meanX)
    this.#product += dx * (y - this.meanY)
    this.#square += dy * (y - this.meanY)
  }

  /** NaN where `spread` is 0. */
  get slope(): number {
    return this.#product / this.spread
  }

  /** Where the line is at x = 0. */
  get atZero(): number {
    return this.meanY - this.slope * this.meanX
  }

  /** Root of the mean squared distance of y from the line. */
  get rms(): number {
    return Math.sqrt(Math.max(0, this.#square - this.slope * this.#product) / this.count)
  }
}
