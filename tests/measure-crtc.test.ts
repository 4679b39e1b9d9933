// Captures that a Verilog simulator wrote from a small CRT controller with published registers: sync, dots and picture
// must be what register arithmetic says.

import { describe, expect, test } from 'vitest'

import { renderFrame } from '../src/render-frame.ts'
import { measureBytes } from './support/measured-card.ts'
import {
  CRTC_PROGRAMS,
  hasVerilogSimulator,
  simulateCrtc,
  type CrtcProgramKey,
} from './support/verilog-crtc.ts'

const STANDARDS: Record<CrtcProgramKey, string> = {
  mdaText: 'mda-350',
  mono348: 'mono-348',
  cga80: 'cga-200',
  cgaGraphics: 'cga-200',
}

const hasSimulator = hasVerilogSimulator()
if (!hasSimulator) console.warn('Icarus Verilog is not installed: simulated cards are not measured')

describe.skipIf(!hasSimulator)('a simulated controller', () => {
  test.each(Object.keys(CRTC_PROGRAMS) as CrtcProgramKey[])(
    '%s: rates, raster, area and every dot',
    { timeout: 30_000 },
    (key) => {
      const card = simulateCrtc(key, 2.3)
      const measurement = measureBytes(card.vcd)
      const { main } = measurement
      expect(main.classification.standard?.id).toBe(STANDARDS[key])
      const hertz = card.dotClockHz / card.dotsPerScanline
      expect(Math.abs(main.hsync.frequencyHz.value / hertz - 1)).toBeLessThan(1e-9)
      expect(Math.round(main.hsync.widthSeconds.value * card.dotClockHz)).toBe(card.hsyncDots)
      expect(main.raster).toMatchObject({
        dotsPerScanline: card.dotsPerScanline,
        scanlinesPerFrame: card.scanlinesPerFrame,
        dotClockFrom: 'measured',
      })
      expect(main.vsync).toMatchObject({ polarity: card.vsyncPolarity, widthScanlines: 16 })
      expect(main.active).toMatchObject({
        dots: card.activeDots,
        scanlines: card.activeScanlines,
        hBackPorchDots: card.firstActiveDot - card.hsyncDots,
        vBackPorchScanlines: card.firstActiveScanline - 16,
      })
      const frame = renderFrame(measurement)
      let wrong = 0
      for (let y = 0; y < card.activeScanlines; y++) {
        for (let x = 0; x < card.activeDots; x++) {
          if (frame.codes[y * card.activeDots + x] !== card.codeAt(x, y)) wrong++
        }
      }
      expect(wrong).toBe(0)
    },
  )
})
