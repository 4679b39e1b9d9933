// Faults put into hsync, and what is counted: each once, by its kind, whatever the sample rate.

import { describe, expect, it } from 'vitest'

import type { ScanlinePlace } from './support/card-scanlines.ts'
import { measureCard, NO_FAULTS } from './support/measured-card.ts'
import { newRandom, type Random } from './support/random.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const KEYS: TimingKey[] = ['mda', 'cgaGraphics', 'vga480', 'uncatalogued']
const RATES = [24e6, 50e6, 100e6, 400e6]

/** Scanlines of three frames, a few apart, and away from the capture's ends. */
function placesApart(count: number, scanlines: number, random: Random): ScanlinePlace[] {
  const numbers: number[] = []
  while (numbers.length < count) {
    const number = 4 + random.below(3 * scanlines - 9)
    if (numbers.every((other) => Math.abs(other - number) > 3)) numbers.push(number)
  }
  return numbers.map((number) => ({ frame: Math.floor(number / scanlines), scanline: number % scanlines }))
}

describe.each(KEYS)('%s', (key) => {
  const { h, v } = TIMINGS[key]

  it.each(RATES)('each fault is counted once at %d S/s', (rate) => {
    const random = newRandom(KEYS.indexOf(key) * 10 + RATES.indexOf(rate))
    const places = placesApart(16, v.total, random)
    const late = (): number => 4.2 / rate + 0.2e-6 + 0.4e-6 * random.uniform()
    const { main, signal } = measureCard(key, 'text', rate, {
      draw: {
        frames: 3,
        startFrames: 0,
        missingHsync: places.slice(0, 4),
        shiftedHsync: places.slice(4, 8).map((place, i) => ({ ...place, seconds: i % 2 ? late() : -late() })),
        spikes: places.slice(8).map((place) => ({
          channel: 'H',
          widthSeconds: 2.2 / rate + 200e-9 * random.uniform(),
          at: { ...place, dot: Math.floor(h.sync + 8 + random.uniform() * (h.total - 2 * h.sync - 60)) },
        })),
      },
      instrument: { phase: random.uniform() },
    })
    expect(main.faults).toEqual({ ...NO_FAULTS, missing: 4, early: 2, late: 2, extra: 8 })
    expect(main.raster.scanlinesPerFrame).toBe(v.total)
    // none of them moves the rate
    const { value, uncertainty } = main.hsync.frequencyHz
    expect(Math.abs(value - signal.truth.scanlineHz)).toBeLessThan(3 * uncertainty)
    const seconds = main.sync.faults.map((fault) => fault.tick * 1e-9)
    for (const defect of signal.truth.defects) {
      expect(seconds.some((at) => Math.abs(at - defect.seconds) < 1e-6)).toBe(true)
    }
  })

  it.each(['leading', 'trailing'] as const)('ringing at the %s edge is one extra pulse each', (edge) => {
    for (const rate of [24e6, 100e6]) {
      const { main, signal } = measureCard(key, 'text', rate, {
        draw: { ringing: { edge, delaySeconds: 180e-9, widthSeconds: 2.2 / rate, probability: 0.6 } },
      })
      const { extra, ...others } = main.faults
      expect(Math.abs(extra - signal.truth.defects.length)).toBeLessThanOrEqual(1)
      expect({ ...others, extra: 0 }).toEqual(NO_FAULTS)
      const width = main.hsync.widthSeconds
      expect(Math.abs(width.value - h.sync / signal.truth.dotClockHz)).toBeLessThan(3 * width.uncertainty)
    }
  })

  it('jitter of a few nanoseconds is no fault', () => {
    for (const rate of [24e6, 100e6]) {
      const { main } = measureCard(key, 'text', rate, { draw: { hsyncJitterSeconds: 3e-9 } })
      expect(main.faults).toEqual(NO_FAULTS)
    }
  })
})
