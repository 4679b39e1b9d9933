// Causes by place and company, and the probability that the company is an accident.

import { binomialDistribution } from 'simple-statistics'
import { describe, expect, it, test } from 'vitest'
import {
  CAUSE_REMEDIES,
  causeOf,
  chanceOfEach,
  crosstalkEvidence,
  FAULT_CAUSES,
  placeOf,
} from '../../src/sync/fault-cause.ts'
import { FAULT_KINDS, type SyncFault } from '../../src/sync/sync-fault.ts'
import { capturePulses, drawSync } from '../pulses-of.ts'
import type { DrawOptions } from '../support/draw-signal.ts'
import { newRandom } from '../support/random.ts'
import { TIMINGS } from '../support/timings.ts'
import { faultOf } from './hand-made-sync.ts'

/** All trials alike. */
function chanceOf(hits: number, trials: number, share: number): number {
  return chanceOfEach(
    hits,
    Array.from({ length: trials }, () => share),
  )
}

/** At least `hits` of `trials`, each with probability above/below: exact, in whole numbers until the last division. */
function exactTail(hits: number, trials: number, above: bigint, below: bigint): number {
  let ways = 1n
  let sum = 0n
  for (let k = 0; k <= trials; k++) {
    if (k >= hits) sum += ways * above ** BigInt(k) * (below - above) ** BigInt(trials - k)
    ways = (ways * BigInt(trials - k)) / BigInt(k + 1)
  }
  // seventeen digits after the leading one, wherever it stands
  const whole = below ** BigInt(trials)
  const shift = Math.max(0, whole.toString().length - sum.toString().length)
  return Number((sum * 10n ** BigInt(shift + 18)) / whole) / 10 ** 18 / 10 ** shift
}

describe('the chance of so many coincidences', () => {
  test.each([
    // tails of the binomial distribution: 56/1024, 1 - 0.95^20, and 1 - 0.9568 from the cumulative tables for n = 20, p = 0.1
    { hits: 8, trials: 10, share: 0.5, chance: 56 / 1024, digits: 12 },
    { hits: 1, trials: 20, share: 0.05, chance: 1 - 0.95 ** 20, digits: 12 },
    { hits: 5, trials: 20, share: 0.1, chance: 0.0432, digits: 4 },
    { hits: 10, trials: 10, share: 0.01, chance: 1e-20, digits: 30 },
  ])('$hits of $trials at $share', ({ hits, trials, share, chance, digits }) => {
    expect(chanceOf(hits, trials, share)).toBeCloseTo(chance, digits)
  })

  test.each([
    [3, 7, 1n, 20n],
    [1, 1, 1n, 3n],
    [12, 40, 1n, 10n],
    [4, 40, 1n, 10n],
    [60, 60, 3n, 10n],
    [200, 900, 1n, 7n],
    [120, 900, 1n, 7n],
    [40, 400, 1n, 50n],
  ] as const)('%d of %d at %d/%d: as an exact sum has it', (hits, trials, above, below) => {
    const exact = exactTail(hits, trials, above, below)
    expect(chanceOf(hits, trials, Number(above) / Number(below)) / exact).toBeCloseTo(1, 8)
  })

  it('is the sum of what a statistics library gives term by term', () => {
    for (const [trials, share] of [
      [12, 0.2],
      [50, 0.04],
      [90, 0.5],
    ] as const) {
      const terms = binomialDistribution(trials, share)!
      for (let hits = 0; hits < terms.length; hits += 3) {
        const tail = terms.slice(hits).reduce((sum, term) => sum + term, 0)
        expect(chanceOf(hits, trials, share)).toBeCloseTo(hits === 0 ? 1 : tail, 3)
      }
    }
  })

  it('has ends', () => {
    expect(chanceOf(0, 10, 0.3)).toBe(1)
    expect(chanceOf(0, 0, 0.3)).toBe(1)
    expect(chanceOf(1, 10, 0)).toBe(0)
    expect(chanceOf(10, 10, 1)).toBe(1)
    expect(chanceOf(11, 10, 0.5)).toBe(0)
    // large counts neither overflow nor vanish: half of the distribution lies on either side of its mean
    expect(chanceOf(500, 10_000, 0.05)).toBeCloseTo(0.5, 1)
    expect(chanceOf(9000, 10_000, 0.1)).toBeLessThan(1e-300)
  })

  it('is the sum over all ways, where each trial has its own', () => {
    const random = newRandom(5)
    for (let round = 0; round < 20; round++) {
      const shares = Array.from({ length: 1 + random.below(9) }, () => random.uniform())
      for (let hits = 0; hits <= shares.length; hits++) {
        let sum = 0
        for (let ways = 0; ways < 2 ** shares.length; ways++) {
          const isHit = (i: number): boolean => ((ways >> i) & 1) === 1
          if (shares.filter((_, i) => isHit(i)).length < hits) continue
          sum += shares.reduce((product, share, i) => product * (isHit(i) ? share : 1 - share), 1)
        }
        expect(chanceOfEach(hits, shares)).toBeCloseTo(sum, 12)
      }
    }
  })
})

