// The suggested filters, applied to raw edges by a filter of the test's own, leave exactly the true pulses; and where
// none is suggested, none works.

import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { FalseEdgeFront, findRemedy, type FalseEdge } from '../../src/sync/remedy.ts'
import { capturePulses, drawSync, type Captured } from '../pulses-of.ts'
import type { DrawOptions } from '../support/draw-signal.ts'
import { newRandom, type Random } from '../support/random.ts'
import type { SampledSignal } from '../support/sample-signal.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'

interface RawPulse {
  lead: number
  width: number
}

/** Pulses of a channel as the samples have them, in sample intervals; those cut by the capture's ends left out. */
function rawPulses(samples: SampledSignal, name: string, positive: boolean): RawPulse[] {
  const bit = samples.channels.indexOf(name)
  const pulses: RawPulse[] = []
  let before = -1
  let lead = NaN
  samples.sampleIndex.forEach((at, i) => {
    const level = ((samples.levelWord[i]! >>> bit) & 1) ^ (positive ? 0 : 1)
    if (level === before) return
    if (level === 1 && before === 0) lead = at
    if (level === 0 && before === 1 && !Number.isNaN(lead)) pulses.push({ lead, width: at - lead })
    before = level
  })
  return pulses
}

/** What an adapter counts: pulses that have lasted so long, and of these none within the hold-off after the last. */
function filtered(pulses: readonly RawPulse[], holdOff: number, minimumPulse: number): RawPulse[] {
  let ready = -Infinity
  return pulses.filter(({ lead, width }) => {
    if (width < minimumPulse || lead < ready) return false
    ready = lead + holdOff
    return true
  })
}

/** Sync with defects by chance, and where its true leading edges are, in seconds. */
function defective(
  card: TimingKey,
  random: Random,
  mix: { spikes: number; cuts: number; ringing: number; missing: number; widest: number },
): { options: DrawOptions; missing: Set<string> } {
  const { v, h } = TIMINGS[card]
  const perFrame = v.total
  const place = (): { frame: number; scanline: number } => ({
    frame: 1,
    scanline: 2 + random.below(perFrame - 4),
  })
  const spikes = Array.from({ length: mix.spikes }, () => ({
    channel: 'H',
    at: { ...place(), dot: 1.3 * h.sync + random.below(0.6 * h.total) },
    widthSeconds: 50e-9 + mix.widest * random.uniform(),
  }))
  const cuts = Array.from({ length: mix.cuts }, () => ({
    channel: 'H',
    at: { ...place(), dot: h.sync * (0.15 + 0.5 * random.uniform()) },
    widthSeconds: 60e-9 + 200e-9 * random.uniform(),
  }))
  const missingHsync = Array.from({ length: mix.missing }, place)
  // one defect a scanline: a spike within a missing pulse is not what it is said to be
  const taken = new Set(missingHsync.map(({ scanline }) => scanline))
  const free = [...spikes, ...cuts].filter(({ at }) => {
    if (taken.has(at.scanline)) return false
    taken.add(at.scanline)
    return true
  })
  return {
    options: {
      startFrames: 0.5,
      frames: 2,
      seed: random.below(1e6),
      spikes: free,
      missingHsync,
      ringing: { edge: 'trailing', delaySeconds: 0.3e-6, widthSeconds: 0.15e-6, probability: mix.ringing },
    },
    missing: new Set(missingHsync.map(({ frame, scanline }) => `${frame} ${scanline}`)),
  }
}

interface Trial {
  captured: Captured
  raw: RawPulse[]
  /** Sample at which each true pulse begins. */
  truth: number[]
}

function trial(card: TimingKey, sampleRateHz: number, options: DrawOptions): Trial {
  const signal = drawSync(card, options)
  const phase = 0.35
  const captured = capturePulses(signal, { sampleRateHz, phase })
  const all = rawPulses(captured.samples, 'H', TIMINGS[card].hsyncPolarity === 'positive')
  const gone = signal.truth.defects.filter(({ kind }) => kind === 'missing').map(({ seconds }) => seconds)
  const truth = [...signal.truth.scanlineSeconds]
    .filter((seconds) => gone.every((at) => Math.abs(at - seconds) > 1e-9))
    .map((seconds) => Math.ceil(seconds * sampleRateHz - phase))
    .filter((sample) => sample >= all[0]!.lead && sample <= all.at(-1)!.lead)
  // a filter that is switched on in mid-scanline may begin with a false edge: it is looked at from the first true one on
  return { captured, raw: all.filter(({ lead }) => lead >= truth[0]!), truth }
}

const within = ({ min, max }: { min: number; max: number }, rate: number): number[] =>
  [min, (min + max) / 2, Math.min(max, 1.3 * min), max].map((seconds) => seconds * rate)

const CARDS: readonly TimingKey[] = ['mda', 'vga480']

