import { describe, expect, it, test } from 'vitest'
import { checkOutput, type MeasuredOutput } from '../../src/adapter/output-check.ts'
import { standardById } from '../../src/classify/standards.ts'

const row = standardById('vga-480-60')!

/** 640x480 at 60 Hz, typed from VESA DMT 04h: 25.175 MHz, 800 by 525, hsync 96 dots, vsync 2 scanlines, both negative. */
function measured(more: Partial<MeasuredOutput> = {}): MeasuredOutput {
  return {
    hsyncHz: { value: 25.175e6 / 800, uncertainty: 0.03 },
    vsyncHz: { value: 25.175e6 / 800 / 525, uncertainty: 0.001 },
    scanlinesPerFrame: 525,
    hsyncPolarity: 'negative',
    vsyncPolarity: 'negative',
    hsyncWidthSeconds: { value: 96 / 25.175e6, uncertainty: 1e-9 },
    vsyncWidthScanlines: 2,
    dotsPerScanline: 800,
    ...more,
  }
}

function failed(more: Partial<MeasuredOutput>): string[] {
  return checkOutput(measured(more), row)
    .findings.filter(({ pass }) => pass === false)
    .map(({ what }) => what)
}

describe('an output as published', () => {
  test('passes with no deviation', () => {
    const { pass, findings, id } = checkOutput(measured(), row)
    expect({ pass, id }).toEqual({ pass: true, id: 'vga-480-60' })
    for (const { deviationPpm, unit } of findings)
      if (unit === 'polarity') expect(deviationPpm).toBeNull()
      else expect(deviationPpm).toBeCloseTo(0, 6)
  })

  test('252 MHz / 10 is +993 ppm, and within the 0.5 % of VESA', () => {
    const scale = 25.2 / 25.175
    const check = checkOutput(
      measured({
        hsyncHz: { value: (25.175e6 / 800) * scale, uncertainty: 0.03 },
        vsyncHz: { value: (25.175e6 / 800 / 525) * scale, uncertainty: 0.001 },
      }),
      row,
    )
    const scanlineRate = check.findings.find(({ what }) => what === 'scanline rate')!
    expect(scanlineRate.deviationPpm).toBeCloseTo(993, 0)
    expect(scanlineRate.tolerancePpm).toBeCloseTo(5000, 6)
    expect(scanlineRate.uncertaintyPpm).toBeCloseTo((0.03 / 31_468.75) * 1e6, 9)
    expect(check.pass).toBe(true)
  })
})

describe('a fault fails, and alone', () => {
  it.each([
    { what: 'scanline rate', more: { hsyncHz: { value: 31_250, uncertainty: 0.03 } } },
    { what: 'frame rate', more: { vsyncHz: { value: 70.09, uncertainty: 0.001 } } },
    { what: 'dots per scanline', more: { dotsPerScanline: 801 } },
    { what: 'scanlines per frame', more: { scanlinesPerFrame: 524 } },
    { what: 'hsync width', more: { hsyncWidthSeconds: { value: 40 / 25.175e6, uncertainty: 1e-9 } } },
    { what: 'vsync width', more: { vsyncWidthScanlines: 3 } },
    { what: 'hsync polarity', more: { hsyncPolarity: 'positive' } },
    { what: 'vsync polarity', more: { vsyncPolarity: 'positive' } },
  ] as const)('$what', ({ what, more }) => {
    expect(failed(more)).toEqual([what])
  })

  it('not where the capture does not show it', () => {
    const { findings, pass } = checkOutput(
      measured({
        vsyncHz: null,
        vsyncPolarity: null,
        scanlinesPerFrame: null,
        dotsPerScanline: null,
        vsyncWidthScanlines: null,
      }),
      row,
    )
    expect(pass).toBe(true)
    expect(findings.filter((it) => it.pass === null).map(({ what }) => what)).toEqual([
      'frame rate',
      'dots per scanline',
      'scanlines per frame',
      'vsync width',
      'vsync polarity',
    ])
  })
})
