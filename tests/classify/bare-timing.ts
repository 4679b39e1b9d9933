// A measurement of a scanline rate and nothing else, for tests that add what they are about.

import type { MeasuredTiming } from '../../src/classify/measured-timing.ts'

/** @param uncertainty of the rate, as a share of it */
export function bareTiming(
  hsyncHz: number,
  uncertainty: number,
  more: Partial<MeasuredTiming> = {},
): MeasuredTiming {
  return {
    hsyncHz: { value: hsyncHz, uncertainty: hsyncHz * uncertainty },
    vsyncHz: null,
    scanlinesPerFrame: null,
    interlaced: false,
    dotsPerScanline: null,
    hsyncPolarity: null,
    vsyncPolarity: null,
    hsyncWidthSeconds: null,
    vsyncWidthScanlines: null,
    litDots: null,
    litScanlines: null,
    roles: new Set(),
    timeScaleTrusted: true,
    ...more,
  }
}
