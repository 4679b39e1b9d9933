// The number of a time stamp, as its digits come. Fractions are against the standard, and met in the field.

/** Digits after the point that still count: a float64 holds no more. */
const MAX_FRACTION_SCALE = 1e15

export class VcdTimeStamp {
  /** Digits so far, those after the point included. */
  digits = 0
  isNegative = false
  #whole = 0
  #fraction = 0
  #fractionScale = 1

  begin(): void {
    this.digits = 0
    this.isNegative = false
    this.#whole = 0
    this.#fraction = 0
    this.#fractionScale = 1
  }

  addDigit(digit: number): void {
    this.digits++
    this.#whole = this.#whole * 10 + digit
  }

  addFractionDigit(digit: number): void {
    this.digits++
    if (this.#fractionScale === MAX_FRACTION_SCALE) return
    this.#fraction = this.#fraction * 10 + digit
    this.#fractionScale *= 10
  }

  /** In ticks. */
  get value(): number {
    const time = this.#whole + this.#fraction / this.#fractionScale
    return this.isNegative ? -time : time
  }
}
