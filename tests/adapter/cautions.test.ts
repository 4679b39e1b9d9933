import { describe, expect, it, test } from 'vitest'
import { cautionsFor } from '../../src/adapter/cautions.ts'

/** What a reader must have been told before acting on each screen. */
const needed = {
  output: [/damaged by another/, /charge that can kill/, /grounds first/, /makers/, /licensed/],
  resistors: [/data sheets/, /3\.3 V input/, /grounds first/, /makers/],
  capture: [/3\.3 V input/, /grounds first/, /charge that can kill/, /makers/],
} as const

describe('cautions', () => {
  test.each(Object.keys(needed) as (keyof typeof needed)[])(
    '%s says what belongs to it, once each',
    (place) => {
      const cautions = cautionsFor(place)
      const all = cautions.map(({ text }) => text).join('\n')
      for (const what of needed[place]) expect(all).toMatch(what)
      expect(new Set(cautions.map(({ id }) => id)).size).toBe(cautions.length)
    },
  )

  it('are short: none takes longer than a few lines', () => {
    for (const place of ['output', 'resistors', 'capture'] as const)
      for (const { text } of cautionsFor(place)) expect(text.length).toBeLessThan(260)
  })
})
