import { describe, expect, it, test } from 'vitest'
import { inputOfSegment, inputOfStandard, outputOfSegment } from '../../src/adapter/input-mode.ts'
import { standardById, STANDARDS } from '../../src/classify/standards.ts'
import { measureCapture } from '../../src/measure.ts'
import type { SegmentMeasurement } from '../../src/measure-segment.ts'
import { smallCapture } from '../support/small-captures.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'

async function segment(...of: Parameters<typeof smallCapture>): Promise<SegmentMeasurement> {
  return (await measureCapture([smallCapture(...of)])).main
}

describe('the input of an adapter', () => {
  test.each([
    { key: 'mda', sampleRateHz: 24e6 },
    { key: 'ega350with366', sampleRateHz: 24e6 },
    { key: 'interlaced', sampleRateHz: 50e6 },
  ] as { key: TimingKey; sampleRateHz: number }[])(
    '$key is what was drawn',
    async ({ key, sampleRateHz }) => {
      const { h, v, dotClockHz } = TIMINGS[key]
      const { input, assumed } = inputOfSegment(await segment(key, { sampleRateHz, picture: 'dither' }))
      expect(assumed).toEqual([])
      // of an interlaced mode: one field
      expect(input).toMatchObject({
        dotsPerScanline: h.total,
        scanlinesPerFrame: v.total,
        activeDots: h.active,
        activeScanlines: v.active,
      })
      expect(input.dotClockHz / dotClockHz).toBeCloseTo(1, 6)
      expect(input.vsyncHz).toBeCloseTo(dotClockHz / h.total / v.total, 4)
    },
  )

  it('is the standard where the capture shows sync alone, and says so', async () => {
    const measured = inputOfSegment(await segment('cga80', { omit: ['R', 'G', 'B', 'I', 'V'] }))
    expect(measured).toMatchObject({ standard: 'cga-200', assumed: expect.arrayContaining(['frame rate']) })
    expect(measured.assumed.length).toBe(3)
    expect(measured.input).toMatchObject({ activeDots: 640, activeScanlines: 200, scanlinesPerFrame: 262 })
  })

  it('of every row of the catalogue adds up', () => {
    for (const row of STANDARDS) {
      const { input } = inputOfStandard(row)
      expect(input.hsyncHz * input.dotsPerScanline).toBeCloseTo(input.dotClockHz, 3)
      expect(input.vsyncHz * input.scanlinesPerFrame).toBeCloseTo(input.hsyncHz, 6)
      expect(input.activeScanlines).toBeLessThan(input.scanlinesPerFrame)
    }
  })

  it('is refused where nothing tells its size', async () => {
    const unknown = await segment('uncatalogued', { picture: 'dark' })
    expect(unknown.classification.standard).toBeNull()
    expect(() => inputOfSegment(unknown)).toThrow(expect.objectContaining({ code: 'DOT_CLOCK_UNKNOWN' }))
  })
})

describe('the output of an adapter', () => {
  it('has no dots where sync alone was captured', async () => {
    const { channels } = TIMINGS.vga480
    const sync = outputOfSegment(await segment('vga480', { omit: channels, sampleRateHz: 100e6 }))
    const row = standardById('vga-480-60')!
    expect(sync).toMatchObject({
      dotsPerScanline: null,
      scanlinesPerFrame: row.scanlinesPerFrame,
      hsyncPolarity: 'negative',
      vsyncPolarity: 'negative',
    })
    expect(sync.vsyncWidthScanlines).toBeCloseTo(2, 2)
    const whole = outputOfSegment(await segment('vga480', { picture: 'dither', sampleRateHz: 100e6 }))
    expect(whole.dotsPerScanline).toBe(800)
  })
})
