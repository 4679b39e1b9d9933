// Edges of one channel that are not yet sampled, in time order. Times are in samples, with fraction.

/** First in, first out, but for edges that come a little out of order. */
export class EdgeQueue {
  #at = new Float64Array(256)
  #from = 0
  #to = 0
  #last = -Infinity

  /** When the next edge comes; Infinity where none is waiting. */
  get next(): number {
    return this.#from < this.#to ? this.#at[this.#from]! : Infinity
  }

  shift(): void {
    this.#from++
  }

  /** An edge of the signal itself: never before the one pushed last. */
  push(at: number): void {
    this.#last = Math.max(this.#last, at)
    this.#insert(this.#last)
  }

  /** Turns the level over for a while, whatever it is. */
  pushPulse(at: number, width: number): void {
    this.#insert(at)
    this.#insert(at + width)
  }

  #insert(at: number): void {
    if (this.#to === this.#at.length) this.#makeRoom()
    let place = this.#to++
    for (; place > this.#from && this.#at[place - 1]! > at; place--) this.#at[place] = this.#at[place - 1]!
    this.#at[place] = at
  }

  #makeRoom(): void {
    const waiting = this.#at.subarray(this.#from, this.#to)
    const roomy = waiting.length * 2 > this.#at.length ? new Float64Array(this.#at.length * 2) : this.#at
    roomy.set(waiting)
    this.#at = roomy
    this.#from = 0
    this.#to = waiting.length
  }
}
