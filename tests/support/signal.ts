// The exact signal on a set of wires: no samples, no rounding. Each channel is a start level and the times it changes.

/** Two-level signals over 0 … durationSeconds. */
export interface Signal {
  /** Probe names, in the order of the other arrays. */
  channels: string[]
  /** Level of each channel at time 0. */
  startLevels: (0 | 1)[]
  /** Times in seconds at which each channel changes, rising, inside 0 < t < durationSeconds. */
  toggles: Float64Array[]
  durationSeconds: number
}

/**
 * Level of a channel at a time; the change at exactly that time has happened.
 */
export function levelAt(signal: Signal, channel: number, seconds: number): 0 | 1 {
  const times = signal.toggles[channel]!
  let low = 0
  let high = times.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (times[middle]! <= seconds) low = middle + 1
    else high = middle
  }
  return (signal.startLevels[channel]! ^ (low & 1)) as 0 | 1
}

/** Number of a channel by its name. */
export function channelNumber(signal: Signal, name: string): number {
  const found = signal.channels.indexOf(name)
  if (found < 0) throw new Error(`no channel ${name} among ${signal.channels.join(' ')}`)
  return found
}

/**
 * Cuts one channel to a window and moves the window's begin to time 0.
 *
 * @param times seconds, rising
 * @param idle the level before the first time
 */
export function cutChannel(
  times: Float64Array,
  idle: 0 | 1,
  fromSeconds: number,
  durationSeconds: number,
): { startLevel: 0 | 1; toggles: Float64Array } {
  let first = 0
  while (first < times.length && times[first]! <= fromSeconds) first++
  let end = first
  while (end < times.length && times[end]! < fromSeconds + durationSeconds) end++
  const toggles = times.slice(first, end)
  for (let i = 0; i < toggles.length; i++) toggles[i] = toggles[i]! - fromSeconds
  return { startLevel: (idle ^ (first & 1)) as 0 | 1, toggles }
}

/**
 * Plays signals one after the other, as when a card is programmed anew under the probes. A channel that one of them
 * lacks is low there. A stretch without any change is `{ channels: [], …, durationSeconds }`.
 */
export function joinSignals(parts: readonly Signal[]): Signal {
  const channels = [...new Set(parts.flatMap((part) => part.channels))]
  const toggles: Float64Array[] = []
  const startLevels: (0 | 1)[] = []
  for (const name of channels) {
    const times: number[] = []
    let level: 0 | 1 = 0
    let offset = 0
    for (const [index, part] of parts.entries()) {
      const channel = part.channels.indexOf(name)
      const start = channel < 0 ? 0 : part.startLevels[channel]!
      if (index === 0) startLevels.push(start)
      else if (start !== level) times.push(offset)
      const own = channel < 0 ? new Float64Array(0) : part.toggles[channel]!
      for (const time of own) times.push(offset + time)
      level = (start ^ (own.length & 1)) as 0 | 1
      offset += part.durationSeconds
    }
    toggles.push(Float64Array.from(times))
  }
  return {
    channels,
    startLevels,
    toggles,
    durationSeconds: parts.reduce((sum, part) => sum + part.durationSeconds, 0),
  }
}

/** Puts more channels beside a signal (see bystanders.ts). */
export function addChannels(signal: Signal, more: Signal): Signal {
  return {
    channels: [...signal.channels, ...more.channels],
    startLevels: [...signal.startLevels, ...more.startLevels],
    toggles: [...signal.toggles, ...more.toggles],
    durationSeconds: signal.durationSeconds,
  }
}
