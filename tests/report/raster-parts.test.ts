// The parts of scanline and frame are the card's, and fill it.

import { describe, expect, it, test } from 'vitest'
import { measureCapture } from '../../src/measure.ts'
import type { SegmentMeasurement } from '../../src/measure-segment.ts'
import { frameAxis, scanlineAxis, type RasterAxis } from '../../src/report/raster-parts.ts'
import { smallCapture } from '../support/small-captures.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'

async function main(
  key: TimingKey,
  options: Parameters<typeof smallCapture>[1] = {},
): Promise<SegmentMeasurement> {
  return (await measureCapture([smallCapture(key, options)])).main
}

const lengths = (axis: RasterAxis | undefined): Record<string, number> =>
  Object.fromEntries((axis?.parts ?? []).map(({ name, length }) => [name, length]))

function expectFilled(axis: RasterAxis): void {
  let end = 0
  for (const { start, length } of axis.parts) {
    expect(start).toBeCloseTo(end, 9)
    end = start + length
  }
  expect(end).toBeCloseTo(axis.total, 9)
  const seconds = axis.parts.reduce((sum, part) => sum + part.seconds, 0)
  expect(Math.abs(seconds / axis.seconds - 1)).toBeLessThan(1e-9)
}

describe('of what the card sends', () => {
  const cases: readonly TimingKey[] = ['cga80', 'ega350with366', 'mda', 'uncatalogued']
  test.each(cases)('%s', async (key) => {
    const timing = TIMINGS[key]
    const segment = await main(key, { picture: 'dither', sampleRateHz: 80e6 })
    const across = scanlineAxis(segment)!
    const down = frameAxis(segment)!
    const named = ({ sync, backPorch, active, frontPorch }: typeof timing.h): Record<string, number> => ({
      sync,
      'back porch': backPorch,
      active,
      'front porch': frontPorch,
    })
    const present = (all: Record<string, number>): Record<string, number> =>
      Object.fromEntries(Object.entries(all).filter(([, length]) => length > 0))
    expect(lengths(across)).toEqual(present(named(timing.h)))
    expect(lengths(down)).toEqual(present(named(timing.v)))
    expect(across.total).toBe(timing.h.total)
    expect(down.total).toBe(timing.v.total)
    // a crystal of the capture's own is not drawn: times are those of the card within a part in 10^5
    expect(Math.abs(across.seconds / (timing.h.total / timing.dotClockHz) - 1)).toBeLessThan(1e-5)
    expectFilled(across)
    expectFilled(down)
  })

  it('of an interlaced mode is one field, with its half scanline', async () => {
    const timing = TIMINGS.interlaced
    const down = frameAxis(await main('interlaced', { frames: 3.2, sampleRateHz: 100e6 }))!
    expect(down.total).toBe(timing.v.total)
    expect(down.total % 1).toBe(0.5)
    expect(lengths(down).active).toBe(timing.v.active)
    expectFilled(down)
  })
})

describe('where something is not known', () => {
  it('gives no frame without vsync', async () => {
    const segment = await main('cga80', { omit: ['V'] })
    expect(frameAxis(segment)).toBeUndefined()
    expect(scanlineAxis(segment)?.total).toBe(TIMINGS.cga80.h.total)
  })

  it('gives sync and says that the rest is not measured', async () => {
    const segment = await main('cga80')
    const axis = scanlineAxis({ ...segment, active: null })!
    expect(axis.parts.map(({ name }) => name)).toEqual(['sync', 'not measured'])
    expectFilled(axis)
    expect(scanlineAxis({ ...segment, raster: { ...segment.raster, dotsPerScanline: null } })).toBeUndefined()
  })

  it('leaves out a part that measuring left without a length', async () => {
    const segment = await main('cga80')
    const active = { ...segment.active!, hBackPorchDots: -3 }
    const axis = scanlineAxis({ ...segment, active })!
    expect(axis.parts.map(({ name }) => name)).not.toContain('back porch')
    expectFilled(axis)
  })
})