/** Ticks of 10 ns; hsync of 5 us, vsync of 1 ms. */
const shape = { hsyncWidthTicks: 500, vsyncWidthTicks: 100_000, nearTicks: 4 }
const fault = ({ kind = 'extra', ...more }: Partial<SyncFault>): SyncFault =>
  faultOf(kind, 0, { widthTicks: 20, rejectWidthTicks: 20, lineCountError: 1, ...more })

describe('the place of a false pulse', () => {
  test.each([
    [-1000, 'away'],
    [-150, 'lead'],
    [3, 'lead'],
    [190, 'lead'],
    [300, 'trail'],
    [520, 'trail'],
    [740, 'trail'],
    [800, 'away'],
    [3000, 'away'],
  ] as const)('%d ticks from the leading edge of hsync: %s', (offsetTicks, place) => {
    expect(placeOf(fault({ offsetTicks }), shape)).toBe(place)
  })

  test.each([
    [50, 'lead'],
    [5000, 'away'],
    [99_900, 'trail'],
    [100_200, 'trail'],
    [140_000, 'away'],
  ] as const)('%d ticks from the leading edge of vsync: %s', (offsetTicks, place) => {
    expect(placeOf(fault({ offsetTicks, channel: 'vsync' }), shape)).toBe(place)
  })
})

describe('the cause', () => {
  it('has a remedy in words, whatever it is', () => {
    for (const cause of FAULT_CAUSES) expect(CAUSE_REMEDIES[cause].length).toBeGreaterThan(40)
    const evidence = crosstalkEvidence([], shape, 0.1)
    expect(evidence).toEqual({ pulses: 0, withColourEdge: 0, chance: 1 })
    for (const kind of FAULT_KINDS) expect(FAULT_CAUSES).toContain(causeOf(fault({ kind }), shape, evidence))
  })

  it('is crosstalk only where coincidence is no accident', () => {
    const away = { offsetTicks: 2000, colourEdgeNear: true }
    const few = crosstalkEvidence([fault(away)], shape, 0.1)
    expect(few.chance).toBeCloseTo(0.1, 10)
    expect(causeOf(fault(away), shape, few)).toBe('noise')
    const many = crosstalkEvidence(
      Array.from({ length: 5 }, () => fault(away)),
      shape,
      0.1,
    )
    expect(many.chance).toBeCloseTo(1e-5, 12)
    expect(causeOf(fault(away), shape, many)).toBe('crosstalk')
    expect(causeOf(fault({ ...away, colourEdgeNear: false }), shape, many)).toBe('noise')
  })
})

