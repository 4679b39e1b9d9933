import { describe, expect, it, test } from 'vitest'

import { findSampleGrid } from '../../src/transitions/sample-grid.ts'
import { between, newRandom } from '../support/random.ts'

/** Edge times on a grid: gaps of a picture (a few samples) with scanlines without any in between. */
function sampleNumbers(seed: number, count = 4000): number[] {
  const random = newRandom(seed)
  const numbers: number[] = []
  let at = 17
  for (let i = 0; i < count; i++) {
    at += i % 300 === 299 ? 400 + random.below(2600) : 1 + random.below(6)
    numbers.push(at)
  }
  return numbers
}

/** Of sync alone: pulses of 134 to 135 samples, 1528 to 1529 apart. */
const syncNumbers = Array.from({ length: 400 }, (_, n) => [
  Math.ceil(1528.67 * n),
  Math.ceil(1528.67 * n + 134.1),
]).flat()

const rounded = (numbers: number[], ticksPerSample: number, round: (x: number) => number): Float64Array =>
  Float64Array.from(numbers, (number) => round(number * ticksPerSample))

describe('findSampleGrid', () => {
  // [sample rate, tick in seconds]
  const cases = [24e6, 24.5e6, 50e6, 67e6].flatMap((rate) =>
    [1e-9, 1e-10, 1e-8].map((tick) => [rate, tick] as const),
  )
  it.each(cases)('%d S/s in ticks of %d s, rounded or truncated', (rate, tick) => {
    const ticksPerSample = 1 / (rate * tick)
    for (const round of [Math.round, Math.floor]) {
      const ticks = rounded(sampleNumbers(rate / 1e6), ticksPerSample, round)
      const grid = findSampleGrid(ticks, ticks.length, tick)
      if (ticksPerSample < 3.5 && !Number.isInteger(ticksPerSample)) {
        // 1.5 ticks a sample, rounded: nothing to see
        expect(grid).toMatchObject({ intervalTicks: 1, coarserThanTick: false })
        continue
      }
      expect(grid.coarserThanTick).toBe(ticksPerSample > 1)
      expect(Math.abs(grid.intervalTicks / ticksPerSample - 1)).toBeLessThan(2e-7)
    }
  })

  test('rates of any kind whose shortest gap is several samples, rounded or cut off', () => {
    const random = newRandom(11)
    const wrong: string[] = []
    for (let i = 0; i < 200; i++) {
      const ticksPerSample = 10 * 8 ** random.uniform()
      // dots of a few samples each, now and then none for long
      const shortest = 2 + random.below(5)
      let at = random.below(10)
      const numbers = Array.from({ length: 3000 }, () => {
        const dots = 1 + random.below(random.below(20) === 0 ? 60 : 8)
        at += shortest * dots + random.below(dots + 1)
        return at
      })
      for (const round of [Math.round, Math.floor]) {
        const ticks = rounded(numbers, ticksPerSample, round)
        const { intervalTicks } = findSampleGrid(ticks, ticks.length)
        if (Math.abs(intervalTicks / ticksPerSample - 1) < 1e-6) continue
        wrong.push(`${ticksPerSample} ticks, shortest ${shortest}: ${intervalTicks / ticksPerSample} of it`)
      }
    }
    expect(wrong).toEqual([])
  })

  test('a grid of whole ticks is found exactly', () => {
    for (const step of [2, 20, 41, 62_500]) {
      const ticks = rounded(sampleNumbers(5), step, Math.round)
      expect(findSampleGrid(ticks, ticks.length)).toEqual({
        intervalTicks: step,
        uncertaintyTicks: 0,
        coarserThanTick: true,
        rounded: false,
      })
    }
  })

  test('sync alone shows a grid at a usual rate, if the tick is known', () => {
    for (const [rate, tick] of [
      [24e6, 1e-9],
      [12e6, 1e-8],
      [48e6, 1e-12],
    ] as const) {
      const ticks = rounded(syncNumbers, 1 / (rate * tick), Math.round)
      expect(findSampleGrid(ticks, ticks.length, tick).intervalTicks * rate * tick).toBeCloseTo(1, 5)
      expect(findSampleGrid(ticks, ticks.length, null).coarserThanTick).toBe(false)
    }
  })

  describe('in a file whose last digit is coarser than its tick', () => {
    // ticks of 1 ns throughout: what a reader makes of seconds with any number of decimals
    const coarse = (rate: number, round: (seconds: number) => number): Float64Array =>
      Float64Array.from(sampleNumbers(rate / 1e6, 60_000), (number) => Math.round(round(number / rate) * 1e9))

    test.each([12e6, 16e6, 24e6, 25e6])('%d S/s to 8 decimals', (rate) => {
      const ticks = coarse(rate, (seconds) => Number(seconds.toFixed(8)))
      const grid = findSampleGrid(ticks, ticks.length, 1e-9)
      // 40 ns is a whole number of the last digit
      if (rate === 25e6) return expect(grid).toMatchObject({ intervalTicks: 40, rounded: false })
      expect(grid).toMatchObject({ coarserThanTick: true, rounded: true, roundedToTicks: 10 })
      // a usual rate, to all digits that the times tell: it is that
      expect(grid.uncertaintyTicks).toBe(0)
      expect(Math.abs((grid.intervalTicks * rate) / 1e9 - 1)).toBeLessThan(1e-14)
    })

    test.each([32e6, 40e6, 48e6, 64e6, 80e6])('%d S/s to 8 decimals: few digits a sample', (rate) => {
      const ticks = coarse(rate, (seconds) => Number(seconds.toFixed(8)))
      const grid = findSampleGrid(ticks, ticks.length, 1e-9)
      expect(grid).toMatchObject({ rounded: true, roundedToTicks: 10 })
      const off = Math.abs(grid.intervalTicks - 1e9 / rate)
      expect(off).toBeLessThan(4 * grid.uncertaintyTicks + 1e-14 * grid.intervalTicks)
      expect(off / grid.intervalTicks).toBeLessThan(1e-6)
    })

    test('100 MS/s to 8 decimals: the digit is the sample', () => {
      const ticks = coarse(100e6, (seconds) => Number(seconds.toFixed(8)))
      expect(findSampleGrid(ticks, ticks.length, 1e-9)).toMatchObject({ intervalTicks: 10, rounded: false })
    })

    test.each([7, 6])('24 MS/s to %d decimals: the digit is all there is', (decimals) => {
      const ticks = coarse(24e6, (seconds) => Number(seconds.toFixed(decimals)))
      expect(findSampleGrid(ticks, ticks.length, 1e-9)).toMatchObject({
        intervalTicks: 10 ** (9 - decimals),
        uncertaintyTicks: 0,
        rounded: false,
      })
    })

    test('24 MS/s to 7 significant digits: the digits that most times have', () => {
      const ticks = coarse(24e6, (seconds) => Number(seconds.toPrecision(7)))
      // early times have digits to the nanosecond, the last ones, after 10 ms, to ten
      expect(ticks.subarray(0, 1000).some((tick) => tick % 10 !== 0)).toBe(true)
      expect(ticks.at(-1)).toBeGreaterThan(2e7)
      const grid = findSampleGrid(ticks, ticks.length, 1e-9)
      expect(grid).toMatchObject({ rounded: true, roundedToTicks: 10 })
      expect(Math.abs((grid.intervalTicks * 24e6) / 1e9 - 1)).toBeLessThan(1e-7)
    })

    test('dots at no rate of an instrument are not taken for samples', () => {
      // 100 MS/s in nanoseconds: all edges are 10 ticks apart, and dots of 61.512 ns look rounded to them
      const dots = sampleNumbers(9, 20_000)
      const ticks = Float64Array.from(dots, (dot) => 10 * Math.ceil(dot * 6.1512))
      expect(findSampleGrid(ticks, ticks.length, 1e-9)).toMatchObject({ intervalTicks: 10, rounded: false })
    })
  })

  test('at a rate that nobody offers its uncertainty says how far it is off, whatever the picture repeats', () => {
    let [near, far, squares, trials] = [0, 0, 0, 0]
    for (let seed = 710; seed < 910; seed++, trials++) {
      const random = newRandom(seed)
      const ticksPerSample = between(random, 10, 100)
      // a row of the picture, again and again, at scanlines that beat with the samples as they like
      const row = sampleNumbers(seed, 60)
      const scanline = row.at(-1)! + 200 + 1000 * random.uniform()
      const ticks = Float64Array.from({ length: 6000 }, (_, i) => {
        const sample = Math.ceil(Math.floor(i / 60) * scanline + row[i % 60]!)
        return Math.round(sample * ticksPerSample)
      })
      const { intervalTicks, uncertaintyTicks } = findSampleGrid(ticks, ticks.length)
      const off = Math.abs(intervalTicks - ticksPerSample) / uncertaintyTicks
      if (off < 1) near++
      if (off > 3) far++
      squares += off * off
    }
    // shares as promised, with three standard deviations of a share of so many trials
    expect(near / trials).toBeGreaterThan(0.6 - 0.1)
    expect(near / trials).toBeLessThan(0.8 + 0.09)
    expect(Math.sqrt(squares / trials)).toBeGreaterThan(0.8)
    expect(Math.sqrt(squares / trials)).toBeLessThan(1.2)
    expect(far).toBe(0)
  })

  test('a usual rate is taken as such only where the times say it to many digits', () => {
    const at = (rate: number): ReturnType<typeof findSampleGrid> => {
      const ticks = rounded(sampleNumbers(4, 4000), 1e9 / rate, Math.round)
      return findSampleGrid(ticks, ticks.length, 1e-9)
    }
    expect(at(24e6).uncertaintyTicks).toBe(0)
    expect(at(24e6).intervalTicks).toBeCloseTo(1e9 / 24e6, 12)
    // 300 hertz in 24 million are a clock of its own
    const other = at(24e6 + 300)
    expect(other.uncertaintyTicks).toBeGreaterThan(0)
    expect(Math.abs(other.intervalTicks - 1e9 / (24e6 + 300))).toBeLessThan(4 * other.uncertaintyTicks)
  })

  test('times without a grid, and too few of them, are left alone', () => {
    const random = newRandom(3)
    let at = 0
    const ticks = Float64Array.from({ length: 5000 }, () => (at += 20 + random.below(1000)))
    expect(findSampleGrid(ticks, ticks.length, 1e-9).coarserThanTick).toBe(false)
    expect(findSampleGrid(rounded(sampleNumbers(1, 30), 41.667, Math.round), 30, 1e-9).coarserThanTick).toBe(
      false,
    )
    expect(findSampleGrid(new Float64Array(0), 0).coarserThanTick).toBe(false)
  })
})
