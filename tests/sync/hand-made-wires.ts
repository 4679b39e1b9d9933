// Wires whose pulses are put down by hand: a scanline is 1000 ticks, hsync 100 of them, and a frame 200 scanlines, of which
// vsync has three.

import { newTransitionBatch } from '../../src/capture/transition-batch.ts'
import { channelActivity, type ChannelActivity } from '../../src/transitions/channel-activity.ts'
import { TransitionStore } from '../../src/transitions/transition-store.ts'

export const PERIOD = 1000
export const SCANLINES = 620
export const FRAME = 200

/** Pulses to the high level, from and to in ticks. */
export type Pulses = readonly (readonly [number, number])[]

export interface Capture {
  store: TransitionStore
  activities: ChannelActivity[]
}

/** Channels that start low, or, where told, high; then their pulses are low ones. */
export function captureOf(wires: readonly Pulses[], idle: readonly number[] = []): Capture {
  const rows = wires.flatMap((pulses, channel) =>
    pulses.flatMap(([from, to]) => [
      { tick: from, channel, level: 1 - (idle[channel] ?? 0) },
      { tick: to, channel, level: idle[channel] ?? 0 },
    ]),
  )
  rows.sort((a, b) => a.tick - b.tick)
  const store = new TransitionStore()
  const batch = newTransitionBatch()
  const append = (tick: number, channel: number, level: number): void => {
    batch.tick[0] = tick
    batch.channel[0] = channel
    batch.level[0] = level
    batch.count = 1
    store.append(batch)
  }
  wires.forEach((_, channel) => append(0, channel, idle[channel] ?? 0))
  for (const { tick, channel, level } of rows) append(tick, channel, level)
  return { store, activities: channelActivity(store, wires.length, 1) }
}

export const scanlines = (count: number = SCANLINES): number[] => Array.from({ length: count }, (_, n) => n)
export const hsync = (width: number = 100): Pulses =>
  scanlines().map((n) => [n * PERIOD + 50, n * PERIOD + 50 + width])
export const isInVsync = (n: number): boolean => n % FRAME < 6
/** Several strokes in each scanline but those around vsync; `at` the first, from the scanline's begin. */
export const picture = (
  at: number = 300,
  apart: number = 90,
  isDark: (n: number) => boolean = isInVsync,
): Pulses =>
  scanlines().flatMap((n) =>
    isDark(n)
      ? []
      : [0, 1, 2, 3].map((i): [number, number] => [
          n * PERIOD + at + apart * i,
          n * PERIOD + at + 40 + apart * i,
        ]),
  )
export const vsync = (scanlinesWide: number = 3, phase: number = 50, frame: number = FRAME): Pulses =>
  [0, 1, 2, 3]
    .filter((n) => (n * frame + scanlinesWide + 2) * PERIOD < SCANLINES * PERIOD)
    .map((n) => [(n * frame + 1) * PERIOD + phase, (n * frame + 1 + scanlinesWide) * PERIOD + phase])
