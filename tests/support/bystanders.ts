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
