// Jitter figures of scanlines put down by hand, in samples of 10 ticks: what is observed, and what sampling explains of it.

import { describe, expect, it } from 'vitest'
import { JitterMeter } from '../../src/sync/jitter-meter.ts'
import { measureJitter, type SyncJitter } from '../../src/sync/jitter.ts'
import type { SeriesResiduals } from '../../src/sync/line-series.ts'
import { newRandom } from '../support/random.ts'

function meterOf(ticks: readonly number[]): JitterMeter {
  const meter = new JitterMeter()
  ticks.forEach((tick, number) => meter.add(number, tick))
  return meter
}

function residualsOf(offset: readonly number[], scanlinesPerPoint = 1): SeriesResiduals {
  return {
    count: offset.length,
    number: Float64Array.from(offset, (_, i) => (i + 0.5) * scanlinesPerPoint),
    offset: Float64Array.from(offset),
    scanlinesPerPoint,
  }
}

const scanlines = (count: number): number[] => Array.from({ length: count }, (_, n) => n)
/** Of scanlines of 1003.7 ticks, as samples show them. */
const steady = (count = 3000): number[] => scanlines(count).map((n) => 10 * Math.ceil(n * 100.37 + 0.2))

function figures(ticks: readonly number[], offset: readonly number[], scanlinesPerPoint = 1): SyncJitter {
  return measureJitter(meterOf(ticks), residualsOf(offset, scanlinesPerPoint), 1003.7, {
    ticks: 10,
    isExact: true,
  })!
}

