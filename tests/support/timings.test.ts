import { expect, test } from 'vitest'

import { scanlinesPerFrame } from './card-scanlines.ts'
import { CRTC_PROGRAMS } from './verilog-crtc.ts'
import { ALL_TIMINGS, TIMINGS } from './timings.ts'
import type { TimingKey } from './timings.ts'

// Totals and rates as published, to the digits printed there.
const published: {
  key: TimingKey
  dots: number
  scanlines: number
  kHz: number
  hz: number
  source: string
}[] = [
  { key: 'mda', dots: 882, scanlines: 370, kHz: 18.432, hz: 49.82, source: 'IBM 5151 monitor: 18.432 kHz' },
  { key: 'mono348', dots: 864, scanlines: 370, kHz: 18.519, hz: 50.05, source: '54.000 us at 16 MHz' },
  {
    key: 'cga80',
    dots: 912,
    scanlines: 262,
    kHz: 15.7,
    hz: 59.92,
    source: '228 subcarrier cycles, 262 scanlines',
  },
  { key: 'cgaGraphics', dots: 912, scanlines: 262, kHz: 15.7, hz: 59.92, source: 'the same' },
  { key: 'cga320', dots: 912, scanlines: 262, kHz: 15.7, hz: 59.92, source: 'the same' },
  {
    key: 'ega200',
    dots: 912,
    scanlines: 262,
    kHz: 15.7,
    hz: 59.92,
    source: 'IBM EGA 1984, registers 70 and 104 hex',
  },
  { key: 'ega350with366', dots: 744, scanlines: 366, kHz: 21.851, hz: 59.7, source: 'IBM EGA: 21.85 kHz' },
  {
    key: 'ega350with364',
    dots: 744,
    scanlines: 364,
    kHz: 21.851,
    hz: 60.03,
    source: 'IBM EGA: 21.85 kHz, 60 Hz',
  },
  { key: 'vgaText400', dots: 900, scanlines: 449, kHz: 31.469, hz: 70.09, source: 'IBM VGA' },
  { key: 'vga400', dots: 800, scanlines: 449, kHz: 31.469, hz: 70.09, source: 'IBM VGA' },
  { key: 'vga480', dots: 800, scanlines: 525, kHz: 31.469, hz: 59.94, source: 'VESA DMT 04h' },
  { key: 'uncatalogued', dots: 792, scanlines: 560, kHz: 27, hz: 48.21, source: 'our own' },
]

test.each(published)('$key: totals and rates as published', ({ key, dots, scanlines, kHz, hz }) => {
  const timing = TIMINGS[key]
  expect(timing.h.total).toBe(dots)
  expect(scanlinesPerFrame(timing)).toBe(scanlines)
  expect(Math.abs(timing.dotClockHz / dots / 1e3 - kHz)).toBeLessThan(0.0006)
  expect(Math.abs(timing.dotClockHz / dots / scanlines - hz)).toBeLessThan(0.006)
})

// MC6845 data sheet: R0 total - 1, R1 displayed, R2 sync position, R3 sync width; R4, R5, R6, R7, R9 for rows.
test.each([
  ['mda', 'mdaText'],
  ['mono348', 'mono348'],
  ['cga80', 'cga80'],
  ['cgaGraphics', 'cgaGraphics'],
] as const)('%s: porches follow from the registers', (key, programKey) => {
  const { registers, dotsPerCharacter } = CRTC_PROGRAMS[programKey]
  const [r0, r1, r2, r3, r4, r5, r6, r7, , r9] = registers as number[]
  const { h, v, vsyncOffsetDots } = TIMINGS[key]
  const height = r9! + 1
  expect(h).toEqual({
    active: r1! * dotsPerCharacter,
    frontPorch: (r2! - r1!) * dotsPerCharacter,
    sync: r3! * dotsPerCharacter,
    backPorch: (r0! + 1 - r2! - r3!) * dotsPerCharacter,
    total: (r0! + 1) * dotsPerCharacter,
  })
  expect(v).toEqual({
    active: r6! * height,
    frontPorch: (r7! - r6!) * height,
    sync: 16,
    backPorch: (r4! + 1 - r7!) * height + r5! - 16,
    total: (r4! + 1) * height + r5!,
  })
  expect(vsyncOffsetDots).toBe((r0! + 1 - r2!) * dotsPerCharacter)
})

test('every row is whole dots, names its source, and has a name of its own', () => {
  for (const { h, v, interlaced } of ALL_TIMINGS) {
    for (const dots of Object.values(h)) expect(Number.isInteger(dots)).toBe(true)
    expect(v.total % 1).toBe(interlaced === true ? 0.5 : 0)
  }
  expect(new Set(ALL_TIMINGS.map(({ name }) => name)).size).toBe(ALL_TIMINGS.length)
  for (const { source } of ALL_TIMINGS) expect(source.length).toBeGreaterThan(10)
})
