// Defects put into the vertical interval of a drawn composite sync, pulse by pulse, with what ought to be found of them.

import type { FaultKind } from '../src/sync/sync-fault.ts'
import type { CompositeKind } from './support/composite-sync.ts'
import type { DrawnSignal } from './support/draw-signal.ts'
import type { Random } from './support/random.ts'
import type { Signal } from './support/signal.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'
import { drawSync } from './pulses-of.ts'

/** What ought to be found. */
export interface ExpectedPulse {
  kind: FaultKind
  seconds: number
}

/** Leading and trailing edge, in seconds. */
export type Pulse = [number, number]

const WIRE = 0

/** The wire taken apart into its pulses, and what the capture's ends cut of others. */
export interface WirePulses {
  pulses: Pulse[]
  cut: number[]
}

export function pulsesOfWire(
  { toggles, startLevels }: Signal,
  polarity: 'positive' | 'negative',
): WirePulses {
  const times = [...toggles[WIRE]!]
  const idle = polarity === 'positive' ? 0 : 1
  const cut = startLevels[WIRE] === idle ? [] : times.splice(0, 1)
  if (times.length % 2 === 1) cut.push(times.pop()!)
  return {
    pulses: Array.from({ length: times.length / 2 }, (_, i) => [times[2 * i]!, times[2 * i + 1]!]),
    cut,
  }
}

export function withPulses(signal: Signal, { pulses, cut }: WirePulses): Signal {
  return { ...signal, toggles: [Float64Array.from([...pulses.flat(), ...cut].sort((a, b) => a - b))] }
}

export type PulseDefect = 'spike' | 'cut' | 'missing' | 'early' | 'late' | 'longer' | 'shorter'

/**
 * @param pulse that it happens to
 * @param seconds how large it is
 * @param where 0 to 1: in the pulse, or in the gap after it
 * @param gap from its end to the next pulse
 * @returns what is in its place, and what ought to be found
 */
export function defective(
  [lead, trail]: Pulse,
  defect: PulseDefect,
  { seconds, where, gap, sample }: { seconds: number; where: number; gap: number; sample: number },
): { pulses: Pulse[]; expected: ExpectedPulse } {
  const clear = 2.1 * sample
  const width = trail - lead
  switch (defect) {
    case 'spike': {
      const at = trail + clear + where * (gap - seconds - 2 * clear)
      return {
        pulses: [
          [lead, trail],
          [at, at + seconds],
        ],
        expected: { kind: 'extra', seconds: at },
      }
    }
    case 'cut': {
      const at = lead + clear + where * (width - seconds - 2 * clear)
      return {
        pulses: [
          [lead, at],
          [at + seconds, trail],
        ],
        expected: { kind: 'extra', seconds: at + seconds },
      }
    }
    case 'missing':
      return { pulses: [], expected: { kind: 'missing', seconds: lead } }
    case 'early':
      return {
        pulses: [[lead - seconds, trail - seconds]],
        expected: { kind: 'early', seconds: lead - seconds },
      }
    case 'late':
      return {
        pulses: [[lead + seconds, trail + seconds]],
        expected: { kind: 'late', seconds: lead + seconds },
      }
    case 'longer':
      return { pulses: [[lead, trail + seconds]], expected: { kind: 'width', seconds: lead } }
    case 'shorter': {
      const kind = width - seconds < width / 2 ? 'short' : 'width'
      return { pulses: [[lead, trail - seconds]], expected: { kind, seconds: lead } }
    }
  }
}

/** A capture with defects around some of its vsyncs. */
export interface DefectiveCapture {
  what: string
  sampleRateHz: number
  signal: Signal
  expected: ExpectedPulse[]
}

const CARDS: readonly TimingKey[] = [
  'cga80',
  'interlaced',
  'vga480',
  'cga320',
  'interlaced',
  'mda',
  'ega350with364',
]
const KINDS: readonly CompositeKind[] = ['xor', 'or', 'serrated']
const DEFECTS: readonly PulseDefect[] = ['spike', 'cut', 'missing', 'early', 'late', 'longer', 'shorter']
/** Scanlines before vsync's begin, and after its end, in which defects are put. */
const BEFORE = 4.2
const AFTER = 5.2

