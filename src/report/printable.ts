// Text from a capture → text that is safe on a terminal: control and direction characters become visible escapes.

// C0, DEL, C1 (ECMA-48) and the characters that turn the direction of text (Unicode UAX #9), line separators, BOM
// oxlint-disable-next-line no-control-regex -- they are what is looked for
const UNSAFE = /[\u0000-\u001f\u007f-\u009f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/g

/** Shows every character that could move the cursor or turn text round as `\u{…}`; newlines too. */
export function printable(text: string): string {
  return text.replace(UNSAFE, (char) => `\\u{${char.codePointAt(0)!.toString(16)}}`)
}
