// A growing column of times at which one channel changes its level.

export class ToggleList {
  #seconds = new Float64Array(1024)
  #count = 0

  push(seconds: number): void {
    if (this.#count === this.#seconds.length) {
      const wider = new Float64Array(this.#count * 2)
      wider.set(this.#seconds)
      this.#seconds = wider
    }
    this.#seconds[this.#count++] = seconds
  }

  /** Inverts the channel between two times; where it already is inverted, this turns it back. */
  pushPulse(leadingSeconds: number, trailingSeconds: number): void {
    this.push(leadingSeconds)
    this.push(trailingSeconds)
  }

  /** The times in rising order, in an array of its own. */
  sorted(): Float64Array {
    const seconds = this.#seconds.slice(0, this.#count)
    for (let i = 1; i < seconds.length; i++) if (seconds[i]! < seconds[i - 1]!) return seconds.sort()
    return seconds
  }
}
