import { execFileSync } from 'node:child_process'
import fc from 'fast-check'
import { expect, it, test } from 'vitest'
import { shellWord } from '../../src/report/shell-word.ts'

test.each([
  ['capture.vcd', 'capture.vcd'],
  ['../a/b-c_1.csv.gz', '../a/b-c_1.csv.gz'],
  ['-', '-'],
  ['my capture.vcd', "'my capture.vcd'"],
  ["it's", "'it'\\''s'"],
  ['-n', "'./-n'"],
  ['', "''"],
])('%j is typed as %s', (name, word) => {
  expect(shellWord(name)).toBe(word)
})

it('is one word that means the name, to a real shell', () => {
  const names = fc
    .sample(fc.stringMatching(/^[ -~]{1,12}$/), { numRuns: 300, seed: 7 })
    .filter((name) => name !== '-')
  const printed = execFileSync('sh', ['-c', `printf '%s\\n' ${names.map(shellWord).join(' ')}`]).toString()
  expect(printed.split('\n').slice(0, -1)).toEqual(
    names.map((name) => (name.startsWith('-') ? `./${name}` : name)),
  )
})
