// A sine among noise, in residuals made by hand.

import { describe, expect, it } from 'vitest'
import { periodicComponent } from '../../src/sync/periodic-jitter.ts'
import type { SeriesResiduals } from '../../src/sync/line-series.ts'
import { newRandom } from '../support/random.ts'

function residuals(count: number, offsetAt: (n: number) => number): SeriesResiduals {
  const number = Float64Array.from({ length: count }, (_, n) => n)
  return { count, number, offset: number.map(offsetAt), scanlinesPerPoint: 1 }
}

describe('a sine', () => {
  it('is found at its frequency, with its amplitude', () => {
    const random = newRandom(2)
    for (const cycles of [0.0061, 0.0318, 0.2071, 0.45]) {
      for (const count of [900, 2048, 3100]) {
        const found = periodicComponent(
          residuals(count, (n) => 3 * Math.sin(2 * Math.PI * cycles * n + 1) + random.gaussian()),
          { samplesPerScanline: 1528.7, sampleTicks: 1 },
        )
        expect(Math.abs(found!.cyclesPerScanline - cycles)).toBeLessThan(
          2 * found!.uncertaintyCyclesPerScanline,
        )
        expect(found!.uncertaintyCyclesPerScanline).toBeCloseTo(0.5 / count, 6)
        expect(found!.amplitudeTicks).toBeGreaterThan(2.3)
        expect(found!.amplitudeTicks).toBeLessThan(3.7)
      }
    }
  })

  it('is found in points that average several scanlines', () => {
    const random = newRandom(4)
    const points = 1000
    for (const scanlinesPerPoint of [2, 8]) {
      const number = Float64Array.from({ length: points }, (_, i) => (i + 0.5) * scanlinesPerPoint)
      const offset = number.map((n) => 3 * Math.sin(2 * Math.PI * 0.0123 * n) + 0.5 * random.gaussian())
      const found = periodicComponent(
        { count: points, number, offset, scanlinesPerPoint },
        { samplesPerScanline: 1528.7, sampleTicks: 1 },
      )!
      // the record is as long as points times scanlines: half a line of its spectrum
      expect(found.uncertaintyCyclesPerScanline).toBeCloseTo(0.5 / (points * scanlinesPerPoint), 9)
      expect(Math.abs(found.cyclesPerScanline - 0.0123)).toBeLessThan(2 * found.uncertaintyCyclesPerScanline)
      expect(found.amplitudeTicks).toBeGreaterThan(2.3)
    }
  })

  it('is found among gaps', () => {
    const all = residuals(3000, (n) => 4 * Math.sin(2 * Math.PI * 0.02 * n))
    const kept = [...all.number].filter((n) => n % 262 > 16)
    const found = periodicComponent(
      {
        count: kept.length,
        number: Float64Array.from(kept),
        offset: Float64Array.from(kept, (n) => all.offset[n]!),
        scanlinesPerPoint: 1,
      },
      { samplesPerScanline: 1528.7, sampleTicks: 1 },
    )
    expect(found?.cyclesPerScanline).toBeCloseTo(0.02, 3)
  })
})

describe('is null', () => {
  it('in noise, white or slow', () => {
    for (let seed = 1; seed <= 200; seed++) {
      const random = newRandom(seed)
      let slow = 0
      const memory = [1, 30, 300][seed % 3]!
      const kept = Math.exp(-1 / memory)
      const found = periodicComponent(
        residuals(500 + random.below(3000), () => (slow = kept * slow + random.gaussian())),
        { samplesPerScanline: 1528.7, sampleTicks: 0.01 },
      )
      expect({ seed, found }).toEqual({ seed, found: null })
    }
  })

  it('where all lies within a sample', () => {
    expect(
      periodicComponent(
        residuals(2000, (n) => 0.5 * Math.sin(n / 20)),
        { samplesPerScanline: 1528.7, sampleTicks: 1 },
      ),
    ).toBeNull()
  })

  it('where it is slower than four cycles of all there is', () => {
    expect(
      periodicComponent(
        residuals(2000, (n) => 9 * Math.sin((2 * Math.PI * 2 * n) / 2000)),
        { samplesPerScanline: 1528.7, sampleTicks: 1 },
      ),
    ).toBeNull()
  })
})
