// A card on some of 8 or 16 probes, among wires from elsewhere, under names that say nothing, or say it wrongly: what
// tests of the search for roles are made from.

import {
  drawBus,
  drawCounter,
  drawPwm,
  drawSpiBursts,
  drawSquareWave,
  drawTwoWireBursts,
} from './bystanders.ts'
import { drawCard } from './measured-card.ts'
import type { PictureKind } from './pictures.ts'
import { betweenLogs, newRandom, pick, type Random } from './random.ts'
import { addChannels, type Signal } from './signal.ts'
import { TIMINGS, type Timing, type TimingKey } from './timings.ts'

/** How the probes are named: not at all, all rightly but two exchanged, in part, or a sync's name on a stranger. */
export type Naming = 'none' | 'exchanged' | 'partly' | 'on-a-stranger'

export interface ProbeCase {
  key: TimingKey
  timing: Timing
  kind: PictureKind
  naming: Naming
  frames: number
  sampleRateHz: number
  phase: number
  clockErrorPpm: number
  signal: Signal
  /** By channel: the card's wire on it (`H`, `V`, colours as the timing has them), or what stranger it is. */
  wires: string[]
  /** Edges that the card's vsync has in the capture. */
  vsyncEdges: number
}

const KEYS = Object.keys(TIMINGS) as TimingKey[]
const KINDS: readonly PictureKind[] = [
  'dither',
  'text',
  'text-full',
  'border',
  'dark',
  'nearly-dark',
  'checkerboard',
  'rectangle',
]
const NAMINGS: readonly Naming[] = ['none', 'none', 'none', 'exchanged', 'partly', 'on-a-stranger']
const RATES = [12e6, 16e6, 24e6, 50e6, 100e6]
/** Names that are put on probes, by the card's wire. */
const NAMES: Readonly<Record<string, string>> = { H: 'HSYNC', V: 'VSYNC', video: 'VIDEO' }

/** One stranger on one to four channels; channel names are what it is. */
function stranger(random: Random, seconds: number, room: number): Signal {
  const phase = random.uniform()
  const seed = random.below(1e6) + 1
  switch (random.below(room >= 4 ? 8 : room >= 2 ? 6 : 5)) {
    case 0:
      return drawSquareWave('clock', betweenLogs(random, 1e3, 20e6), seconds, phase)
    case 1:
      return drawSquareWave('mains', 60, seconds, phase)
    case 2:
      return drawPwm('pwm', betweenLogs(random, 1e3, 60e3), betweenLogs(random, 0.02, 0.98), seconds, phase)
    case 3:
      return drawPwm('servo', pick(random, [50, 60, 100]), betweenLogs(random, 0.02, 0.15), seconds, phase)
    case 4:
      return drawBus('noise', 1, betweenLogs(random, 1e3, 8e6), seconds, seed)
    case 5: {
      const interval = betweenLogs(random, 1e-4, 5e-3)
      const options = { clockHz: pick(random, [100e3, 400e3]), bits: 9 * (1 + random.below(4)), seed }
      return drawTwoWireBursts(
        ['wire-clock', 'wire-data'],
        { ...options, intervalSeconds: interval, jitter: pick(random, [0, 1]) },
        seconds,
      )
    }
    case 6: {
      const options = { clockHz: betweenLogs(random, 200e3, 8e6), bits: pick(random, [8, 16, 24]), seed }
      return drawSpiBursts(
        ['spi-select', 'spi-clock', 'spi-out', 'spi-in'],
        { ...options, intervalSeconds: betweenLogs(random, 3e-5, 3e-3), jitter: pick(random, [0, 1]) },
        seconds,
      )
    }
    default:
      return drawCounter(
        ['count', 'count', 'count', 'count'],
        betweenLogs(random, 10e3, 10e6),
        seconds,
        phase,
      )
  }
}

/** Draws one case; the same seed draws the same. */
export function randomProbes(seed: number): ProbeCase {
  const random = newRandom(seed)
  const key = pick(random, KEYS)
  const timing = TIMINGS[key]
  const kind = pick(random, KINDS)
  const naming = pick(random, NAMINGS)
  const frames = 1.1 + 2.2 * random.uniform()
  const { signal: card } = drawCard(key, kind, {
    frames,
    startFrames: random.uniform(),
    seed: seed + 1,
    dotClockErrorPpm: 200 * random.uniform() - 100,
  })
  let signal: Signal = card
  const wires = [...card.channels]
  const size = wires.length + 1 > 8 || random.below(2) === 1 ? 16 : 8
  while (wires.length < size) {
    const more = stranger(random, card.durationSeconds, size - wires.length)
    wires.push(...more.channels)
    signal = addChannels(signal, more)
  }
  const vsyncEdges = card.toggles[card.channels.indexOf('V')]!.length
  return {
    key,
    timing,
    kind,
    naming,
    frames,
    sampleRateHz: pick(random, RATES),
    phase: random.uniform(),
    clockErrorPpm: 100 * random.uniform() - 50,
    vsyncEdges,
    ...onProbes(random, signal, wires, naming, timing),
  }
}

/** Shuffles the wires over the probes and names them. */
function onProbes(
  random: Random,
  signal: Signal,
  wires: readonly string[],
  naming: Naming,
  timing: Timing,
): { signal: Signal; wires: string[] } {
  const order = wires.map((_, i) => i)
  for (let i = order.length - 1; i > 0; i--) {
    const j = random.below(i + 1)
    ;[order[i], order[j]] = [order[j]!, order[i]!]
  }
  const shuffled = order.map((i) => wires[i]!)
  const names = shuffled.map((_, i) => `D${i}`)
  const probeOf = (wire: string): number => shuffled.indexOf(wire)
  const nameOf = (wire: string): string => NAMES[wire] ?? wire
  const label = (wire: string, probe = probeOf(wire)): void => {
    names[probe] = nameOf(wire)
  }
  const card = ['H', 'V', ...timing.channels]
  if (naming === 'exchanged') {
    for (const wire of card) label(wire)
    const sync = pick(random, ['H', 'V'])
    const other = pick(
      random,
      card.filter((wire) => wire !== sync),
    )
    label(sync, probeOf(other))
    label(other, probeOf(sync))
  } else if (naming === 'partly') {
    for (const wire of card) if (random.below(2) === 0) label(wire)
  } else if (naming === 'on-a-stranger') {
    for (const wire of card) label(wire)
    const sync = pick(random, ['H', 'V'])
    names[probeOf(sync)] = `D${probeOf(sync)}`
    const strangers = shuffled.flatMap((wire, i) => (card.includes(wire) ? [] : [i]))
    label(sync, pick(random, strangers))
  }
  return {
    wires: shuffled,
    signal: {
      channels: names,
      startLevels: order.map((i) => signal.startLevels[i]!),
      toggles: order.map((i) => signal.toggles[i]!),
      durationSeconds: signal.durationSeconds,
    },
  }
}
