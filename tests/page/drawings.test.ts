// The drawings are to scale, and say in words what they show.

import { describe, expect, it, test } from 'vitest'
import { frameDrawing } from '../../src/page/frame-drawing.ts'
import type { RasterAxis, RasterPart } from '../../src/report/raster-parts.ts'
import { scanlineDrawing } from '../../src/page/scanline-drawing.ts'
import { waveformDrawing } from '../../src/page/waveform-drawing.ts'
import type { WaveformClip } from '../../src/transitions/waveform-clips.ts'

/** Parts end to end, of one microsecond each unit. */
function axis(lengths: readonly (readonly [RasterPart['name'], number])[]): RasterAxis {
  let start = 0
  const parts = lengths.map(([name, length]) => {
    const part = { name, start, length, seconds: length * 1e-6 }
    start += length
    return part
  })
  return { parts, total: start, seconds: start * 1e-6 }
}

const across = axis([
  ['sync', 8],
  ['back porch', 4],
  ['active', 60],
  ['front porch', 3],
])
const down = axis([
  ['sync', 5],
  ['back porch', 20],
  ['active', 40],
  ['front porch', 10],
])

interface Rect {
  part: string
  x: number
  y: number
  width: number
  height: number
}

function rectsOf(svg: string): Rect[] {
  const found = svg.matchAll(/<rect class="part-(\w+)" x="(.*?)" y="(.*?)" width="(.*?)" height="(.*?)"/g)
  return [...found].map(([, part, ...numbers]) => {
    const [x, y, width, height] = numbers.map(Number) as [number, number, number, number]
    return { part: part!, x, y, width, height }
  })
}

describe.each([720, 350])('at %d units', (width) => {
  test('a scanline is as wide as its dots', () => {
    const rects = rectsOf(scanlineDrawing(across, 'positive', width, 'hsync').text)
    expect(rects.map(({ part }) => part)).toEqual(['sync', 'back', 'active', 'front'])
    const perDot = rects.reduce((sum, rect) => sum + rect.width, 0) / across.total
    for (const [i, rect] of rects.entries()) {
      // coordinates have two decimals
      expect(Math.abs(rect.width - across.parts[i]!.length * perDot)).toBeLessThan(0.02)
    }
  })

  test('a frame has the shape that it has on the monitor', () => {
    const rects = rectsOf(frameDrawing({ across, down, activeAspect: 4 / 3, what: 'frame' }, width).text)
    const active = rects.find(({ part }) => part === 'active')!
    expect(active.width / active.height).toBeCloseTo(4 / 3, 2)
    const rows = ['sync', 'back', 'active', 'front'].map((part) =>
      rects.find((rect) => rect.part === part && (part === 'active' || rect.x < 30))!,
    )
    for (const [i, row] of rows.entries()) {
      const share = row.height / down.parts[i]!.length
      expect(share / (active.height / 40)).toBeCloseTo(1, 1)
    }
  })

  test('every part is named and dimensioned, in the drawing and for those who cannot see it', () => {
    const scanline = scanlineDrawing(across, 'negative', width, 'hsync').text
    const frame = frameDrawing({ across, down, activeAspect: 4 / 3, what: 'frame' }, width).text
    for (const { name, length } of across.parts) {
      expect(scanline).toContain(`>${name}</tspan>`)
      expect(scanline).toMatch(new RegExp(`${length} dots · ${length} µs`))
      expect(/aria-label="([^"]*)"/.exec(scanline)![1]).toContain(`${name} ${length} dots, ${length} µs`)
    }
    for (const { name, length } of down.parts) {
      expect(frame).toContain(`>${name}</tspan>`)
      expect(frame).toContain(`>${length} scanlines</tspan>`)
      expect(/aria-label="([^"]*)"/.exec(frame)![1]).toContain(`${name} ${length} scanlines, ${length} µs`)
    }
  })
})

