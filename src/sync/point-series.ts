// Values by scanline number in bounded memory: neighbouring scanlines are averaged together when it is full, so an hour
// costs as much as a second.

/** Points kept; a power of two, so that halving keeps pairs aligned. */
const CAPACITY = 2048

/** Means of runs of neighbouring scanlines; arrays hold `count` points, and are the series' own. */
export interface Points {
  count: number
  /** Scanline number of each run's middle, rising, from the first of the series. */
  number: Float64Array
  /** Mean of the values in each run. */
  value: Float64Array
  /** Scanlines in each run. */
  weight: Float64Array
}

/** Points `from` to `to` (excluded) in unbroken phase, with their weighted means. */
export interface Stretch {
  from: number
  to: number
  meanNumber: number
  meanValue: number
}

/** Running series of (scanline number, value), values being small numbers. */
export class PointSeries {
  readonly #number = new Float64Array(CAPACITY)
  readonly #value = new Float64Array(CAPACITY)
  readonly #weight = new Float64Array(CAPACITY)
  readonly #stretch = new Uint32Array(CAPACITY)
  #count = 0
  #perPoint = 1
  #stretchNumber = 0
  #scanlines = 0

  /** Scanlines added so far. */
  get scanlines(): number {
    return this.#scanlines
  }

  /** Most scanlines averaged in one point. */
  get scanlinesPerPoint(): number {
    return this.#perPoint
  }

  /** From here on a new stretch. */
  breakPhase(): void {
    this.#stretchNumber++
  }

  /** @param number scanline number, rising; gaps are fine */
  add(number: number, value: number): void {
    this.#scanlines++
    const last = this.#count - 1
    if (last >= 0 && this.#weight[last]! < this.#perPoint && this.#stretch[last] === this.#stretchNumber) {
      const weight = this.#weight[last]! + 1
      this.#number[last]! += (number - this.#number[last]!) / weight
      this.#value[last]! += (value - this.#value[last]!) / weight
      this.#weight[last] = weight
      return
    }
    if (this.#count === CAPACITY) this.#halve()
    const at = this.#count++
    this.#number[at] = number
    this.#value[at] = value
    this.#weight[at] = 1
    this.#stretch[at] = this.#stretchNumber
  }

  #halve(): void {
    let to = 0
    for (let from = 0; from < this.#count; to++) {
      const next = from + 1
      const joins = next < this.#count && this.#stretch[from] === this.#stretch[next]
      const a = this.#weight[from]!
      const b = joins ? this.#weight[next]! : 0
      this.#number[to] = (this.#number[from]! * a + (joins ? this.#number[next]! * b : 0)) / (a + b)
      this.#value[to] = (this.#value[from]! * a + (joins ? this.#value[next]! * b : 0)) / (a + b)
      this.#weight[to] = a + b
      this.#stretch[to] = this.#stretch[from]!
      from += joins ? 2 : 1
    }
    this.#count = to
    this.#perPoint *= 2
  }

  points(): Points {
    const count = this.#count
    return {
      count,
      number: this.#number.subarray(0, count),
      value: this.#value.subarray(0, count),
      weight: this.#weight.subarray(0, count),
    }
  }

  stretches(): Stretch[] {
    const list: Stretch[] = []
    let from = 0
    for (let i = 1; i <= this.#count; i++) {
      if (i < this.#count && this.#stretch[i] === this.#stretch[from]) continue
      let weight = 0
      let number = 0
      let value = 0
      for (let j = from; j < i; j++) {
        weight += this.#weight[j]!
        number += this.#weight[j]! * this.#number[j]!
        value += this.#weight[j]! * this.#value[j]!
      }
      list.push({ from, to: i, meanNumber: number / weight, meanValue: value / weight })
      from = i
    }
    return list
  }
}
