// Byte offset → text line, column and the line's text. Worked out only when an error is printed.

/** A place as a person finds it in an editor; both count from 1. */
export interface TextPosition {
  line: number
  column: number
  /** The text line, cut to a window around the place. */
  excerpt: string
  /** Where in `excerpt` the place is, from 0. */
  excerptColumn: number
}

const LF = 0x0a
/** Characters of a long line that are shown, and how many of them before the place. */
const WINDOW = 60
const BEFORE = 30
/** Bytes kept before the place: more than WINDOW is never shown. */
const KEPT = 512

/** Feeds on chunks until the wanted byte and its line have passed. */
export class TextPositionFinder {
  readonly #byte: number
  #passed = 0
  #line = 1
  #lineStart = 0
  /** Bytes of the wanted line around the wanted byte. */
  readonly #around: number[] = []
  #aroundStart = 0
  #complete = false

  constructor(byte: number) {
    this.#byte = byte
  }

  /** @returns true once nothing more is needed */
  write(chunk: Uint8Array): boolean {
    for (let i = 0; i < chunk.length && !this.#complete; i++) {
      const at = this.#passed + i
      const value = chunk[i]!
      if (value === LF) {
        if (at >= this.#byte) {
          this.#complete = true
          break
        }
        this.#line++
        this.#lineStart = at + 1
        this.#around.length = 0
        this.#aroundStart = at + 1
        continue
      }
      if (at > this.#byte + WINDOW) {
        this.#complete = true
        break
      }
      if (at >= this.#byte - KEPT) {
        if (this.#around.length === 0) this.#aroundStart = at
        this.#around.push(value)
      }
    }
    this.#passed += chunk.length
    return this.#complete
  }

  end(): TextPosition {
    const place = Math.max(0, this.#byte - this.#aroundStart)
    const from = Math.max(0, place - BEFORE)
    const text = new TextDecoder().decode(Uint8Array.from(this.#around.slice(from, from + WINDOW)))
    return {
      line: this.#line,
      column: this.#byte - this.#lineStart + 1,
      excerpt: text.replace(/\r$/, ''),
      excerptColumn: place - from,
    }
  }
}
