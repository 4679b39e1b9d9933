// Channels that have nothing to do with video, as they lie on the unused probes of a real capture.

import { newRandom } from './random.ts'
import type { Signal } from './signal.ts'
import { ToggleList } from './toggle-list.ts'

/** A free-running square wave. */
export function drawSquareWave(
  name: string,
  frequencyHz: number,
  durationSeconds: number,
  phase = 0.3,
): Signal {
  const times = new ToggleList()
  for (let half = 0; ; half++) {
    const seconds = (half + phase) / (2 * frequencyHz)
    if (seconds >= durationSeconds) break
    if (seconds > 0) times.push(seconds)
  }
  return { channels: [name], startLevels: [0], toggles: [times.sorted()], durationSeconds }
}

/** A bus `name[bits-1]` … `name[0]` that takes a random value at `frequencyHz`. */
export function drawBus(
  name: string,
  bits: number,
  frequencyHz: number,
  durationSeconds: number,
  seed = 7,
): Signal {
  const random = newRandom(seed)
  const lists = Array.from({ length: bits }, () => new ToggleList())
  let word = 0
  for (let step = 1; step / frequencyHz < durationSeconds; step++) {
    const next = random.below(2 ** bits)
    // bit 0 is listed last, as buses are written
    for (let bit = 0; bit < bits; bit++)
      if (((word ^ next) >> bit) & 1) lists[bits - 1 - bit]!.push(step / frequencyHz)
    word = next
  }
  return {
    channels: lists.map((_, place) => `${name}[${bits - 1 - place}]`),
    startLevels: lists.map(() => 0),
    toggles: lists.map((list) => list.sorted()),
    durationSeconds,
  }
}

/** A square wave whose high share is not a half, as a dimmed lamp, a fan or a servo is driven. */
export function drawPwm(
  name: string,
  frequencyHz: number,
  highShare: number,
  durationSeconds: number,
  phase = 0.3,
): Signal {
  const times = new ToggleList()
  for (let pulse = -1; ; pulse++) {
    const rising = (pulse + phase) / frequencyHz
    if (rising >= durationSeconds) break
    for (const seconds of [rising, rising + highShare / frequencyHz])
      if (seconds > 0 && seconds < durationSeconds) times.push(seconds)
  }
  const startLevel = (((0 - phase) % 1) + 1) % 1 < highShare ? 1 : 0
  return { channels: [name], startLevels: [startLevel], toggles: [times.sorted()], durationSeconds }
}

/** The bits of a binary counter, lowest first: `name0`, `name1`, … */
export function drawCounter(
  names: readonly string[],
  frequencyHz: number,
  durationSeconds: number,
  phase = 0.3,
): Signal {
  const waves = names.map((name, bit) =>
    drawSquareWave(name, frequencyHz / 2 ** (bit + 1), durationSeconds, phase),
  )
  return {
    channels: [...names],
    startLevels: names.map(() => 0),
    toggles: waves.map((wave) => wave.toggles[0]!),
    durationSeconds,
  }
}

/** How a serial bus speaks: words of `bits` at `clockHz`, one every `intervalSeconds` give or take `jitter` of it. */
export interface BurstOptions {
  clockHz: number
  bits: number
  intervalSeconds: number
  /** 0: as regular as a timer makes it; 1: by chance. */
  jitter: number
  seed: number
}

/** Four wires, select (active low), clock, data out and data in: bursts of clocks within a select. */
export function drawSpiBursts(
  names: readonly [string, string, string, string],
  options: BurstOptions,
  durationSeconds: number,
): Signal {
  const random = newRandom(options.seed)
  const select = new ToggleList()
  const clock = new ToggleList()
  const data = [new ToggleList(), new ToggleList()]
  const level = [0, 0]
  const bit = 1 / options.clockHz
  const burstSeconds = (options.bits + 2) * bit
  let at = options.intervalSeconds * (0.1 + 0.8 * random.uniform())
  while (at + burstSeconds < durationSeconds) {
    select.pushPulse(at, at + burstSeconds)
    for (let n = 0; n < options.bits; n++) {
      const from = at + (n + 1) * bit
      clock.pushPulse(from + bit / 2, from + bit)
      data.forEach((wire, side) => {
        const next = random.below(2)
        if (next !== level[side]) wire.push(from)
        level[side] = next
      })
    }
    at += Math.max(
      burstSeconds * 1.1,
      options.intervalSeconds * (1 + options.jitter * (random.uniform() - 0.5)),
    )
  }
  const toggles = [select, clock, ...data].map((list) => list.sorted())
  return { channels: [...names], startLevels: [1, 0, 0, 0], toggles, durationSeconds }
}

/** Two wires, clock and data, both high at rest: start, bytes with an acknowledge each, stop. */
export function drawTwoWireBursts(
  names: readonly [string, string],
  options: BurstOptions,
  durationSeconds: number,
): Signal {
  const random = newRandom(options.seed)
  const clock = new ToggleList()
  const data = new ToggleList()
  const bit = 1 / options.clockHz
  let at = options.intervalSeconds * (0.1 + 0.8 * random.uniform())
  while (at + (options.bits + 4) * bit < durationSeconds) {
    data.push(at)
    let level = 0
    for (let n = 0; n < options.bits; n++) {
      const from = at + (n + 1) * bit
      // clock low in the first half of a bit, data changes a quarter into it
      clock.pushPulse(from - bit / 2, from)
      const next = n + 1 === options.bits ? 0 : random.below(2)
      if (next !== level) data.push(from - bit / 4)
      level = next
    }
    data.push(at + (options.bits + 1) * bit)
    at += (options.bits + 3) * bit + options.intervalSeconds * (1 + options.jitter * (random.uniform() - 0.5))
  }
  return {
    channels: [...names],
    startLevels: [1, 1],
    toggles: [clock.sorted(), data.sorted()],
    durationSeconds,
  }
}
