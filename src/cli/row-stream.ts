// Rows of a table as they are made → bytes for a file that is written meanwhile. Whoever makes them waits for the disk, so
// that a table of any length takes no memory.

/** Rows are handed on in blocks of about this many characters. */
const BLOCK_CHARACTERS = 64 * 1024
/** Blocks that may wait for the disk before `flush` waits for it too. */
const MAX_WAITING_BLOCKS = 4

/** The rows will never be complete. No error of the system, so that it is told from one. */
export class AbandonedError extends Error {
  constructor() {
    super('the rows end early')
    this.name = 'AbandonedError'
  }
}

/** One maker, one reader. */
export class RowStream implements AsyncIterable<Uint8Array> {
  readonly #encoder = new TextEncoder()
  #text = ''
  #blocks: Uint8Array[] = []
  #state: 'open' | 'ended' | 'abandoned' = 'open'
  #isRead = true
  #onMore: (() => void) | undefined
  #onTaken: (() => void) | undefined

  add(row: string): void {
    this.#text += row
    if (this.#text.length >= BLOCK_CHARACTERS) this.#closeBlock()
  }

  #closeBlock(): void {
    if (this.#text !== '' && this.#isRead) this.#blocks.push(this.#encoder.encode(this.#text))
    this.#text = ''
    this.#onMore?.()
  }

  /**
   * Waits until the reader has caught up.
   * @throws {AbandonedError} where the reader has given up: further rows are of no use
   */
  async flush(): Promise<void> {
    while (this.#isRead && this.#blocks.length > MAX_WAITING_BLOCKS)
      await new Promise<void>((resolve) => (this.#onTaken = resolve))
    if (!this.#isRead) throw new AbandonedError()
  }

  /** That was all. */
  end(): void {
    this.#state = 'ended'
    this.#closeBlock()
  }

  /** What was read is worthless: the reader gets an AbandonedError. */
  abandon(): void {
    this.#state = 'abandoned'
    this.#onMore?.()
  }

  async *[Symbol.asyncIterator](): AsyncGenerator<Uint8Array> {
    try {
      for (;;) {
        if (this.#state === 'abandoned') throw new AbandonedError()
        const block = this.#blocks.shift()
        if (block) yield block
        else if (this.#state === 'ended') return
        else await new Promise<void>((resolve) => (this.#onMore = resolve))
        this.#onTaken?.()
      }
    } finally {
      this.#isRead = false
      this.#blocks = []
      this.#onTaken?.()
    }
  }
}
