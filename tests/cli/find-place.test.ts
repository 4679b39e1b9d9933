// Places in what has gone past: the same as in a file, as long as they are kept.

import { describe, expect, it } from 'vitest'
import { PassedText } from '../../src/cli/find-place.ts'
import { TextPositionFinder } from '../../src/capture/text-position.ts'

const bytes = new Uint8Array(
  Buffer.from(Array.from({ length: 200_000 }, (_, n) => `#${n} \u00fc${n % 7}\n`).join('')),
)

function oracle(byte: number): unknown {
  const finder = new TextPositionFinder(byte)
  finder.write(bytes)
  return finder.end()
}

describe.each([1000, 4096, 65_536, 300_000])('in chunks of %d bytes', (size) => {
  const passed = new PassedText()
  for (let at = 0; at < bytes.length; at += size) passed.write(bytes.subarray(at, at + size))

  it('places at the begin and at the end are found', () => {
    const { length } = bytes
    for (const byte of [0, 1, 999, 1000, 65_535, 65_536, 65_537, length - 100_000, length - 1, length]) {
      expect(passed.find(byte), `byte ${byte}`).toEqual(oracle(byte))
    }
  })

  it('a place that is long gone is not guessed', () => {
    const middle = Math.floor(bytes.length / 2)
    expect(passed.find(middle)).toBeUndefined()
    expect(passed.find(bytes.length + 1)).toBeUndefined()
  })
})

it('finds every place where all is kept, in chunks of one byte', () => {
  const short = bytes.subarray(0, 2000)
  const passed = new PassedText()
  for (let at = 0; at < short.length; at++) passed.write(short.subarray(at, at + 1))
  for (let byte = 0; byte <= short.length; byte++) {
    const finder = new TextPositionFinder(byte)
    finder.write(short)
    expect(passed.find(byte)).toEqual(finder.end())
  }
})

it('keeps a bounded part of a long text', () => {
  const passed = new PassedText()
  // a mebibyte each: only begin and end may stay
  for (let n = 0; n < 40; n++) {
    passed.write(new Uint8Array(1 << 20).fill(10))
  }
  expect(passed.find(20 << 20)).toBeUndefined()
  expect(passed.find(40 << 20)).toMatchObject({ line: (40 << 20) + 1, column: 1 })
})
