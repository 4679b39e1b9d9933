// Composite sync around its vsync, where pulses come twice a scanline and have other widths: what is put in is found, and
// nothing else. A few captures in the suite; more with
//   MANY_VERTICAL=5000 MANY_FROM=20000 npx vitest run tests/pulses-vertical.test.ts

import { describe, expect, it, test } from 'vitest'
import { notJudged, pulsesText } from '../src/report/pulses-text.ts'
import { capturePulses, drawSync } from './pulses-of.ts'
import type { CompositeKind } from './support/composite-sync.ts'
import { newRandom } from './support/random.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'
import {
  defective,
  pulsesAround,
  pulsesOfWire,
  randomDefective,
  wholeIntervals,
  withPulses,
  type PulseDefect,
} from './vertical-defects.ts'

const CAPTURES = Number(process.env['MANY_VERTICAL'] ?? 80)
const FROM = Number(process.env['MANY_FROM'] ?? 620_000)
const HOUR_MS = 3_600_000

/** One mix: what was put in, and what was found. */
function mix(seed: number): { what: string; drawn: string; found: string; isRight: boolean } {
  const random = newRandom(seed)
  const { what, sampleRateHz, signal, expected } = randomDefective(seed, random)
  const { pulses } = capturePulses(signal, { sampleRateHz, phase: random.uniform() })
  const drawn = expected.map(({ kind }) => kind).join()
  const found = pulses.faults.map(({ kind }) => kind).join()
  const isThere = pulses.faults.every(
    ({ timeSeconds }, i) => Math.abs(timeSeconds - (expected[i]?.seconds ?? NaN)) * sampleRateHz < 2,
  )
  return { what, drawn, found, isRight: found === drawn && isThere && pulses.oddFrames === 0 }
}

it(
  `${CAPTURES} mixes: all that was put in is found, and nothing else`,
  () => {
    const mixes = Array.from({ length: CAPTURES }, (_, i) => mix(FROM + i))
    const faults = mixes.reduce((sum, { drawn }) => sum + drawn.split(',').length, 0)
    expect(faults).toBeGreaterThan(1.5 * CAPTURES)
    expect(mixes.filter(({ isRight }) => !isRight)).toEqual([])
  },
  HOUR_MS,
)

it.each([
  ['an end that moves together with the whole pulse after it', 91_209],
  ['a false pulse half a scanline before a missing one', 3_100_820],
  ['a false pulse of 40 ns shortly before a missing one', 4_101_581],
  ['a vsync without its first pulse, and without the pulse after it', 4_100_648],
  ['a width by which three of four frames have to be told from the fourth', 5_202_101],
  ['a pulse displaced by little more than two samples, in one of four fields', 5_203_562],
  ['a first pulse of vsync that is cut after a fifth of a scanline', 5_203_773],
])('%s', (_, seed) => {
  expect(mix(seed)).toMatchObject({ isRight: true })
})

const KINDS: readonly CompositeKind[] = ['xor', 'or', 'serrated']
const DEFECTS: readonly [PulseDefect, string, -1 | 0 | 1][] = [
  ['spike', 'extra', 1],
  ['cut', 'extra', 1],
  ['missing', 'missing', -1],
  ['early', 'early', 0],
  ['late', 'late', 0],
  ['longer', 'width', 0],
]

