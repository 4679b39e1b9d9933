// Captures of other people's cards and simulations, each with what a look at it says; skipped where they are absent.

import { existsSync, readdirSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { CaptureError, measureCapture, measurePulses, openCapture } from '../src/index.ts'
import type { CaptureMeasurement } from '../src/index.ts'

const CAPTURES = new URL('../../shared/captures/', import.meta.url).pathname
const isThere = existsSync(CAPTURES)
if (!isThere) console.warn(`no captures at ${CAPTURES}: their tests are skipped`)

const CLEAN = { extra: 0, missing: 0, short: 0, early: 0, late: 0, width: 0 }

async function measured(name: string): Promise<CaptureMeasurement> {
  return measureCapture(openCapture(`${CAPTURES}${name}`))
}

describe.skipIf(!isThere)('simulated cards: registers make every frame alike', () => {
  test.each([
    ['sim/cga_80x25.vcd.gz', 262],
    ['sim/cga_320x200.vcd.gz', 262],
    ['sim/cga_640x200.vcd.gz', 262],
    ['sim/mda_80x25.vcd.gz', 370],
    ['sim/hgc_720x348.vcd.gz', 370],
    ['sim/ega_640x350.vcd.gz', 364],
    ['sim/ega_640x200.vcd.gz', 262],
    ['sim/vga_640x480.vcd.gz', 525],
    ['sim/vga_720x400_text.vcd.gz', 449],
    ['sim/vga_640x350.vcd.gz', 449],
    ['sim/verilator_vga.vcd.gz', 525],
    ['sim/ghdl_vga_25mhz.vcd.gz', 525],
    ['sim/sampled/cga_320x200_100MHz.vcd.gz', 262],
    ['sim/sampled/cga_320x200_100MHz_persample.csv.gz', 262],
    ['sim/sampled/cga_320x200_100MHz_time_dedup.csv.gz', 262],
    ['sim/sampled/cga_80x25_24MHz.vcd.gz', 262],
    ['sim/sampled/cga_80x25_24MHz_persample.csv.gz', 262],
    ['sim/sampled/cga_80x25_24MHz_time_dedup.csv.gz', 262],
    ['sim/sampled/ega_640x350_24MHz.vcd.gz', 364],
    ['sim/sampled/ega_640x350_24MHz_persample.csv.gz', 364],
    ['sim/sampled/ega_640x350_24MHz_time_dedup.csv.gz', 364],
    ['sim/sampled/mda_80x25_24MHz.vcd.gz', 370],
    ['sim/sampled/mda_80x25_24MHz_persample.csv.gz', 370],
    ['sim/sampled/mda_80x25_24MHz_time_dedup.csv.gz', 370],
    ['sim/sampled/vga_640x480_24MHz.vcd.gz', 525],
    ['sim/sampled/vga_640x480_24MHz_persample.csv.gz', 525],
    ['sim/sampled/vga_640x480_24MHz_time_dedup.csv.gz', 525],
  ])('%s: %d scanlines, not a fault, no jitter', async (name, scanlines) => {
    const pulses = measurePulses(await measured(name))
    expect(pulses).toMatchObject({
      faultCounts: CLEAN,
      oddFrames: 0,
      phaseBreaks: 0,
      usualScanlines: scanlines,
    })
    expect(pulses.frames.length).toBeGreaterThan(0)
    for (const frame of pulses.frames) expect(frame).toMatchObject({ scanlines, countedEdges: scanlines })
    expect(pulses.jitter).toMatchObject({ belowResolution: true, periodic: null })
    expect(pulses.remedy).toBeNull()
  })
})

describe.skipIf(!isThere)('one whose controller is programmed anew', () => {
  test('sim/cga_powerup_modeswitch.vcd.gz: the one scanline of another length is the change, and no fault', async () => {
    const measurement = await measured('sim/cga_powerup_modeswitch.vcd.gz')
    expect(measurement.segments.length).toBeGreaterThan(1)
    for (const segment of measurement.segments)
      expect(measurePulses(measurement, segment)).toMatchObject({ faultCounts: CLEAN, phaseBreaks: 0 })
  })
})

describe.skipIf(!isThere)('a real card', () => {
  // four clean frames, then a program rewrites the controller
  test.each([
    'real/cga_crtc_true_rate.vcd',
    'real/cga_crtc_label_rate.vcd',
    'real/cga_crtc_truncated_time.csv',
  ])('%s: four clean frames first', async (name) => {
    const measurement = await measured(name)
    const pulses = measurePulses(measurement)
    expect(pulses).toMatchObject({ faultCounts: CLEAN, oddFrames: 0, usualScanlines: 262 })
    expect(pulses.frames.map(({ countedEdges }) => countedEdges)).toEqual([262, 262, 262, 262])
    expect(pulses.jitter).toMatchObject({ belowResolution: true, periodic: null })
    // then another width of hsync, frames of 64 scanlines, and the two last frames as at the beginning
    const [first, ...rest] = measurement.segments
    expect(first).toBe(measurement.main)
    expect(rest.length).toBe(3)
    expect(rest.at(-1)!.sync.usualFrameScanlines).toBe(262)
    expect(measurePulses(measurement, rest.at(-1)).faultCounts).toEqual(CLEAN)
    // of the eight frames in between the lengths differ, and a vsync that was being programmed is shorter
    const between = measurePulses(measurement, rest[1])
    expect(between.oddFrames).toBeGreaterThan(1)
    expect(between.faults.every(({ channel }) => channel === 'vsync')).toBe(true)
    expect(between.faults.length).toBeLessThan(3)
  })

  test('real/cga_crtc_per_sample.csv.gz: two clean frames', async () => {
    const pulses = measurePulses(await measured('real/cga_crtc_per_sample.csv.gz'))
    expect(pulses).toMatchObject({ faultCounts: CLEAN, oddFrames: 0, usualScanlines: 262 })
    expect(pulses.frames.length).toBe(2)
  })
})

describe.skipIf(!isThere)('files of other writers, hardly any of them video', () => {
  test('vcd/hdl_python_vga.vcd.gz: 74 even scanlines and no vsync', async () => {
    const { main, ...rest } = await measured('vcd/hdl_python_vga.vcd.gz')
    expect(main.scanlines).toBe(74)
    const pulses = measurePulses({ main, ...rest })
    expect(pulses).toMatchObject({ faultCounts: CLEAN, frames: [], usualScanlines: null, oddFrames: 0 })
    expect(pulses.jitter).toMatchObject({ belowResolution: true, periodic: null })
  })

  const names = isThere
    ? ['vcd', 'csv'].flatMap((folder) =>
        readdirSync(`${CAPTURES}${folder}`).map((name) => `${folder}/${name}`),
      )
    : []
  test.each(names.filter((name) => name !== 'vcd/hdl_python_vga.vcd.gz'))(
    '%s: there is no sync to find fault with, and that is said',
    async (name) => {
      await expect(measured(name)).rejects.toBeInstanceOf(CaptureError)
    },
  )
})
