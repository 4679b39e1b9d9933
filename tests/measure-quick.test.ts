// Reading no further than the wanted frames: the same answer, within its uncertainty, from less of the capture.

import { expect, test } from 'vitest'
import { measureCapture, type MeasureOptions } from '../src/measure.ts'
import { renderFrame } from '../src/render-frame.ts'
import { smallCapture } from './support/small-captures.ts'

const FRAMES = 24
const CHUNKS = 96
/** Twenty frames are drawn first. */
const SLOW = { timeout: 60_000 }

/** @returns the measurement, and how many of the chunks were asked for */
async function measured(bytes: Uint8Array, options: MeasureOptions) {
  let asked = 0
  function* chunks(): Generator<Uint8Array> {
    for (; asked < CHUNKS;) {
      const size = Math.ceil(bytes.length / CHUNKS)
      yield bytes.subarray(asked * size, ++asked * size)
    }
  }
  const measurement = await measureCapture(chunks(), options)
  return { measurement, asked }
}

test.each(['vcd', 'csv'] as const)('a %s gives the same answer from a part of it', SLOW, async (kind) => {
  const form = kind === 'vcd' ? { kind } : { kind, rows: 'per-change' as const }
  // dense enough that the part which is held back before roles are known is a fraction of it
  const bytes = smallCapture('ega350with366', { frames: FRAMES, picture: 'dither', form })
  const whole = await measured(bytes, {})
  const quick = await measured(bytes, { quick: true })
  expect(whole.asked).toBe(CHUNKS)
  expect(quick.asked).toBeLessThan(CHUNKS / 2)

  const [all, part] = [whole.measurement.main, quick.measurement.main]
  expect(part.classification.standard?.id).toBe(all.classification.standard?.id)
  expect(part.raster.dotsPerScanline).toBe(all.raster.dotsPerScanline)
  expect(part.raster.scanlinesPerFrame).toBe(all.raster.scanlinesPerFrame)
  const { value, uncertainty } = part.hsync.frequencyHz
  expect(Math.abs(value - all.hsync.frequencyHz.value)).toBeLessThan(3 * uncertainty)
  expect(renderFrame(quick.measurement).codes).toEqual(renderFrame(whole.measurement).codes)

  expect(quick.measurement.notices.map(({ code }) => code)).toEqual(['STOPPED_EARLY'])
  expect(whole.measurement.notices).toEqual([])
})

test('frames that come late are waited for, and a short capture is read to its end', SLOW, async () => {
  const bytes = smallCapture('ega350with366', { frames: FRAMES, picture: 'dither' })
  const late = await measured(bytes, { quick: true, frames: { first: 19, count: 1 } })
  expect(late.asked).toBeGreaterThan(CHUNKS / 2)
  expect(renderFrame(late.measurement, { frame: 19 }).frame).toBe(19)

  const short = await measured(smallCapture('mda'), { quick: true })
  expect(short.asked).toBe(CHUNKS)
  expect(short.measurement.notices.map(({ code }) => code)).not.toContain('STOPPED_EARLY')
})
