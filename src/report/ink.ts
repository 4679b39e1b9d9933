// Emphasis on a terminal: SGR sequences of ECMA-48, or nothing at all.

/** Functions that mark text; each returns it unchanged where there is no colour. */
export interface Ink {
  strong: (text: string) => string
  dim: (text: string) => string
  good: (text: string) => string
  odd: (text: string) => string
}

export const NO_INK: Ink = {
  strong: (text) => text,
  dim: (text) => text,
  good: (text) => text,
  odd: (text) => text,
}

export const TERMINAL_INK: Ink = {
  strong: (text) => `\u001b[1m${text}\u001b[22m`,
  dim: (text) => `\u001b[2m${text}\u001b[22m`,
  good: (text) => `\u001b[32m${text}\u001b[39m`,
  odd: (text) => `\u001b[33m${text}\u001b[39m`,
}
