import fc from 'fast-check'
import { expect, it } from 'vitest'
import { wrapped } from '../../src/report/wrapped.ts'

const words = fc.array(fc.stringMatching(/^[a-z.,]{1,30}$/), { minLength: 1, maxLength: 60 })
const first = fc.constantFrom('', '  ', '  - ', '  nearest: ')

it('keeps every word, in order, and no line is too long unless one word is', () => {
  fc.assert(
    fc.property(words, first, fc.integer({ min: 20, max: 80 }), (list, lead, columns) => {
      const lines = wrapped(list.join(' '), lead, columns)
      expect(lines[0]!.startsWith(lead)).toBe(true)
      const bare = lines.map((line) => line.slice(lead.length))
      expect(bare.join(' ')).toBe(list.join(' '))
      for (const [at, line] of lines.entries()) {
        if (at > 0) expect(line.slice(0, lead.length)).toBe(' '.repeat(lead.length))
        if (line.length > columns) expect(bare[at]).not.toContain(' ')
      }
    }),
  )
})

it('fills lines as far as they go', () => {
  expect(wrapped('one two three four', '- ', 10)).toEqual(['- one two', '  three', '  four'])
  expect(wrapped('12345678 x', '', 10)).toEqual(['12345678 x'])
  expect(wrapped('123456789 x', '', 10)).toEqual(['123456789', 'x'])
})
