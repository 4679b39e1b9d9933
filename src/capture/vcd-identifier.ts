// Identifier codes of a VCD → what the body does with a change of theirs. Own file: header and body must agree on it.

/** Longest identifier code that is read; longer ones are an error, not memory. */
export const MAX_IDENTIFIER_BYTES = 256

/** Codes up to this length are one exact number in base 94: 94 * (94^8 - 1) / 93 lies below 2^53. */
export const SHORT_IDENTIFIER_BYTES = 8

// IEEE 1364-2005, clause 18: codes are made of the characters ! (33) to ~ (126).
export const FIRST_CODE_BYTE = 33
export const LAST_CODE_BYTE = 126
export const CODE_BASE = 94

/** Not declared in the header. */
export const SLOT_UNDECLARED = -1
/** Declared, but not a channel, or a channel nobody wants. */
export const SLOT_IGNORED = -2
/** Slots from here down are vectors: number SLOT_FIRST_VECTOR - slot. Slots from 0 up are channel numbers. */
export const SLOT_FIRST_VECTOR = -3

/** Code → slot. Codes of one and two characters go through a flat table, the rest through maps. */
export class IdentifierTable {
  /** Slots of codes of one and two characters: index is first byte * 256 + second byte (0 without one). */
  readonly pairs: Int16Array = new Int16Array(65536).fill(SLOT_UNDECLARED)
  readonly #short = new Map<number, number>()
  readonly #long = new Map<string, number>()

  set(code: string, slot: number): void {
    if (code.length > SHORT_IDENTIFIER_BYTES) {
      this.#long.set(code, slot)
      return
    }
    let number = 0
    for (let i = 0; i < code.length; i++)
      number = number * CODE_BASE + code.charCodeAt(i) - FIRST_CODE_BYTE + 1
    this.#short.set(number, slot)
    if (code.length <= 2) {
      const second = code.length === 2 ? code.charCodeAt(1) : 0
      this.pairs[code.charCodeAt(0) * 256 + second] = slot
    }
  }

  /** @param number the code in base 94, digits 1 to 94, so that `!` and `!!` differ */
  slotOfShort(number: number): number {
    return this.#short.get(number) ?? SLOT_UNDECLARED
  }

  /** @param code a code longer than SHORT_IDENTIFIER_BYTES */
  slotOfLong(code: string): number {
    return this.#long.get(code) ?? SLOT_UNDECLARED
  }
}

/** Writes the bytes of a short code back from its number. */
export function spellShortCode(number: number, length: number, into: Uint8Array): void {
  let rest = number
  for (let i = length - 1; i >= 0; i--) {
    const digit = ((rest - 1) % CODE_BASE) + 1
    into[i] = digit + FIRST_CODE_BYTE - 1
    rest = (rest - digit) / CODE_BASE
  }
}