describe('in a capture', () => {
  const card = TIMINGS.cga80
  const causesIn = (options: Partial<DrawOptions>): Record<string, number> => {
    const signal = drawSync('cga80', { startFrames: 0.4, frames: 2.2, ...options }, 'text')
    const { pulses } = capturePulses(signal, { sampleRateHz: 50e6, phase: 0.4 })
    const causes: Record<string, number> = {}
    for (const { cause } of pulses.faults) causes[cause] = (causes[cause] ?? 0) + 1
    return causes
  }
  const spikesAt = (
    dotOf: (index: number) => number,
    scanlineOf = (index: number) => 45 + 7 * index,
  ): NonNullable<DrawOptions['spikes']> =>
    Array.from({ length: 24 }, (_, i) => ({
      channel: 'H',
      at: { frame: 1, scanline: scanlineOf(i), dot: dotOf(i) },
      widthSeconds: 90e-9,
    }))

  it('ringing, bounce: by the edge that they follow', () => {
    const ringing = { probability: 0.03, widthSeconds: 200e-9 }
    const lead = causesIn({ ringing: { ...ringing, delaySeconds: 400e-9 } })
    expect(lead).toEqual({ ringing: expect.any(Number) as number })
    const trail = causesIn({ ringing: { ...ringing, edge: 'trailing', delaySeconds: 500e-9 } })
    expect(trail).toEqual({ bounce: expect.any(Number) as number })
  })

  it('noise: spikes at any time', () => {
    const random = newRandom(11)
    const { sync, total } = card.h
    for (let trial = 0; trial < 5; trial++) {
      const dotOf = (): number => 2 * sync + random.below(total - 3 * sync)
      expect(causesIn({ spikes: spikesAt(dotOf, (i) => 10 * i + random.below(10)) })).toEqual({ noise: 24 })
    }
  })

  it('noise too where it falls into the densest part of a picture that is dark elsewhere', () => {
    const random = newRandom(12)
    const { sync, backPorch, active } = card.h
    let chances = 0
    for (let trial = 0; trial < 8; trial++) {
      const dotOf = (): number => sync + backPorch + random.below(active)
      const signal = drawSync('cga80', { startFrames: 0.4, frames: 2.2, spikes: spikesAt(dotOf) }, 'dither')
      const { pulses } = capturePulses(signal, { sampleRateHz: 50e6, phase: random.uniform() })
      expect(pulses.crosstalk.pulses).toBe(24)
      // most of them fall near an edge: as many as anything would there
      expect(pulses.crosstalk.withColourEdge).toBeGreaterThan(12)
      expect(pulses.faults.map(({ cause }) => cause)).toEqual(Array.from({ length: 24 }, () => 'noise'))
      if (pulses.crosstalk.chance < 0.1) chances++
    }
    expect(chances).toBeLessThan(4)
  }, 60_000)

  it('crosstalk: spikes where a colour changes', () => {
    // every scanline of this picture has an edge at its first lit dot
    const signal = drawSync('cga80', { startFrames: 0.4, frames: 2.2 }, 'rectangle')
    const clean = capturePulses(signal, { sampleRateHz: 50e6 })
    expect(clean.pulses.crosstalk).toEqual({ pulses: 0, withColourEdge: 0, chance: 1 })
    const left = card.h.sync + card.h.backPorch
    const touched = drawSync(
      'cga80',
      { startFrames: 0.4, frames: 2.2, spikes: spikesAt(() => left) },
      'rectangle',
    )
    const { pulses } = capturePulses(touched, { sampleRateHz: 50e6 })
    expect(pulses.faults.map(({ cause }) => cause)).toEqual(Array.from({ length: 24 }, () => 'crosstalk'))
    expect(pulses.crosstalk).toMatchObject({ pulses: 24, withColourEdge: 24 })
    expect(pulses.crosstalk.chance).toBeLessThan(1e-20)
  })

  it('lost, displaced, misshapen: by what is wrong with the pulse itself', () => {
    const place = (scanline: number): { frame: number; scanline: number } => ({ frame: 1, scanline })
    expect(
      causesIn({
        missingHsync: [place(50)],
        shiftedHsync: [{ ...place(90), seconds: 1e-6 }],
        resizedHsync: [{ ...place(130), seconds: -4e-6 }],
      }),
    ).toEqual({ lost: 1, displaced: 1, misshapen: 1 })
  })
})
