// Which of a scanline's pulses is its sync, and where the next is expected: after a lock made by hand, scanlines of 1000
// ticks, pulses of 100, samples of 10.

import { describe, expect, it } from 'vitest'
import type { SyncLock } from '../../src/sync/acquire.ts'
import { ScanlinePrediction } from '../../src/sync/scanline-prediction.ts'
import { isHalfScanline, isHalfway, ScanlinePulses } from '../../src/sync/scanline-pulses.ts'

const spread = (mean: number): SyncLock['leads'] => ({
  lowest: mean,
  highest: mean,
  mean,
  scatter: 0,
  count: 40,
  steps: { mean: 1000, variance: 0, last: 1000 },
  isJittery: false,
})
const lock = (more: Partial<SyncLock> = {}): SyncLock => ({
  polarity: 'positive',
  periodTicks: 1000,
  widthTicks: 100,
  widthScatterTicks: 0,
  leads: spread(0),
  trails: spread(100),
  startTick: 50,
  startEdge: 0,
  ...more,
})

function predicted(number = 5, expected = 5050): ScanlinePrediction {
  const prediction = new ScanlinePrediction(10)
  prediction.start(lock(), number, expected)
  return prediction
}

function pulsesOf(...list: [number, number][]): ScanlinePulses {
  const pulses = new ScanlinePulses()
  for (const [lead, trail] of list) pulses.push(lead, trail)
  return pulses
}

describe('ScanlinePulses', () => {
  const best = (...list: [number, number][]): [number, number] => pulsesOf(...list).bestUnion(predicted())

  it('takes the pulse of the right place and width', () => {
    expect(best([4700, 4800], [5050, 5150])).toEqual([1, 1])
    expect(best([5050, 5150], [5300, 5400])).toEqual([0, 0])
    expect(best([5040, 5050], [5050.5, 5150])).toEqual([1, 1])
  })

  it('puts pieces together where these make the width', () => {
    expect(best([5050, 5080], [5090, 5150])).toEqual([0, 1])
    expect(best([5050, 5080], [5090, 5120], [5130, 5150], [5300, 5400])).toEqual([0, 2])
    // a piece beside a whole pulse is none of it
    expect(best([5050, 5150], [5160, 5170])).toEqual([0, 0])
    // of equal explanations the one with fewer pieces
    expect(best([5050, 5145], [5148, 5155])).toEqual([0, 0])
    const pieces = Array.from({ length: 13 }, (_, i): [number, number] => [5050 + 8 * i, 5054 + 8 * i])
    expect(best(...pieces)[1]).toBeLessThan(12)
  })

  it('knows the longest piece, the first of equal ones', () => {
    const pulses = pulsesOf([0, 20], [30, 60], [70, 100], [110, 115])
    expect([pulses.longest(0, 3), pulses.longest(0, 0), pulses.longest(2, 3), pulses.width(1)]).toEqual([
      1, 0, 2, 30,
    ])
    pulses.clear()
    expect(pulses.count).toBe(0)
  })

  it('knows pulses half a scanline away', () => {
    const prediction = predicted()
    const half = (lead: number): boolean => isHalfway(lead, prediction)
    expect([5499, 5501, 5550, 5599, 5601, 4550].map(half)).toEqual([false, true, true, true, false, true])
    expect([isHalfScanline(-540, 1000), isHalfScanline(-560, 1000), isHalfScanline(0, 1000)]).toEqual([
      true,
      false,
      false,
    ])
    expect(pulsesOf([5550, 5600]).isHalfwayOnly(prediction)).toBe(true)
    expect(pulsesOf([5550, 5600], [5050, 5150]).isHalfwayOnly(prediction)).toBe(false)
    expect(pulsesOf([5550, 5600], [5050, 5150]).hasHalfway(prediction)).toBe(true)
    expect(pulsesOf([5050, 5150]).hasHalfway(prediction)).toBe(false)
  })

  it('knows the longest of some of them', () => {
    const pulses = pulsesOf([5000, 5200], [5250, 5260], [5270, 5300], [5310, 5340], [5400, 5900])
    expect([pulses.longest(1, 3), pulses.longest(1, 1), pulses.longest(0, 3), pulses.longest(3, 4)]).toEqual([
      2, 1, 0, 4,
    ])
  })

  it('holds 256 of them', () => {
    const many = pulsesOf(
      ...Array.from({ length: 300 }, (_, i): [number, number] => [5000 + 3 * i, 5001 + 3 * i]),
    )
    expect(many.count).toBe(256)
    expect(many.lead[255]).toBe(5765)
  })
})

describe('ScanlinePrediction', () => {
  it('expects the next scanline a period later', () => {
    const prediction = predicted()
    expect([prediction.number, prediction.expected, prediction.period]).toEqual([5, 5050, 1000])
    expect(prediction.scanlineAt(5550)).toBe(5.5)
    expect(prediction.scanlineAt(4050)).toBe(4)
    prediction.advance()
    expect([prediction.number, prediction.expected]).toEqual([6, 6050])
    prediction.stepBack(3)
    expect([prediction.number, prediction.expected]).toEqual([3, 3050])
    expect(prediction.centreTick).toBeCloseTo(3050, 6)
    expect(prediction.latestTick - prediction.expected).toBeCloseTo(prediction.line.tolerance, 9)
  })

  it('follows by an eighth of the phase and a 128th of the period', () => {
    const prediction = predicted()
    const before = prediction.centreTick
    prediction.follow(5058, 100, false)
    expect(prediction.expected).toBe(5051)
    expect(prediction.period).toBe(1000 + 8 / 128)
    // where edges are to be seen follows from the samples, not from the loop
    expect(prediction.centreTick).toBeGreaterThan(before)
    expect(prediction.centreTick).toBeLessThan(before + 5)
  })

  it('takes steps between neighbouring scanlines for proof of jitter', () => {
    // 100 samples to a scanline, which is a beat that never comes: nothing but steps that differ shows jitter
    const jitterOf = (every: number): number => {
      const prediction = predicted(0, 50)
      for (let n = 0; n < 600; n++) {
        const late = 20 * (((n * 7) % 5) - 2)
        if (n % every === 0) prediction.follow(1000 * n + 50 + late, 100, false)
        prediction.advance()
      }
      return prediction.line.jitterTicks
    }
    expect(jitterOf(1)).toBeGreaterThan(10)
    expect(jitterOf(2)).toBe(0)
  })

  it('leaves a wrong width out of what is usual', () => {
    const prediction = predicted()
    prediction.follow(5050, 164, true)
    expect(prediction.width.mean).toBe(100)
    prediction.advance()
    prediction.follow(6050, 164, false)
    expect(prediction.width.mean).toBe(101)
  })

  it('knows the same timing by polarity, period and width', () => {
    const prediction = predicted()
    const same = (more: Partial<SyncLock>): boolean => prediction.isSameTiming(lock(more), 'positive')
    expect(same({})).toBe(true)
    expect(same({ polarity: 'negative' })).toBe(false)
    expect([
      same({ periodTicks: 1001.9 }),
      same({ periodTicks: 1002.1 }),
      same({ periodTicks: 997.9 }),
    ]).toEqual([true, false, false])
    // two and a half samples, or a tenth of the width
    expect([same({ widthTicks: 124 }), same({ widthTicks: 126 }), same({ widthTicks: 74 })]).toEqual([
      true,
      false,
      false,
    ])
    prediction.start(lock({ widthTicks: 400 }), 0, 0)
    expect([prediction.sharpTicks, prediction.widthReach]).toEqual([25, 40])
  })
})
