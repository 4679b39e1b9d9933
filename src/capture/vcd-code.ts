// The identifier code of a change, as its bytes come: one exact number as long as it is short, bytes from then on.

import {
  CODE_BASE,
  FIRST_CODE_BYTE,
  MAX_IDENTIFIER_BYTES,
  SHORT_IDENTIFIER_BYTES,
  spellShortCode,
  type IdentifierTable,
} from './vcd-identifier.ts'

export class VcdCode {
  #number = 0
  #length = 0
  readonly #bytes = new Uint8Array(MAX_IDENTIFIER_BYTES)

  /** @param byte the first of the code, from FIRST_CODE_BYTE to LAST_CODE_BYTE */
  begin(byte: number): void {
    this.#number = byte - FIRST_CODE_BYTE + 1
    this.#length = 1
  }

  /** No more bytes may be added. */
  get isFull(): boolean {
    return this.#length === MAX_IDENTIFIER_BYTES
  }

  /** @param byte as for `begin` */
  add(byte: number): void {
    if (this.#length < SHORT_IDENTIFIER_BYTES) {
      this.#number = this.#number * CODE_BASE + byte - FIRST_CODE_BYTE + 1
    } else {
      if (this.#length === SHORT_IDENTIFIER_BYTES)
        spellShortCode(this.#number, SHORT_IDENTIFIER_BYTES, this.#bytes)
      this.#bytes[this.#length] = byte
    }
    this.#length++
  }

  get text(): string {
    if (this.#isShort) spellShortCode(this.#number, this.#length, this.#bytes)
    return String.fromCharCode(...this.#bytes.subarray(0, this.#length))
  }

  slotIn(table: IdentifierTable): number {
    return this.#isShort ? table.slotOfShort(this.#number) : table.slotOfLong(this.text)
  }

  get #isShort(): boolean {
    return this.#length <= SHORT_IDENTIFIER_BYTES
  }
}
