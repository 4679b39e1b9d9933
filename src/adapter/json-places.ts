// JSON text -> where each value begins, so that a complaint about a field can name its line. JSON.parse reads the
// values; this reads the places, and names the first character that is out of order.

/** Steps from the outermost value: keys and array indices. */
export type JsonPath = readonly (string | number)[]

/** Deepest nesting that is followed; adapter descriptions need four. */
const MAX_DEPTH = 64

const WHITE = /[ \t\r\n]*/y
/** RFC 8259, clauses 6 and 7: number, string, and the three literal names of clause 3. */
const NUMBER = /-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?/y
// eslint-disable-next-line no-control-regex -- RFC 8259 forbids bare control characters in strings
const STRING = /"(?:[^"\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/y
const LITERAL = /true|false|null/y

/** Text that is no JSON: what was wrong, and the offset (UTF-16 units from 0) of the first character that is. */
export class JsonOutOfOrder extends Error {
  readonly offset: number
  constructor(message: string, offset: number) {
    super(message)
    this.name = new.target.name
    this.offset = offset
  }
}

/** Where values and keys begin, by path. */
export class JsonPlaces {
  readonly #text: string
  readonly #offsets = new Map<string, number>()
  #at = 0

  /** @throws {JsonOutOfOrder} the text is no JSON (RFC 8259), or gives one key twice */
  constructor(text: string) {
    this.#text = text
    // a byte order mark is tolerated, as RFC 8259 clause 8.1 allows
    if (text.charCodeAt(0) === 0xfeff) this.#at = 1
    this.#value([])
    this.#match(WHITE)
    if (this.#at < text.length) throw new JsonOutOfOrder('text follows the end of the JSON value', this.#at)
  }

  /** Text line (from 1) of the value at `path`, or of the nearest value around it that exists. */
  lineOf(path: JsonPath): number {
    for (let steps = path.length; steps > 0; steps--) {
      const offset = this.#offsets.get(JSON.stringify(path.slice(0, steps)))
      if (offset !== undefined) return lineAt(this.#text, offset)
    }
    return lineAt(this.#text, this.#offsets.get('[]') ?? 0)
  }

  #match(pattern: RegExp): string | undefined {
    pattern.lastIndex = this.#at
    const found = pattern.exec(this.#text)?.[0]
    if (found !== undefined) this.#at += found.length
    return found
  }

  #take(character: string): boolean {
    this.#match(WHITE)
    if (this.#text[this.#at] !== character) return false
    this.#at++
    return true
  }

  #expected(what: string): JsonOutOfOrder {
    this.#match(WHITE)
    const found = this.#text[this.#at]
    return new JsonOutOfOrder(
      `expected ${what}, found ${found === undefined ? 'the end of the text' : JSON.stringify(found)}`,
      this.#at,
    )
  }

  #value(path: (string | number)[]): void {
    this.#match(WHITE)
    if (path.length > MAX_DEPTH) throw new JsonOutOfOrder(`nested deeper than ${MAX_DEPTH}`, this.#at)
    this.#offsets.set(JSON.stringify(path), this.#at)
    if (this.#take('{')) this.#members(path)
    else if (this.#take('[')) this.#elements(path)
    else if (this.#match(STRING) ?? this.#match(NUMBER) ?? this.#match(LITERAL)) return
    else throw this.#expected('a value')
  }

  #members(path: (string | number)[]): void {
    if (this.#take('}')) return
    do {
      this.#match(WHITE)
      const keyAt = this.#at
      const quoted = this.#match(STRING)
      if (quoted === undefined) throw this.#expected('a name in double quotes')
      const inner = [...path, JSON.parse(quoted) as string]
      if (this.#offsets.has(JSON.stringify(inner)))
        throw new JsonOutOfOrder(`${quoted} is given a second time`, keyAt)
      if (!this.#take(':')) throw this.#expected(`":" after ${quoted}`)
      this.#value(inner)
    } while (this.#take(','))
    if (!this.#take('}')) throw this.#expected('"," or "}"')
  }

  #elements(path: (string | number)[]): void {
    if (this.#take(']')) return
    let index = 0
    do this.#value([...path, index++])
    while (this.#take(','))
    if (!this.#take(']')) throw this.#expected('"," or "]"')
  }
}

/** Text line, from 1, of an offset; LF ends a line, CR before it belongs to it. */
export function lineAt(text: string, offset: number): number {
  let line = 1
  for (let at = text.indexOf('\n'); at >= 0 && at < offset; at = text.indexOf('\n', at + 1)) line++
  return line
}
