import { expect, it } from 'vitest'
import { halfBlocks } from '../../src/picture/half-blocks.ts'

const palette = { name: 'custom', entries: Uint8Array.of(0, 0, 0, 200, 100, 50), note: null }

it('draws two rows of pixels in one row of characters, the upper as foreground', () => {
  const lines = halfBlocks(
    { widthPixels: 1, heightPixels: 2, codes: Uint16Array.of(0, 1), palette, pixelAspect: 1 },
    80,
  )
  expect(lines).toEqual(['\u001b[38;2;0;0;0;48;2;200;100;50m\u2580\u001b[0m'])
})

it('takes no more columns than the terminal has, and keeps the shape of the picture', () => {
  const picture = {
    widthPixels: 640,
    heightPixels: 350,
    codes: new Uint16Array(640 * 350),
    palette,
    pixelAspect: 350 / 480,
  }
  const lines = halfBlocks(picture, 64)
  // 4:3 with half blocks as high as wide: 64 across, 48 half rows
  expect(lines).toHaveLength(24)
  // eslint-disable-next-line no-control-regex
  for (const line of lines) expect([...line.replaceAll(/\u001b\[[^m]*m/g, '')]).toHaveLength(64)
})

it('shows the mean of the pixels that fall into one half cell', () => {
  const codes = Uint16Array.of(0, 1, 0, 1)
  const [line] = halfBlocks({ widthPixels: 2, heightPixels: 2, codes, palette, pixelAspect: 1 }, 1)
  expect(line).toContain('38;2;100;50;25')
})