describe.each(KINDS)('composite sync, %s', (kind) => {
  describe.each(['positive', 'negative'] as const)('%s', (polarity) => {
    test.each(DEFECTS)('%s at the begin of vsync, within, and after it', (defect, fault, lineCountError) => {
      const card: TimingKey = 'mda'
      const sampleRateHz = 24e6
      const drawn = drawSync(card, { startFrames: 0.4, frames: 4.3, composite: { kind, polarity } })
      const { pulses, cut } = pulsesOfWire(drawn, polarity)
      const begin = wholeIntervals(card, drawn)[1]!
      const around = pulsesAround(card, pulses, begin)
      for (const share of [0.1, 0.4, 0.5, 0.6, 0.95]) {
        const index = around[Math.floor(share * around.length)]!
        const pulse = pulses[index]!
        // an OR-ed vsync is one pulse
        if (kind === 'or' && pulse[1] - pulse[0] > 60e-6) continue
        const gap = pulses[index + 1]![0] - pulse[1]
        const size = { seconds: Math.min(0.5e-6, gap / 3), where: 0.4, gap, sample: 1 / sampleRateHz }
        const made = defective(pulse, defect, size)
        const all = pulses.flatMap((other, i) => (i === index ? made.pulses : [other]))
        const captured = capturePulses(withPulses(drawn, { pulses: all, cut }), { sampleRateHz, phase: 0.3 })
        const { faults, frames, oddFrames } = captured.pulses
        expect({ share, faults: faults.map(({ kind: found, channel }) => `${found} ${channel}`) }).toEqual({
          share,
          faults: [`${fault} csync`],
        })
        expect(Math.abs(faults[0]!.timeSeconds - made.expected.seconds) * sampleRateHz).toBeLessThan(2)
        expect(oddFrames).toBe(0)
        // what a counter counts is what the fault says that it does
        expect(faults[0]!.lineCountError).toBe(lineCountError)
        const counted = frames.map(({ countedEdges }) => countedEdges)
        const usual = counted.at(-1)!
        expect(counted.reduce((sum, edges) => sum + edges - usual, 0)).toBe(lineCountError)
      }
    })
  })

  it.each([24e6, 100e6])(
    'a spike at half a scanline is false where no such pulses are, %d S/s',
    (sampleRateHz) => {
      for (const card of ['cga80', 'interlaced'] satisfies TimingKey[]) {
        const { h } = TIMINGS[card]
        const at = [60, 61, 130].map((scanline) => ({ frame: 2, scanline, dot: h.total / 2 }))
        const spikes = at.map((place) => ({ channel: 'CSYNC', at: place, widthSeconds: 300e-9 }))
        const signal = drawSync(card, {
          startFrames: 0.4,
          frames: 4.3,
          composite: { kind, polarity: 'negative' },
          spikes,
        })
        const { faults } = capturePulses(signal, { sampleRateHz, phase: 0.3 }).pulses
        expect(faults.map(({ kind: found }) => found)).toEqual(['extra', 'extra', 'extra'])
      }
    },
  )

  it('too few frames for a majority: it says that it does not judge, and judges the rest', () => {
    const spikes = [{ channel: 'CSYNC', at: { frame: 1, scanline: 120, dot: 300 }, widthSeconds: 300e-9 }]
    const composite = { kind, polarity: 'negative' } as const
    const signal = drawSync('cga80', { startFrames: 0.4, frames: 2.3, composite, spikes })
    const { pulses } = capturePulses(signal, { sampleRateHz: 24e6 })
    expect(pulses.faults.map(({ kind: found }) => found)).toEqual(['extra'])
    expect(pulses.notJudged).toEqual([{ what: 'vertical-intervals', count: 2 }])
    const plain = (text: string): string => text
    const text = pulsesText(pulses, { file: 'x.vcd' }, {
      strong: plain,
      good: plain,
      odd: plain,
      dim: plain,
    } as never)
    expect(text).toContain('2 vertical intervals of the composite sync')
  })

  it('a pulse at half a scanline may be right near the ends, and it says so', () => {
    const { h, v } = TIMINGS.cga80
    const first = Math.ceil(0.4 * v.total)
    const spikes = [first + 2, first + 100].map((scanline) => ({
      channel: 'CSYNC',
      at: { frame: 0, scanline, dot: h.total / 2 },
      widthSeconds: 300e-9,
    }))
    const composite = { kind, polarity: 'negative' } as const
    const signal = drawSync('cga80', { startFrames: 0.4, frames: 4.3, composite, spikes })
    const { pulses } = capturePulses(signal, { sampleRateHz: 24e6 })
    expect(pulses.faults.map(({ kind: found }) => found)).toEqual(['extra'])
    expect(pulses.notJudged).toEqual([{ what: 'half-scanline-pulses', count: 1 }])
    expect(notJudged(pulses).join()).toMatch(/^1 pulse half a scanline/)
  })

  it('the whole capture is judged where there are enough', () => {
    const composite = { kind, polarity: 'positive' } as const
    const frames = drawSync('vga480', { startFrames: 0.4, frames: 4.3, composite })
    expect(capturePulses(frames, { sampleRateHz: 24e6 }).pulses.notJudged).toEqual([])
    const fields = drawSync('interlaced', { startFrames: 0.2, frames: 3.5, composite })
    expect(capturePulses(fields, { sampleRateHz: 24e6 }).pulses.notJudged).toEqual([])
  })
})

it('jitter is not taken for faults there', () => {
  for (let seed = 1; seed <= 24; seed++) {
    const random = newRandom(7_300 + seed)
    const sampleRateHz = random.below(2) === 0 ? 24e6 : 100e6
    // vsync does not race with hsync in these
    const card = (['cga80', 'mda', 'ega350with364'] satisfies TimingKey[])[random.below(3)]!
    const signal = drawSync(card, {
      seed,
      startFrames: random.uniform(),
      frames: 4 + 2 * random.uniform(),
      composite: { kind: KINDS[random.below(3)]!, polarity: 'negative' },
      hsyncJitterSeconds: (0.05 + 0.6 * random.uniform()) / sampleRateHz,
    })
    const { faults } = capturePulses(signal, { sampleRateHz, phase: random.uniform() }).pulses
    expect({ seed, faults }).toEqual({ seed, faults: [] })
  }
})

describe('separate hsync at the ends of a capture', () => {
  const perFrame = TIMINGS.cga80.v.total
  const frames = (scanlines: number): number => scanlines / perFrame

  it('a missing last pulse cannot be known without a vsync, and it says so', () => {
    const missingHsync = [{ frame: 2, scanline: 99 }]
    const options = { startFrames: 0.4, frames: frames(1.6 * perFrame + 100) - 0.0001, missingHsync }
    const withVsync = capturePulses(drawSync('cga80', options), { sampleRateHz: 24e6 }).pulses
    expect(withVsync.faults.map(({ kind }) => kind)).toEqual(['missing'])
    expect(withVsync.notJudged).toEqual([])
    const omit = ['V', ...TIMINGS.cga80.channels]
    const alone = capturePulses(drawSync('cga80', { ...options, omit }), { sampleRateHz: 24e6 }).pulses
    expect(alone.faults).toEqual([])
    expect(alone.notJudged).toEqual([{ what: 'last-pulses', count: 1 }])
  })

  it('nor can a missing first one next to a vsync', () => {
    const missingHsync = [{ frame: 1, scanline: perFrame - 3 }]
    const signal = drawSync('cga80', { startFrames: 2 - frames(3.3), frames: 2.3, missingHsync })
    const { faults, notJudged } = capturePulses(signal, { sampleRateHz: 24e6 }).pulses
    expect(faults).toEqual([])
    expect(notJudged).toEqual([{ what: 'first-pulses', count: 1 }])
  })
})
