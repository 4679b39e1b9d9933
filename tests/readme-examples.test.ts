// The README's indented examples show lines that the tool really prints, in their order.

import { readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it, test } from 'vitest'
import { run } from './cli/run-main.ts'

const readme = readFileSync(new URL('../README.md', import.meta.url), 'utf8')

/** Blocks of `    $ rastertap …` with the lines under them, up to the next text. */
const examples = [...readme.matchAll(/^ {4}\$ rastertap (.+)\n((?: {4}.*\n|\n(?= {4}))+)/gm)].map(
  (match) => ({
    command: match[1]!,
    shown: match[2]!
      .split('\n')
      .map((line) => line.slice(4))
      .filter((line) => line !== ''),
  }),
)

describe('examples of the README', () => {
  it('are one for each command that has its own section there', () => {
    const commands = examples.map(({ command }) => command.split(' ')[0])
    expect(commands).toEqual(expect.arrayContaining(['sampling', 'preview', 'resistors', 'output']))
  })

  test.each(examples)('$command', async ({ command, shown }) => {
    const picture = join(tmpdir(), `rastertap-readme-${process.pid}.png`)
    const argv = command.split(' ').map((word) => (word === 'seen.png' ? picture : word))
    try {
      const { stdout, stderr } = await run(argv)
      expect(stderr).toBe('')
      const printed = stdout.split('\n')
      let at = 0
      for (const line of shown) {
        const found = printed.indexOf(line, at)
        expect(found, `"${line}" is printed by ${command}`).toBeGreaterThanOrEqual(at)
        at = found + 1
      }
    } finally {
      rmSync(picture, { force: true })
    }
  })
})