describe('measureJitter', () => {
  it('wants ten differences of neighbouring periods', () => {
    const enough = (count: number): boolean =>
      measureJitter(meterOf(steady(count)), residualsOf([0]), 1003.7, { ticks: 10, isExact: true }) !==
      undefined
    expect(enough(11)).toBe(false)
    expect(enough(12)).toBe(true)
  })

  it('observes what periods do, and explains it by the samples', () => {
    // steps of 100 or 101 samples: 37 in a hundred are longer
    const ticks = steady()
    const {
      periodRms,
      periodPeakToPeak,
      cycleToCycleRms,
      random,
      belowResolution,
      scanlines: count,
    } = figures(ticks, [0])
    expect(count).toBe(3000)
    const periods = ticks.slice(1).map((tick, i) => tick - ticks[i]!)
    const rms = (list: readonly number[]): number => {
      const mean = list.reduce((sum, value) => sum + value, 0) / list.length
      return Math.sqrt(list.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (list.length - 1))
    }
    expect(periodRms.observedTicks).toBeCloseTo(rms(periods), 9)
    expect(periodRms.observedTicks).toBeCloseTo(10 * Math.sqrt(0.37 * 0.63), 2)
    expect(periodRms.resolutionTicks / periodRms.observedTicks).toBeCloseTo(1, 2)
    expect(cycleToCycleRms.observedTicks).toBeCloseTo(
      rms(periods.slice(1).map((period, i) => period - periods[i]!)),
      9,
    )
    expect(cycleToCycleRms.resolutionTicks / cycleToCycleRms.observedTicks).toBeCloseTo(1, 2)
    expect(periodPeakToPeak).toEqual({ observedTicks: 10, resolutionTicks: 10 })
    expect([random.value, belowResolution]).toEqual([0, true])
    expect(random.uncertainty).toBeGreaterThan(0)
    // what would not have passed for none: a fifth of a sample at most
    expect(random.uncertainty).toBeLessThan(2)
  })

  it('explains no spread where the samples make none', () => {
    const even = scanlines(3000).map((n) => 1000 * n)
    const { periodPeakToPeak, periodRms } = measureJitter(meterOf(even), residualsOf([0]), 1000, {
      ticks: 10,
      isExact: true,
    })!
    expect(periodPeakToPeak).toEqual({ observedTicks: 0, resolutionTicks: 0 })
    expect(periodRms.observedTicks).toBe(0)
  })

  it('resolves random jitter, and explains two samples from peak to peak then', () => {
    const random = newRandom(17)
    const ticks = scanlines(6000).map((n) => 10 * Math.ceil(n * 100.37 + 0.2 + 0.8 * random.gaussian()))
    const found = figures(ticks, [0])
    expect(found.belowResolution).toBe(false)
    expect(Math.abs(found.random.value - 8)).toBeLessThan(3 * found.random.uncertainty)
    expect(found.random.uncertainty).toBeLessThan(0.3)
    expect(found.periodPeakToPeak.resolutionTicks).toBe(20)
    expect(found.timeIntervalErrorPeak.resolutionTicks).toBe(5)
    expect(found.timeIntervalErrorRms.resolutionTicks).toBeCloseTo(10 / Math.sqrt(12), 6)
  })

  it('spreads of the line: of points, and what points of several scanlines hide', () => {
    const single = figures(steady(), [3, -4, 0, 5])
    expect(single.timeIntervalErrorRms.observedTicks).toBeCloseTo(Math.sqrt(50 / 4), 9)
    expect(single.timeIntervalErrorPeak.observedTicks).toBe(5)
    expect(figures(steady(), [3, -7, 0, 5]).timeIntervalErrorPeak.observedTicks).toBe(7)
    const random = newRandom(17)
    const ticks = scanlines(6000).map((n) => 10 * Math.ceil(n * 100.37 + 0.2 + 0.8 * random.gaussian()))
    const fours = figures(ticks, [3, -4, 0, 5], 4)
    expect(fours.timeIntervalErrorRms.observedTicks).toBeCloseTo(
      Math.sqrt(50 / 4 + fours.random.value ** 2 * (3 / 4)),
      6,
    )
  })

  it('wander: averages over 32 scanlines, whole ones alone', () => {
    // three windows of 2, -4 and 0 about which single ones vary, and a rest
    const list = [2, -4, 0].flatMap((mean) => scanlines(32).map((n) => mean + (n % 2 === 0 ? 5 : -5)))
    expect(figures(steady(), [...list, 100, 100]).wanderRmsTicks).toBeCloseTo(Math.sqrt((4 + 16) / 3), 9)
    expect(figures(steady(), list.slice(0, 31)).wanderRmsTicks).toBe(0)
    // points of 16 scanlines: two each; of 64: each by itself
    expect(figures(steady(), [1, 3, -2, -6], 16).wanderRmsTicks).toBeCloseTo(Math.sqrt((4 + 16) / 2), 9)
    expect(figures(steady(), [3, -4], 64).wanderRmsTicks).toBeCloseTo(Math.sqrt(25 / 2), 9)
  })

  it('allows for times rounded to ticks', () => {
    // samples of 10.4 ticks, times in whole ticks
    const ticks = scanlines(3000).map((n) => Math.round(10.4 * Math.ceil(n * 100.37 + 0.2)))
    const found = measureJitter(meterOf(ticks), residualsOf([0]), 1043.848, { ticks: 10.4, isExact: true })!
    expect(found.belowResolution).toBe(true)
    // a sample, and half a tick at either end of either period
    expect(found.periodPeakToPeak.resolutionTicks).toBeCloseTo(10.4 + 2, 9)
    // 1/12 of a squared tick at either end
    const unrounded = 10.4 ** 2 * 0.37 * 0.63
    expect(found.periodRms.resolutionTicks ** 2).toBeCloseTo(unrounded + 2 / 12, 0)
  })

  it('names a sway that comes again, where there are scanlines enough', () => {
    const swaying = (count: number): SyncJitter['periodic'] =>
      figures(
        scanlines(count).map((n) => 10 * Math.ceil(n * 100.37 + 0.2 + 3 * Math.sin((2 * Math.PI * n) / 40))),
        [0],
      ).periodic
    const found = swaying(4000)!
    expect(Math.abs(found.cyclesPerScanline - 1 / 40)).toBeLessThan(2 * found.uncertaintyCyclesPerScanline)
    expect(found.amplitudeTicks / 30).toBeCloseTo(1, 0)
    expect(swaying(40)).toBeNull()
    expect(figures(steady(), [0]).periodic).toBeNull()
  })
})