describe.each([24e6, 100e6])('at %d samples a second', (rate) => {
  describe.each(CARDS)('%s', (card) => {
    const mixes = {
      'narrow spikes': { spikes: 9, cuts: 0, ringing: 0, missing: 0, widest: 0.3e-6 },
      'ringing alone': { spikes: 0, cuts: 0, ringing: 0.03, missing: 0, widest: 0 },
      'cut pulses': { spikes: 0, cuts: 9, ringing: 0.01, missing: 0, widest: 0 },
      'spikes as wide as a pulse': { spikes: 9, cuts: 0, ringing: 0.02, missing: 0, widest: 6e-6 },
      'all, and missing pulses': { spikes: 6, cuts: 5, ringing: 0.02, missing: 4, widest: 0.4e-6 },
    }
    test.each(Object.entries(mixes))('%s: what is suggested leaves the true pulses', (_, mix) => {
      const suggested = { holdOff: 0, minimumPulse: 0, combined: 0 }
      for (let seed = 1; seed <= 5; seed++) {
        const { options } = defective(card, newRandom(seed), mix)
        const { captured, raw, truth } = trial(card, rate, options)
        const { remedy } = captured.pulses
        if (!remedy) throw new Error('nothing to remove')
        const { holdOffSeconds, minimumPulseSeconds, combined } = remedy
        if (holdOffSeconds) {
          suggested.holdOff++
          for (const holdOff of within(holdOffSeconds, rate)) {
            const left = filtered(raw, holdOff, 0)
            expect(left.map(({ lead }) => lead)).toEqual(truth)
          }
        }
        if (minimumPulseSeconds) {
          suggested.minimumPulse++
          for (const width of within(minimumPulseSeconds, rate)) {
            const left = filtered(raw, 0, width)
            expect(left.length).toBe(truth.length)
            // of a cut pulse the longest piece is left
            left.forEach(({ lead }, i) =>
              expect(lead - truth[i]!).toBeLessThan(
                (0.7 * TIMINGS[card].h.sync * rate) / TIMINGS[card].dotClockHz,
              ),
            )
          }
        }
        if (combined) {
          suggested.combined++
          expect([holdOffSeconds, minimumPulseSeconds]).toEqual([null, null])
          for (const width of within(combined.minimumPulseSeconds, rate))
            for (const holdOff of within(combined.holdOffSeconds, rate))
              expect(filtered(raw, holdOff, width).length).toBe(truth.length)
        }
        if (!holdOffSeconds) expectNoHoldOff(raw, truth)
        if (!minimumPulseSeconds) expectNoMinimumPulse(raw, truth)
      }
      expect(suggested.holdOff + suggested.minimumPulse + suggested.combined).toBeGreaterThan(0)
    })
  })
})

/** No hold-off works, nor does any half a sample longer or shorter. */
function expectNoHoldOff(raw: readonly RawPulse[], truth: readonly number[]): void {
  const candidates = new Set<number>()
  raw.forEach(({ lead }, i) => {
    for (const next of raw.slice(i + 1, i + 6)) candidates.add(next.lead - lead + 0.5)
  })
  const works = (holdOff: number): boolean => {
    const left = filtered(raw, holdOff, 0)
    return left.length === truth.length && left.every(({ lead }, i) => lead === truth[i])
  }
  for (const candidate of candidates)
    expect(works(candidate) && works(candidate + 1) && works(candidate - 1) && works(candidate + 2)).toBe(
      false,
    )
}

function expectNoMinimumPulse(raw: readonly RawPulse[], truth: readonly number[]): void {
  const works = (width: number): boolean =>
    filtered(raw, 0, width).length === truth.length && cutsNone(raw, truth, width)
  for (const { width } of raw)
    expect(works(width + 0.5) && works(width + 1.5) && works(width - 0.5)).toBe(false)
}

/** Every pulse that is left belongs to a true one. */
function cutsNone(raw: readonly RawPulse[], truth: readonly number[], width: number): boolean {
  return filtered(raw, 0, width).every(({ lead }, i) => Math.abs(lead - truth[i]!) < 200)
}

