// Byte offset → text position in the input that has just been read: a file is read once more, a pipe must have been
// remembered as it passed.

import {
  TextPositionFinder,
  textStartAfter,
  type TextPosition,
  type TextStart,
} from '../capture/text-position.ts'
import { canReadAgain, openCapture } from '../open-capture.ts'

/** Bytes of a pipe that are kept, at its begin (headers, first rows) and at its end: errors are there. */
const KEPT_BYTES = 256 * 1024
/** Bytes before a place that its excerpt may show. */
const EXCERPT_BYTES = 512

/** Reads the file up to the byte. */
export async function placeInFile(file: string, byte: number): Promise<TextPosition | undefined> {
  if (!(await canReadAgain(file))) return undefined
  const finder = new TextPositionFinder(byte)
  try {
    const chunks = openCapture(file, { onCutShort: () => undefined })
    for await (const chunk of chunks) if (finder.write(chunk)) break
  } catch {
    // what can be said without it is still worth saying
    return undefined
  }
  return finder.end()
}

interface Stretch {
  from: TextStart
  chunk: Uint8Array
}

/** Remembers begin and end of what passes, and counts text lines in between. */
export class PassedText {
  readonly #head: Stretch[] = []
  readonly #tail: Stretch[] = []
  #headBytes = 0
  #tailBytes = 0
  #next: TextStart = { byte: 0, line: 1, column: 1 }

  /** @param chunk kept, not copied: whoever gave it must not write into it again */
  write(chunk: Uint8Array): void {
    const stretch = { from: this.#next, chunk }
    this.#next = textStartAfter(this.#next, chunk)
    if (this.#headBytes < KEPT_BYTES) {
      this.#head.push(stretch)
      this.#headBytes += chunk.length
      return
    }
    this.#tail.push(stretch)
    this.#tailBytes += chunk.length
    while (this.#tailBytes - this.#tail[0]!.chunk.length > KEPT_BYTES) {
      this.#tailBytes -= this.#tail.shift()!.chunk.length
    }
  }

  /** @returns undefined where the byte was not kept */
  find(byte: number): TextPosition | undefined {
    const kept = [...this.#head, ...this.#tail]
    let at = kept.findLastIndex(({ from }) => from.byte <= byte)
    // nothing has passed: the place in an empty text
    if (at < 0) return byte === 0 ? new TextPositionFinder(0).end() : undefined
    const end = endOf(kept[at]!)
    if (byte > end || (byte === end && byte !== this.#next.byte)) return undefined
    while (at > 0 && kept[at]!.from.byte > byte - EXCERPT_BYTES && isFollowed(kept, at - 1)) at--
    const finder = new TextPositionFinder(byte, kept[at]!.from)
    while (!finder.write(kept[at]!.chunk) && isFollowed(kept, at)) at++
    return finder.end()
  }
}

function endOf({ from, chunk }: Stretch): number {
  return from.byte + chunk.length
}

function isFollowed(kept: readonly Stretch[], at: number): boolean {
  return kept[at + 1]?.from.byte === endOf(kept[at]!)
}
