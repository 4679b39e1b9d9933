// Every mode that competes in the catalogue: what is made of it is measured as it, number by number, dot by dot.

import { describe, expect, it } from 'vitest'
import { STANDARDS, scanlinesPerField } from '../../src/classify/standards.ts'
import { renderFrame } from '../../src/render-frame.ts'
import { made, measured } from './small-signals.ts'

const COMPETING = STANDARDS.filter(({ sameTimingAs }) => sameTimingAs === undefined)
/** Samples per dot: all dots are seen, and no small ratio makes the sample grid cohere. */
const SAMPLES_PER_DOT = 3.3

describe.each(COMPETING)('$id', (row) => {
  const sampleRateHz = Math.round((SAMPLES_PER_DOT * row.dotClockHz) / 1e6) * 1e6
  const { chunks, picture, summary } = made(row.id, { sampleRateHz, clockErrorPpm: 17 })
  const measurement = measured(chunks)
  const { main } = measurement

  it('is measured as what it is', () => {
    expect(main.classification.standard?.id).toBe(row.id)
    expect(main.raster).toMatchObject({
      scanlinesPerFrame: row.scanlinesPerFrame,
      dotsPerScanline: row.dotsPerScanline,
      dotClockFrom: 'measured',
      interlaced: row.interlaced,
    })
    expect(main.hsync.polarity).toBe(row.hsyncPolarity ?? 'positive')
    expect(main.vsync?.polarity).toBe(row.vsyncPolarity ?? 'positive')
    expect(main.vsync!.widthScanlines).toBeCloseTo(row.vertical.sync, 1)
    expect(main.active).toMatchObject({
      dots: row.activeDots,
      scanlines: row.activeScanlines,
      from: 'measured',
      hBackPorchDots: row.horizontal.backPorch,
      hFrontPorchDots: row.horizontal.frontPorch,
    })
    expect(Object.values(main.faults).every((count) => count === 0)).toBe(true)
    expect(measurement.segments).toHaveLength(1)
  })

  it('runs as fast as it was told', () => {
    const nominal = (row.dotClockHz / row.dotsPerScanline) * (1 + 17e-6)
    const { value, uncertainty } = main.hsync.frequencyHz
    // a sample at either end of the capture is the most that any fit can be out by
    const bound = 2 / (summary.samples / sampleRateHz) / sampleRateHz
    expect(Math.abs(value / nominal - 1)).toBeLessThan(Math.min(bound, 5e-6))
    expect(uncertainty / value).toBeLessThan(5e-6)
    expect(main.vsync!.frequencyHz!.value).toBeCloseTo(nominal / scanlinesPerField(row), 3)
  })

  it('shows the picture that was put in', () => {
    const frame = renderFrame(measurement)
    expect(frame).toMatchObject({
      widthPixels: row.activeDots,
      heightPixels: row.activeScanlines,
      whole: true,
    })
    let wrong = 0
    for (let dot = 0; dot < picture.codes.length; dot++) if (frame.codes[dot] !== picture.codes[dot]) wrong++
    expect(wrong).toBe(0)
  })
})
