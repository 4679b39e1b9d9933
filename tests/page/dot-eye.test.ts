// The eye is open where no edge falls: all of the dot but one sample, as the instrument leaves it.

import { describe, expect, it } from 'vitest'
import { measureCapture } from '../../src/measure.ts'
import { dotEyes, EYE_BINS, type DotEye } from '../../src/page/dot-eye.ts'
import { smallCapture } from '../support/small-captures.ts'
import { TIMINGS } from '../support/timings.ts'

async function eyes(options: Parameters<typeof smallCapture>[1]): Promise<DotEye[]> {
  const capture = smallCapture('cga80', { picture: 'dither', ...options })
  return dotEyes((await measureCapture([capture], { keepSignal: true })).main)
}

const sum = (counts: Float64Array): number => counts.reduce((total, count) => total + count, 0)

describe('the eye', () => {
  it.each([100e6, 60e6, 24e6])('leaves open what the samples at %d Hz leave', async (sampleRateHz) => {
    const all = await eyes({ sampleRateHz })
    expect(all.map(({ role }) => role)).toEqual(['red', 'green', 'blue', 'intensity'])
    const closedDots = TIMINGS.cga80.dotClockHz / sampleRateHz
    for (const { open } of all) {
      const width = open!.to - open!.from
      // a bin of the scanline at either end, and one of the eye
      expect(Math.abs(width - (1 - closedDots))).toBeLessThan(2 * (912 / 32_768) + 2 / EYE_BINS)
      expect(open!.from).toBeLessThan(0.5)
      expect(open!.to).toBeGreaterThan(0.5)
    }
  })

  it('counts every edge once', async () => {
    for (const { rising, falling, edges } of await eyes({ sampleRateHz: 60e6 })) {
      expect(sum(rising) + sum(falling)).toBeCloseTo(edges, 3)
      expect(rising).toHaveLength(EYE_BINS)
    }
  })

  it('reads a channel later by its own delay, and shows its edges later', async () => {
    const delay = 0.15
    const all = await eyes({
      sampleRateHz: 100e6,
      skewSeconds: { B: delay / TIMINGS.cga80.dotClockHz },
    })
    const blue = all.find(({ role }) => role === 'blue')!
    const red = all.find(({ role }) => role === 'red')!
    const later = blue.readAt.rising - red.readAt.rising
    expect(Math.abs(later - delay)).toBeLessThan(0.03)
    const middle = ({ open }: DotEye): number => (open!.from + open!.to) / 2
    expect(Math.abs(middle(blue) - middle(red) - delay)).toBeLessThan(0.05)
  })

  it('is closed where samples are longer than dots', async () => {
    for (const { open } of await eyes({ sampleRateHz: 12e6 })) expect(open).toBeNull()
  })
})

it('there is none where the signal was not kept, or nothing is lit', async () => {
  const kept = await measureCapture([smallCapture('cga80')], {})
  expect(dotEyes(kept.main)).toEqual([])
  expect(await eyes({ picture: 'dark' })).toEqual([])
})
