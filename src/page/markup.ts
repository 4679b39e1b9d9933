// Text → HTML and SVG. A template that escapes whatever is put into it, so that nothing a capture says can become markup.

import { printable } from '../report/printable.ts'

/** HTML or SVG that is ready to be put into a page. Made by `markup` alone. */
export class Markup {
  readonly text: string
  constructor(text: string) {
    this.text = text
  }
}

/** What may stand between the braces of a template; `null` and `false` are nothing. */
export type Piece = Markup | string | number | null | false | readonly Piece[]

/**
 * Markup with everything between braces escaped: text is shown as it is, control and direction characters as `\u{…}`,
 * lists are joined. Attribute values stand in double quotes.
 */
export function markup(parts: TemplateStringsArray, ...pieces: readonly Piece[]): Markup {
  return new Markup(parts.reduce((text, part, i) => text + written(pieces[i - 1] ?? null) + part))
}

function written(piece: Piece): string {
  if (piece instanceof Markup) return piece.text
  if (Array.isArray(piece)) return piece.map(written).join('')
  if (piece === null || piece === false) return ''
  return escaped(printable(String(piece)))
}

const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}

/** HTML, "serialising HTML fragments"; the apostrophe too, for attributes that others quote with it. */
function escaped(text: string): string {
  return text.replace(/[&<>"']/g, (char) => ENTITIES[char]!)
}

/** Data for the page's script: JSON that no element can end and no reader can mistake for markup. */
export function jsonBlock(id: string, value: unknown): Markup {
  // the two separators end a line in scripts older than ECMA-262 of 2019
  const text = JSON.stringify(value).replace(
    /[<>&\u2028\u2029]/g,
    (char) => `\\u${char.charCodeAt(0).toString(16).padStart(4, '0')}`,
  )
  return markup`<script type="application/json" id="${id}">${new Markup(text)}</script>`
}

/** A coordinate with no more digits than can be seen. */
export function coordinate(value: number): string {
  return String(Number(value.toFixed(2)))
}
