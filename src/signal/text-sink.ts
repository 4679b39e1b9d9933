// ASCII text → chunks of bytes, without a string per number.

const CHUNK_BYTES = 64 * 1024
/** Longest text or number that is written at once. */
const MOST_AT_ONCE = 4096
const ZERO = 0x30

/** Collects text; full chunks wait to be taken. */
export class TextSink {
  #chunk = new Uint8Array(CHUNK_BYTES)
  #at = 0
  #full: Uint8Array[] = []

  /** Chunks that are full; each is the caller's from now on. */
  take(): Uint8Array[] {
    const full = this.#full
    this.#full = []
    return full
  }

  /** The rest. */
  end(): Uint8Array[] {
    this.#finish()
    return this.take()
  }

  #finish(): void {
    if (this.#at > 0) this.#full.push(this.#chunk.subarray(0, this.#at))
    this.#chunk = new Uint8Array(CHUNK_BYTES)
    this.#at = 0
  }

  #room(): void {
    if (this.#at + MOST_AT_ONCE > CHUNK_BYTES) this.#finish()
  }

  /** @param text at most 4096 characters of ASCII */
  text(text: string): void {
    this.#room()
    for (let i = 0; i < text.length; i++) this.#chunk[this.#at++] = text.charCodeAt(i)
  }

  byte(byte: number): void {
    this.#room()
    this.#chunk[this.#at++] = byte
  }

  /** @param value whole, 0 to 2^53 */
  integer(value: number, leastDigits = 1): void {
    this.#room()
    let digits = leastDigits
    for (let most = 10 ** digits; value >= most; most *= 10) digits++
    for (let place = digits - 1, rest = value; place >= 0; place--) {
      const tenth = Math.floor(rest / 10)
      this.#chunk[this.#at + place] = ZERO + (rest - tenth * 10)
      rest = tenth
    }
    this.#at += digits
  }
}
