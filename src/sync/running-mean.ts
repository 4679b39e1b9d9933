// Mean and scatter of a stream of values, without keeping them.

/** Welford's recurrence (Technometrics 4, 1962, pp. 419-420): no cancellation, however large the mean. */
export class RunningMean {
  count = 0
  mean = 0
  min: number = Infinity
  max: number = -Infinity
  #squares = 0

  add(value: number): void {
    this.count++
    const off = value - this.mean
    this.mean += off / this.count
    this.#squares += off * (value - this.mean)
    if (value < this.min) this.min = value
    if (value > this.max) this.max = value
  }

  /** Unbiased; 0 below two values. */
  get variance(): number {
    return this.count > 1 ? this.#squares / (this.count - 1) : 0
  }

  get rms(): number {
    return Math.sqrt(this.variance)
  }
}
