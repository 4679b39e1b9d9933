// The codes are a contract: each of them is in use, and DEVELOPERS.md explains each.

import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'

const ROOT = fileURLToPath(new URL('..', import.meta.url))
const read = (path: string): string => readFileSync(join(ROOT, path), 'utf8')

/** Members of a union of string literals, in order. */
function unionOf(type: string, source: string): string[] {
  const body = new RegExp(`export type ${type} =\\n([^]*?)\\n\\n`).exec(source)?.[1] ?? ''
  return [...body.matchAll(/^ {2}\| '([A-Z0-9_]+)'$/gm)].map((match) => match[1]!)
}

/** Codes in the first cells of the table under a heading. */
function tableUnder(heading: string, text: string): string[] {
  const section = text.split(/^(?=#+ )/m).find((part) => part.startsWith(`## ${heading}\n`)) ?? ''
  return [...section.matchAll(/^\| *`([A-Z0-9_]+)` *\| *([^|\n]*?) *\|$/gm)].map((match) => {
    expect(match[2], `what ${match[1]} means`).toMatch(/\S{2,} \S/)
    return match[1]!
  })
}

const DEFINITIONS = new Set(['errors.ts', 'notices.ts'])
const code = readdirSync(join(ROOT, 'src'), { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('.ts') && !DEFINITIONS.has(path))
  .map((path) => read(join('src', path)))
  .join('\n')
  .replace(/\/\*[^]*?\*\/|^\s*\/\/.*$/gm, '')

describe.each([
  ['ErrorCode', 'src/errors.ts', 'Error codes'],
  ['NoticeCode', 'src/notices.ts', 'Notices'],
])('%s', (type, file, heading) => {
  const codes = unionOf(type, read(file))

  it('has codes, each once', () => {
    expect(codes.length).toBeGreaterThan(20)
    expect(new Set(codes).size).toBe(codes.length)
  })

  it('has none that nothing in src uses', () => {
    expect(codes.filter((name) => !code.includes(`'${name}'`))).toEqual([])
  })

  it(`is explained in DEVELOPERS.md under "${heading}", no code more or less`, () => {
    expect(tableUnder(heading, read('DEVELOPERS.md')).sort()).toEqual([...codes].sort())
  })
})