it('draws the pulse at its level', () => {
  const wave = (polarity: 'positive' | 'negative'): number[] => {
    const { text } = scanlineDrawing(across, polarity, 720, 'hsync')
    const path = /class="wave" d="M[\d.]+ (\d+)H[\d.]+V(\d+)H/.exec(text)!
    return [Number(path[1]), Number(path[2])]
  }
  // down is more in SVG: a positive pulse goes to the smaller number
  expect(wave('positive')[1]).toBeLessThan(wave('positive')[0]!)
  expect(wave('negative')).toEqual(wave('positive').toReversed())
})

describe('a waveform', () => {
  const clip: WaveformClip = {
    tick: 1000,
    fromTick: 0,
    toTick: 2000,
    channels: [
      { levelBefore: 0, ticks: [900, 960, 1000, 1010] },
      { levelBefore: 1, ticks: [] },
      { levelBefore: null, ticks: [] },
      { levelBefore: 0, ticks: [100] },
    ],
  }
  const fault = { tick: 1000, widthTicks: 10, expectedTick: 900, pulseTicks: 60, secondsPerTick: 1e-8 }
  const names = ['H', 'V', 'never', 'a very long name indeed']
  const { text } = waveformDrawing(clip, names, fault, 'title <&>')

  it('has a trace for every channel with a level', () => {
    expect(text.match(/class="wave"/g)).toHaveLength(3)
    expect(text).toContain('>H</text>')
    expect(text).not.toContain('never')
    expect(text).toContain('>a very lon…</text>')
    expect(text).toContain('aria-label="title &lt;&amp;&gt;"')
  })

  it('draws every change, each where it was', () => {
    const [first, second, third] = [...text.matchAll(/class="wave" d="M78 (.*?)"/g)].map(([, path]) => path!)
    const changes = [...first!.matchAll(/H([\d.]+)V/g)].map(([, x]) => Number(x))
    expect(changes).toHaveLength(4)
    const perTick = (changes[2]! - changes[0]!) / 100
    expect(changes[1]! - changes[0]!).toBeCloseTo(60 * perTick, 1)
    expect(changes[3]! - changes[2]!).toBeCloseTo(10 * perTick, 1)
    // level all along: V high, the last one high since long before
    expect(second).toMatch(/^\d+H416$/)
    expect(third).toMatch(/^\d+H416$/)
    expect(Number(third!.split('H')[0]) - Number(second!.split('H')[0])).toBe(24)
  })

  it('marks the fault, and where the pulse was expected', () => {
    const changes = [...text.matchAll(/H([\d.]+)V/g)].map(([, x]) => Number(x))
    const rect = /class="fault" x="([\d.]+)" y="\d+" width="([\d.]+)"/.exec(text)!
    expect(Number(rect[1])).toBeCloseTo(changes[2]!, 1)
    expect(Number(rect[1]) + Number(rect[2])).toBeCloseTo(changes[3]!, 1)
    expect(Number(/class="expected" d="M([\d.]+) /.exec(text)![1])).toBeCloseTo(changes[0]!, 1)
  })

  it('shows where a missing pulse should have been', () => {
    const missing = { ...fault, tick: 900, widthTicks: 0 }
    const drawn = waveformDrawing({ ...clip, tick: 900 }, names, missing, '').text
    const width = Number(/class="fault" .*? width="([\d.]+)"/.exec(drawn)![1])
    const perTick = 338 / (60 + 2 * 36)
    expect(width).toBeCloseTo(60 * perTick, 0)
  })

  test.each([
    ['no pulse of the capture is whole', clip, { ...fault, pulseTicks: 0 }],
    [
      'the capture is one moment',
      { ...clip, fromTick: 1000, toTick: 1000 },
      { ...fault, pulseTicks: 0, widthTicks: 0 },
    ],
  ])('has numbers everywhere where %s', (_, drawnClip, drawnFault) => {
    expect(waveformDrawing(drawnClip, names, drawnFault, '').text).not.toMatch(/NaN|Infinity/)
  })
})
