// Text into bytes without a string per value: captures have millions of them.

const NEW_ROW = 0x0a
const ZERO = 0x30

export class ByteWriter {
  #bytes = new Uint8Array(1 << 16)
  #length = 0
  readonly #encoder = new TextEncoder()

  text(text: string): void {
    if (text.length > 16) return this.bytes(this.#encoder.encode(text))
    this.#reserve(text.length * 3)
    for (let i = 0; i < text.length; i++) {
      const unit = text.charCodeAt(i)
      if (unit > 0x7f) return this.bytes(this.#encoder.encode(text.slice(i)))
      this.#bytes[this.#length++] = unit
    }
  }

  bytes(bytes: Uint8Array): void {
    this.#reserve(bytes.length)
    this.#bytes.set(bytes, this.#length)
    this.#length += bytes.length
  }

  byte(byte: number): void {
    this.#reserve(1)
    this.#bytes[this.#length++] = byte
  }

  newRow(): void {
    this.byte(NEW_ROW)
  }

  /** A whole number ≥ 0 in decimal, filled with zeros on the left up to `digits`. */
  integer(value: number, digits = 1): void {
    this.#reserve(24)
    let places = 1
    for (let power = 10; power <= value; power *= 10) places++
    places = Math.max(places, digits)
    for (let i = this.#length + places - 1; i >= this.#length; i--) {
      this.#bytes[i] = ZERO + (value % 10)
      value = Math.floor(value / 10)
    }
    this.#length += places
  }

  /** The bytes so far, in an array of their own. */
  done(): Uint8Array {
    return this.#bytes.slice(0, this.#length)
  }

  #reserve(more: number): void {
    if (this.#length + more <= this.#bytes.length) return
    const wider = new Uint8Array(Math.max(this.#bytes.length * 2, this.#length + more))
    wider.set(this.#bytes.subarray(0, this.#length))
    this.#bytes = wider
  }
}