/** One to six defects of all kinds around one or two vsyncs; no two at one place, so that most frames are right everywhere. */
export function randomDefective(seed: number, random: Random): DefectiveCapture {
  const card = CARDS[random.below(CARDS.length)]!
  const kind = KINDS[random.below(KINDS.length)]!
  const polarity = random.below(2) === 0 ? 'positive' : 'negative'
  const sampleRateHz = random.below(2) === 0 ? 24e6 : 100e6
  const drawn = drawSync(card, {
    startFrames: 0.3 + 0.4 * random.uniform(),
    frames: 4.4 + 4 * random.uniform(),
    composite: { kind, polarity },
    dotClockErrorPpm: 300 * (random.uniform() - 0.5),
  })
  const { pulses, cut } = pulsesOfWire(drawn, polarity)
  const replaced = new Map<number, Pulse[]>()
  const expected: ExpectedPulse[] = []
  const places: number[] = []
  const begins = wholeIntervals(card, drawn)
  const chosen = new Set([random.below(begins.length), random.below(begins.length)])
  for (const at of chosen) {
    const inside = pulsesAround(card, pulses, begins[at]!)
    for (let left = 1 + random.below(3); left > 0; left--) {
      const index = inside[random.below(inside.length)]!
      const defect = DEFECTS[random.below(DEFECTS.length)]!
      const place = pulses[index]![0] - begins[at]!
      const period = TIMINGS[card].h.total / TIMINGS[card].dotClockHz
      if (places.some((other) => Math.abs(other - place) < 1.6 * period)) continue
      const made = randomDefect(random, { pulses, index, defect, sample: 1 / sampleRateHz })
      // a vsync that is missing as a whole is another matter
      const isWhole = kind === 'or' && pulses[index]![1] - pulses[index]![0] > 1.2 * period
      if (!made || (isWhole && defect === 'missing')) continue
      places.push(place)
      replaced.set(index, made.pulses)
      expected.push(made.expected)
    }
  }
  const all = pulses.flatMap((pulse, index) => replaced.get(index) ?? [pulse])
  return {
    what: `${seed} ${card} ${kind} ${polarity} ${sampleRateHz / 1e6} MS/s`,
    sampleRateHz,
    signal: withPulses(drawn, { pulses: all, cut }),
    expected: expected.sort((a, b) => a.seconds - b.seconds),
  }
}

/** Begins of vsyncs that are captured with all that is around them. */
export function wholeIntervals(card: TimingKey, { truth, durationSeconds }: DrawnSignal): number[] {
  const { h, v, dotClockHz } = TIMINGS[card]
  const period = h.total / dotClockHz
  return [...truth.vsyncSeconds].filter(
    (begin) => begin > 8 * period && begin + (v.sync + 8) * period < durationSeconds,
  )
}

/** Indices of the pulses around a vsync. */
export function pulsesAround(card: TimingKey, pulses: readonly Pulse[], begin: number): number[] {
  const { h, v, dotClockHz } = TIMINGS[card]
  const period = h.total / dotClockHz
  return pulses.flatMap(([lead, trail], index) =>
    lead > begin - BEFORE * period && trail < begin + (v.sync + AFTER) * period ? [index] : [],
  )
}

/** @returns undefined where there is no room for one wider than two samples */
function randomDefect(
  random: Random,
  { pulses, index, defect, sample }: { pulses: Pulse[]; index: number; defect: PulseDefect; sample: number },
): ReturnType<typeof defective> | undefined {
  const pulse = pulses[index]!
  const gap = pulses[index + 1]![0] - pulse[1]
  const room = Math.min(pulse[1] - pulse[0], gap, pulse[0] - pulses[index - 1]![1])
  const seconds = Math.min((2.05 + 8 * random.uniform() ** 2) * sample, 0.3 * room)
  const where = random.uniform()
  if (seconds < 2.03 * sample || room < seconds + 5 * sample) return undefined
  return defective(pulse, defect, { seconds, where, gap, sample })
}
