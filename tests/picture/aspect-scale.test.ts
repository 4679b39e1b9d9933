import { expect, it, test } from 'vitest'
import { dotBlock, enlarge } from '../../src/picture/aspect-scale.ts'

// Pixel aspect = 4/3 * height / width of the mode, as the monitors of the time are 4:3 (common practice).
test.each([
  { mode: '640x200', aspect: (4 / 3) * (200 / 640), block: { across: 2, down: 5 }, within: 0.05 },
  { mode: '640x350', aspect: (4 / 3) * (350 / 640), block: { across: 3, down: 4 }, within: 0.03 },
  { mode: '720x350', aspect: (4 / 3) * (350 / 720), block: { across: 2, down: 3 }, within: 0.03 },
  { mode: '640x480', aspect: 1, block: { across: 1, down: 1 }, within: 0 },
])('$mode: a dot becomes $block.across by $block.down pixels', ({ aspect, block, within }) => {
  expect(dotBlock(aspect)).toEqual(block)
  expect(Math.abs(block.across / block.down / aspect - 1)).toBeLessThanOrEqual(within)
})

it('repeats every dot and nothing else', () => {
  const { codes, widthDots, heightScanlines } = enlarge(
    { widthDots: 2, heightScanlines: 1, codes: Uint16Array.of(7, 9) },
    { across: 2, down: 3 },
  )
  expect([widthDots, heightScanlines]).toEqual([4, 3])
  expect([...codes]).toEqual([7, 7, 9, 9, 7, 7, 9, 9, 7, 7, 9, 9])
})
