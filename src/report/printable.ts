// Text from a capture → text that is safe on a terminal: control and direction characters become visible escapes.

// C0, DEL, C1 (ECMA-48) and the characters that turn the direction of text (Unicode UAX #9) or are not seen at all:
// soft hyphen, zero widths, separators, tags, BOM; and halves of a surrogate pair, which are no characters
const UNSAFE =
  // oxlint-disable-next-line no-control-regex -- they are what is looked for
  /[\u0000-\u001f\u007f-\u009f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\u{e0000}-\u{e007f}\p{Cs}]/gu

/** Shows every character that could move the cursor or turn text round as `\u{…}`; newlines too. */
export function printable(text: string): string {
  return text.replace(UNSAFE, (char) => `\\u{${char.codePointAt(0)!.toString(16)}}`)
}

/**
 * JSON that means the same and is safe on a terminal: JSON.stringify escapes C0 alone. Indented by two.
 */
export function escapedJson(value: unknown): string {
  return JSON.stringify(value, null, 2).replace(UNSAFE, (char) =>
    // JSON's own line ends; inside strings they are escaped already
    char === '\n' ? char : Array.from({ length: char.length }, (_, i) => escapedUnit(char, i)).join(''),
  )
}

function escapedUnit(char: string, at: number): string {
  return `\\u${char.charCodeAt(at).toString(16).padStart(4, '0')}`
}
