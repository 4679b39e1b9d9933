// Text of a file → text for a message: short, and without anything that could steer a terminal.

/** Characters of a token that a message repeats. */
const EXCERPT_CHARACTERS = 40

/** A token as a message may show it: quoted, cut to 40 characters, only printable ASCII left as it is. */
export function excerptOf(text: string): string {
  let shown = ''
  for (const character of text.slice(0, EXCERPT_CHARACTERS)) {
    const code = character.codePointAt(0)!
    shown += code >= 0x20 && code <= 0x7e ? character : `\\u{${code.toString(16)}}`
  }
  return `"${shown}${text.length > EXCERPT_CHARACTERS ? '…' : ''}"`
}
