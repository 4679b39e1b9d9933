import { expect, it } from 'vitest'
import { contactSheet } from '../../src/picture/contact-sheet.ts'

it('puts frames side by side with a gap, and fills what is left over', () => {
  const frame = (code: number) => ({ widthDots: 2, heightScanlines: 1, codes: Uint16Array.of(code, code) })
  const sheet = contactSheet([frame(1), frame(2), frame(3)], 9)
  expect([sheet.widthDots, sheet.heightScanlines]).toEqual([2 + 8 + 2, 1 + 8 + 1])
  const row = (y: number) => [...sheet.codes.subarray(y * 12, y * 12 + 12)]
  expect(row(0)).toEqual([1, 1, 9, 9, 9, 9, 9, 9, 9, 9, 2, 2])
  expect(row(4)).toEqual(Array.from({ length: 12 }, () => 9))
  expect(row(9)).toEqual([3, 3, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9])
})
