// One $var declaration → code, width, name and bit numbers. Own file: this is where writers differ most.

import { MalformedCaptureError } from '../errors.ts'
import { excerptOf } from './vcd-excerpt.ts'
import { FIRST_CODE_BYTE, LAST_CODE_BYTE, MAX_IDENTIFIER_BYTES } from './vcd-identifier.ts'

/** A token of the header and the byte at which it starts. */
export interface VcdToken {
  text: string
  atByte: number
}

/** A scope with the scopes around it. */
export interface VcdScope {
  name: string
  parent: VcdScope | null
}

/** One declared variable. */
export interface VcdVariable {
  code: string
  /** Without scope, escape and bit numbers. */
  name: string
  scope: VcdScope | null
  widthBits: number
  /** Bit numbers of the first and last bit of a vector, as declared or assumed (`width - 1` down to 0). */
  msb: number
  lsb: number
  /** The bit number of a single wire that is declared as one bit of a bus, else null. */
  index: number | null
  atByte: number
  /** Why this is no channel; null when it can be one. */
  ignoredBecause: string | null
}

/** Vectors wider than this are left out: a bus of a video card is 8 or 16 wires wide. */
const MAX_VECTOR_BITS = 32

// Variable types of IEEE 1364-2005, clause 18, and of newer writers, that are numbers or texts and not wires.
const TYPES_WITHOUT_WIRES: ReadonlySet<string> = new Set(
  'event integer parameter real realtime real_parameter shortreal string time int shortint longint byte'.split(
    ' ',
  ),
)

/**
 * Reads the tokens between `$var` and `$end`: type, size, code, name and its range.
 *
 * @throws {MalformedCaptureError} VCD_DECLARATION_MALFORMED, VCD_IDENTIFIER_TOO_LONG
 */
export function readVariable(
  tokens: readonly VcdToken[],
  atByte: number,
  scope: VcdScope | null,
): VcdVariable {
  const [type, size, code, ...words] = withSizeApart(tokens)
  if (!type || !size || !code || words.length === 0) {
    throw malformed(`$var needs a type, a size, a code and a name, found ${tokens.length} words`, atByte)
  }
  const sizeRange = rangeIn(size.text)
  const widthBits = sizeRange ? Math.abs(sizeRange.msb - sizeRange.lsb) + 1 : Number(size.text)
  if (!sizeRange && !/^\d{1,9}$/.test(size.text)) {
    throw malformed(
      `the size of a variable must be a whole number, found ${excerptOf(size.text)}`,
      size.atByte,
    )
  }
  checkCode(code)
  const reference = readReference(words.map((word) => word.text).join(' '), widthBits, sizeRange)
  return {
    code: code.text,
    scope,
    widthBits,
    atByte,
    ...reference,
    ignoredBecause: reasonToIgnore(type.text, widthBits),
  }
}

/** Some writers leave out the space between size and code: `1!` can be told apart, `10` can not. */
function withSizeApart(tokens: readonly VcdToken[]): readonly VcdToken[] {
  const size = tokens[1]
  const glued = size && /^(\d+)([^\d].*)$/.exec(size.text)
  if (!size || !glued || tokens.length < 3) return tokens
  const [, digits = '', code = ''] = glued
  return [
    tokens[0]!,
    { text: digits, atByte: size.atByte },
    { text: code, atByte: size.atByte + digits.length },
    ...tokens.slice(2),
  ]
}

function checkCode(code: VcdToken): void {
  if (code.text.length > MAX_IDENTIFIER_BYTES) {
    throw new MalformedCaptureError(
      'VCD_IDENTIFIER_TOO_LONG',
      `identifier code of ${code.text.length} characters, at most ${MAX_IDENTIFIER_BYTES} are read`,
      { byte: code.atByte },
      { hint: 'write the capture again with short identifier codes' },
    )
  }
  for (let i = 0; i < code.text.length; i++) {
    const character = code.text.charCodeAt(i)
    if (character < FIRST_CODE_BYTE || character > LAST_CODE_BYTE) {
      throw malformed(`identifier codes are made of ! to ~, found ${excerptOf(code.text)}`, code.atByte)
    }
  }
}

interface Range {
  msb: number
  lsb: number
  /** What stands before the bracket. */
  before: string
  single: boolean
}

function rangeIn(text: string): Range | undefined {
  const parts = /\[ ?(-?\d{1,9}) ?(?:: ?(-?\d{1,9}) ?)?\]$/.exec(text)
  if (!parts) return undefined
  const msb = Number(parts[1])
  return {
    msb,
    lsb: parts[2] === undefined ? msb : Number(parts[2]),
    before: text.slice(0, parts.index),
    single: parts[2] === undefined,
  }
}

type Reference = Pick<VcdVariable, 'name' | 'msb' | 'lsb' | 'index'>

function readReference(text: string, widthBits: number, sizeRange: Range | undefined): Reference {
  const fallback = { msb: sizeRange?.msb ?? widthBits - 1, lsb: sizeRange?.lsb ?? 0, index: null }
  const escaped = text.startsWith('\\')
  const range = rangeIn(text)
  // An escaped name goes on to the next white space: brackets glued to it are part of the name.
  const usable = range && range.before !== '' && (!escaped || range.before.endsWith(' ')) ? range : undefined
  const cleaned = (name: string) => (escaped ? name.slice(1) : name).trim()
  if (!usable) return { name: cleaned(text), ...fallback }
  const name = cleaned(usable.before)
  if (widthBits === 1 && usable.msb === usable.lsb) {
    // `[0:0]` is how some writers spell a plain wire; `[2]` is one wire of a bus.
    const index = usable.single || usable.msb !== 0 ? usable.msb : null
    return { name, msb: usable.msb, lsb: usable.lsb, index }
  }
  const fits = Math.abs(usable.msb - usable.lsb) + 1 === widthBits
  if (fits) return { name, msb: usable.msb, lsb: usable.lsb, index: null }
  // A word of a memory (`mem [3]`, 8 bits), or a range of another size: part of the name.
  return { name: name + text.slice(usable.before.length), ...fallback }
}

function reasonToIgnore(type: string, widthBits: number): string | null {
  if (TYPES_WITHOUT_WIRES.has(type.toLowerCase())) return `is of type ${type.toLowerCase()}, not a wire`
  if (widthBits === 0) return 'is 0 bits wide'
  if (widthBits > MAX_VECTOR_BITS) return `is ${widthBits} bits wide, more than ${MAX_VECTOR_BITS}`
  return null
}

function malformed(message: string, atByte: number): MalformedCaptureError {
  return new MalformedCaptureError(
    'VCD_DECLARATION_MALFORMED',
    message,
    { byte: atByte },
    {
      hint: 'a declaration reads: $var wire 1 ! HSYNC $end',
    },
  )
}
