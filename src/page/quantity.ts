// Numbers on the page: what a reader sees, and beside it, for scripts and tests, the number itself.

import { plain } from '../report/number-text.ts'
import { markup, type Markup } from './markup.ts'

/** The terminal writes `us` so that every terminal can; a page has the letter. */
export function withMicro(text: string): string {
  return text.replace(/(?<=\d )us\b/g, 'µs')
}

/** A number with its unit: `plain`'s text, and the number unrounded as the element's value. */
export function quantity(value: number, unit: string, digits = 6): Markup {
  return shown(value, plain(value, unit, digits))
}

/** A number as a text that was made elsewhere. */
export function shown(value: number, text: string): Markup {
  return markup`<data value="${value}">${withMicro(text)}</data>`
}