describe('both together', () => {
  it('where wide false pulses come early and narrow ones late', () => {
    const spikes = [
      { channel: 'H', at: { frame: 1, scanline: 50, dot: 190 }, widthSeconds: 9e-6 },
      { channel: 'H', at: { frame: 1, scanline: 90, dot: 850 }, widthSeconds: 0.3e-6 },
      { channel: 'H', at: { frame: 1, scanline: 91, dot: 700 }, widthSeconds: 0.2e-6 },
    ]
    // a pulse that comes early leaves no hold-off that reaches over the narrow ones
    const shiftedHsync = [{ frame: 1, scanline: 120, seconds: -5e-6 }]
    const { captured, raw, truth } = trial('mda', 50e6, { startFrames: 0.5, frames: 2, spikes, shiftedHsync })
    // the early one is where the card put it
    const shifted = (samples: readonly number[]): number[] =>
      samples.map((sample, n) => (n === 304 ? sample - 250 : sample))
    const { remedy } = captured.pulses
    expect(remedy).toMatchObject({ holdOffSeconds: null, minimumPulseSeconds: null })
    const { holdOffSeconds, minimumPulseSeconds } = remedy!.combined!
    for (const width of within(minimumPulseSeconds, 50e6))
      for (const holdOff of within(holdOffSeconds, 50e6))
        expect(filtered(raw, holdOff, width).map(({ lead }) => lead)).toEqual(shifted(truth))
  })

  it('is computed from both', () => {
    const falseEdges = [
      { sinceTrueTicks: 300, rejectWidthTicks: 95 },
      { sinceTrueTicks: 950, rejectWidthTicks: 10 },
    ]
    const truePulses = { shortestGapTicks: 900, shortestWidthTicks: 90, latestPieceTicks: 0 }
    expect(findRemedy(falseEdges, truePulses, 1)).toEqual({
      holdOff: null,
      minimumPulse: null,
      combined: { minimumPulse: { min: 11, max: 89 }, holdOff: { min: 301, max: 899 } },
    })
    const hopeless = [...falseEdges, { sinceTrueTicks: 950, rejectWidthTicks: 95 }]
    expect(findRemedy(hopeless, truePulses, 1).combined).toBeNull()
  })
})

it('says nothing where there is nothing to measure by', () => {
  const none = { shortestGapTicks: Infinity, shortestWidthTicks: Infinity, latestPieceTicks: 0 }
  expect(findRemedy([{ sinceTrueTicks: 5, rejectWidthTicks: 5 }], none, 1)).toEqual({
    holdOff: null,
    minimumPulse: null,
    combined: null,
  })
})

describe('the front of false edges', () => {
  const edge = fc.record({
    sinceTrueTicks: fc.integer({ min: 1, max: 1000 }),
    rejectWidthTicks: fc.integer({ min: 1, max: 120 }),
  })
  const truePulses = { shortestGapTicks: 900, shortestWidthTicks: 100, latestPieceTicks: 0 }
  const frontOf = (edges: readonly FalseEdge[]): FalseEdgeFront => {
    const front = new FalseEdgeFront()
    for (const one of edges) front.add(one)
    return front
  }

  it('tells the same filters as all edges do', () => {
    fc.assert(
      fc.property(fc.array(edge, { minLength: 1, maxLength: 40 }), (edges) => {
        const front = frontOf(edges)
        expect(front.count).toBe(edges.length)
        expect(findRemedy(front.edges, truePulses, 1)).toEqual(findRemedy(edges, truePulses, 1))
      }),
      { numRuns: 300, seed: 5 },
    )
  })

  it('is bounded, and then errs towards saying no', () => {
    // all decide: each is later and narrower than the one before
    const edges = Array.from({ length: 5000 }, (_, i) => ({
      sinceTrueTicks: 100 + i,
      rejectWidthTicks: 10_000 - i,
    }))
    const front = frontOf(edges)
    expect(front.count).toBe(5000)
    expect(front.edges.length).toBeLessThanOrEqual(64)
    for (const { sinceTrueTicks, rejectWidthTicks } of edges)
      expect(
        front.edges.some(
          (kept) => kept.sinceTrueTicks >= sinceTrueTicks && kept.rejectWidthTicks >= rejectWidthTicks,
        ),
      ).toBe(true)
  })

  it('takes an edge before the first true one for one that no hold-off is there for', () => {
    expect(frontOf([{ sinceTrueTicks: NaN, rejectWidthTicks: 7 }]).edges).toEqual([
      { sinceTrueTicks: 0, rejectWidthTicks: 7 },
    ])
  })
})

describe('vsync', () => {
  it('has filters of its own', () => {
    const spikes = [
      { channel: 'V', at: { frame: 2, scanline: 100, dot: 300 }, widthSeconds: 2e-6 },
      { channel: 'V', at: { frame: 2, scanline: 5, dot: 300 }, widthSeconds: 1e-6 },
      { channel: 'V', at: { frame: 3, scanline: 16, dot: 200 }, widthSeconds: 0.5e-6 },
    ]
    const { captured } = trial('cga80', 24e6, { startFrames: 0.5, frames: 5, spikes })
    const raw = rawPulses(captured.samples, 'V', true)
    const { remedy, vsyncRemedy } = captured.pulses
    expect(remedy).toBeNull()
    expect(raw.length).toBe(8)
    for (const holdOff of within(vsyncRemedy!.holdOffSeconds!, 24e6))
      expect(filtered(raw, holdOff, 0).length).toBe(5)
    for (const width of within(vsyncRemedy!.minimumPulseSeconds!, 24e6))
      expect(filtered(raw, 0, width).length).toBe(5)
  })
})
