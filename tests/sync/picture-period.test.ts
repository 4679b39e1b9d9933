// How long a scanline is, from a picture alone: from edges put down by hand, in ticks of 10 ns.

import { describe, expect, it } from 'vitest'
import { newTransitionBatch } from '../../src/capture/transition-batch.ts'
import { picturePeriod, PictureWithoutSyncError } from '../../src/sync/picture-period.ts'
import type { Measurement } from '../../src/measurement.ts'
import { TransitionStore } from '../../src/transitions/transition-store.ts'
import { newRandom } from '../support/random.ts'

const TICK = 1e-8
const SAMPLE = 4e-8
const MICRO = 1e-6

/** Times of edges in seconds, of a channel that alternates; on samples, as an instrument shows them. */
function storeOf(wires: readonly (readonly number[])[]): TransitionStore {
  const store = new TransitionStore()
  const batch = newTransitionBatch()
  const rows = wires.flatMap((times, channel) =>
    [...times].sort((a, b) => a - b).map((time, i) => ({ time, channel, level: (i + 1) & 1 })),
  )
  rows.sort((a, b) => a.time - b.time)
  const all = [...wires.map((_, channel) => ({ time: 0, channel, level: 0 })), ...rows]
  for (const { time, channel, level } of all) {
    batch.tick[0] = Math.ceil(time / SAMPLE) * Math.round(SAMPLE / TICK)
    batch.channel[0] = channel
    batch.level[0] = level
    batch.count = 1
    store.append(batch)
  }
  return store
}

/** A frame round the picture, and `strokes` at random places, others in every scanline. */
function picture(period: number, scanlines: number, strokes: number, seed = 3): number[] {
  const random = newRandom(seed)
  return Array.from({ length: scanlines }, (_, n) => {
    const begin = n * period + 1e-6
    const inside = Array.from({ length: strokes }, () => period * (0.2 + 0.5 * random.uniform()))
    return [0.15 * period, 0.75 * period, ...inside].map((at) => begin + at)
  }).flat()
}

const found = (wires: readonly (readonly number[])[], channels = [0], sample = SAMPLE): Measurement | null =>
  picturePeriod(storeOf(wires), new Set(channels), TICK, sample)

describe('picturePeriod', () => {
  it.each([9.7, 31.7777, 45.83, 63.6953, 130.2])('finds scanlines of %d us', (micro) => {
    const measured = found([picture(micro * MICRO, 200, 4)])!
    expect(Math.abs(measured.value - micro * MICRO)).toBeLessThan(2 * measured.uncertainty)
    // an edge lies anywhere in its bin of 0.1 us, at either end of four scanlines
    expect(measured.uncertainty).toBeCloseTo((0.1 * MICRO) / Math.sqrt(6) / 4, 12)
  })

  it('looks for nothing shorter or longer', () => {
    // nor for how far both sides of a frame are apart, which is less
    expect(found([picture(136 * MICRO, 180, 4)])).toBeNull()
    const short = found([picture(8.5 * MICRO, 400, 4)])
    // two scanlines are as long as one might be
    expect(short === null || Math.abs(short.value - 17 * MICRO) < 0.1 * MICRO).toBe(true)
  })

  it('wants 200 edges', () => {
    // six in each scanline
    expect(found([picture(31.7777 * MICRO, 33, 4)])).toBeNull()
    expect(found([picture(31.7777 * MICRO, 34, 4)])).not.toBeNull()
  })

  it('looks at the channels that may be picture alone', () => {
    const one = picture(31.7777 * MICRO, 100, 4)
    const random = newRandom(8)
    const noise = Array.from({ length: 400 }, () => 3e-3 * random.uniform())
    expect(found([noise, one], [1])!.value / (31.7777 * MICRO)).toBeCloseTo(1, 3)
    expect(found([noise, one], [0])).toBeNull()
  })

  it('is not misled by scattered edges, nor by stripes', () => {
    const random = newRandom(4)
    expect(found([Array.from({ length: 3000 }, () => 6e-3 * random.uniform())])).toBeNull()
    expect(found([Array.from({ length: 4000 }, (_, i) => i * 1.3 * MICRO)])).toBeNull()
    // stripes further apart than 2 us stand alone
    const wide = found([Array.from({ length: 1500 }, (_, i) => i * 11.37 * MICRO)])
    expect(wide!.value / (11.37 * MICRO)).toBeCloseTo(1, 3)
  })

  it('wants some of the edges to come again', () => {
    // two of so many: one in six, and one in ten
    expect(found([picture(63.6953 * MICRO, 300, 9)])).not.toBeNull()
    expect(found([picture(63.6953 * MICRO, 300, 22)])).toBeNull()
  })

  it('takes one scanline, though two repeat better', () => {
    // interlaced strokes: each comes again in every second scanline
    const period = 40 * MICRO
    const edges = Array.from({ length: 300 }, (_, n) => {
      const own = n % 2 === 0 ? [0.2, 0.31] : [0.44, 0.57]
      return [0.1, 0.8, ...own].map((at) => (n + at) * period + 1e-6)
    }).flat()
    expect(found([edges])!.value / period).toBeCloseTo(1, 3)
  })

  it('takes two samples to a bin where samples are long', () => {
    const measured = found([picture(63.6953 * MICRO, 200, 4)], [0], 2e-7)!
    expect(measured.uncertainty).toBeCloseTo(4e-7 / Math.sqrt(6) / 4, 12)
    expect(Math.abs(measured.value - 63.6953 * MICRO)).toBeLessThan(2 * measured.uncertainty)
  })

  it('follows no further than strokes repeat', () => {
    // strokes that keep their places for three scanlines, then move
    const random = newRandom(6)
    const period = 50 * MICRO
    const edges: number[] = []
    let own: number[] = []
    for (let n = 0; n < 400; n++) {
      if (n % 3 === 0) own = [0, 1, 2, 3].map((i) => 0.1 + 0.2 * i + 0.19 * random.uniform())
      edges.push(...own.map((at) => (n + at) * period + 1e-6))
    }
    const measured = found([edges])!
    expect(measured.uncertainty).toBeCloseTo((0.1 * MICRO) / Math.sqrt(6) / 2, 12)
    expect(Math.abs(measured.value - period)).toBeLessThan(2 * measured.uncertainty)
  })
})

describe('PictureWithoutSyncError', () => {
  it('says the period, with a digit more where it is known so well', () => {
    const told = (uncertainty: number): string =>
      new PictureWithoutSyncError({ value: 31.7777e-6, uncertainty }, undefined).message
    expect(told(2e-7)).toContain('every 31.778 us +- 0.200 us')
    expect(told(1e-8)).toContain('+- 0.0100 us')
    expect(told(1e-8)).toContain('31.47 kHz')
    const { code, hint, scanlinePeriodSeconds } = new PictureWithoutSyncError(
      { value: 1e-5, uncertainty: 1e-8 },
      'probe',
    )
    expect([code, hint, scanlinePeriodSeconds.value]).toEqual(['SYNC_NOT_FOUND', 'probe', 1e-5])
  })
})
