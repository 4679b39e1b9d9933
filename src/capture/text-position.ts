// Byte offset → text line, column and the line's text. Worked out only when an error is printed.

/** A place as a person finds it in an editor; both count from 1, columns in characters. */
export interface TextPosition {
  line: number
  column: number
  /** The text line, cut to a window around the place. */
  excerpt: string
  /** Where in `excerpt` the place is, from 0. */
  excerptColumn: number
}

/** Text line and column, both from 1, of the byte at offset `byte`. */
export interface TextStart {
  byte: number
  line: number
  column: number
}

const LF = 0x0a
/** Bytes of a long line that are shown, and how many of them before the place. */
const WINDOW = 60
const BEFORE = 30

/** UTF-8 (RFC 3629): a byte that continues a character is no column of its own. */
function continues(byte: number): boolean {
  return (byte & 0xc0) === 0x80
}

/** Where the byte after `chunk` is, when its first byte is at `start`. */
export function textStartAfter(start: TextStart, chunk: Uint8Array): TextStart {
  let { line } = start
  // a plain loop: text lines of a capture are so short that a search for each is four times as slow
  for (let i = 0; i < chunk.length; i++) if (chunk[i] === LF) line++
  const lineStart = chunk.lastIndexOf(LF) + 1
  let column = lineStart > 0 ? 1 : start.column
  for (let i = lineStart; i < chunk.length; i++) if (!continues(chunk[i]!)) column++
  return { byte: start.byte + chunk.length, line, column }
}

/** Feeds on chunks until the wanted byte and its line have passed; any cut gives the same place. */
export class TextPositionFinder {
  readonly #byte: number
  /** Where the next byte is; where the wanted byte is, once it has passed. */
  #at: TextStart
  /** Bytes of the line just before the wanted byte, and from it on. */
  #before: number[] = []
  readonly #after: number[] = []
  #complete = false

  /** @param from where the first chunk begins, when that is not the begin of the text */
  constructor(byte: number, from: TextStart = { byte: 0, line: 1, column: 1 }) {
    this.#byte = byte
    this.#at = from
  }

  /** @returns true once nothing more is needed */
  write(chunk: Uint8Array): boolean {
    const ahead = Math.min(chunk.length, Math.max(0, this.#byte - this.#at.byte))
    if (ahead > 0) {
      const passed = chunk.subarray(0, ahead)
      // four bytes more than are shown: the window may begin in the middle of a character
      const kept = passed.subarray(Math.max(passed.lastIndexOf(LF) + 1, ahead - BEFORE - 4))
      if (passed.includes(LF)) this.#before = []
      this.#before = [...this.#before, ...kept].slice(-BEFORE - 4)
      this.#at = textStartAfter(this.#at, passed)
    }
    for (let i = ahead; i < chunk.length && !this.#complete; i++) {
      if (chunk[i] === LF || this.#after.length === WINDOW) this.#complete = true
      else this.#after.push(chunk[i]!)
    }
    return this.#complete
  }

  end(): TextPosition {
    const isCut = this.#before.length > BEFORE
    const before = textOf(this.#before.slice(-BEFORE), isCut)
    const after = textOf(this.#after.slice(0, WINDOW - Math.min(BEFORE, this.#before.length)), false)
    return {
      line: this.#at.line,
      column: this.#at.column,
      excerpt: (before + after).replace(/\r$/, ''),
      excerptColumn: before.length,
    }
  }
}

/** A character that the window cuts is left out, at both ends. */
function textOf(bytes: readonly number[], isCutInFront: boolean): string {
  let from = 0
  while (isCutInFront && from < 3 && continues(bytes[from] ?? 0)) from++
  // `stream` holds back a character that is not complete
  const decoder = new TextDecoder('utf-8', { ignoreBOM: true })
  return decoder.decode(Uint8Array.from(bytes.slice(from)), { stream: true })
}
