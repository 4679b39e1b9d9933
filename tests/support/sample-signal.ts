// What an instrument with a clock of its own makes of an exact signal.

import type { Signal } from './signal.ts'

export interface Instrument {
  /** What the instrument believes its rate to be, and writes into files. */
  sampleRateHz: number
  /** Time of the first sample in sample intervals, 0 ≤ phase < 1. */
  phase?: number
  /** The instrument's crystal: its true rate is sampleRateHz × (1 + ppm · 1e-6). */
  clockErrorPpm?: number
}

/** Samples, only where they differ from the one before; the first entry is sample 0. */
export interface SampledSignal {
  channels: readonly string[]
  sampleRateHz: number
  totalSamples: number
  /** Rising, starting with 0. */
  sampleIndex: Float64Array
  /** Bit i is channels[i]. */
  levelWord: Uint32Array
}

/**
 * Samples a signal: sample k is taken at (k + phase) / true rate and sees every change up to and at that time.
 * What changes and returns between two samples is not seen.
 */
export function sampleSignal(signal: Signal, instrument: Instrument): SampledSignal {
  const { sampleRateHz, phase = 0, clockErrorPpm = 0 } = instrument
  const channels = signal.channels.length
  if (channels > 32) throw new Error('a level word holds 32 channels')
  const trueHz = sampleRateHz * (1 + clockErrorPpm * 1e-6)
  const totalSamples = Math.ceil(signal.durationSeconds * trueHz - phase)
  let capacity = 1
  for (const times of signal.toggles) capacity += times.length
  const sampleIndex = new Float64Array(capacity)
  const levelWord = new Uint32Array(capacity)
  const next = new Uint32Array(channels)
  const nextSample = new Float64Array(channels)
  const sampleOf = (channel: number): number => {
    const times = signal.toggles[channel]!
    const place = next[channel]!
    return place < times.length ? Math.max(0, Math.ceil(times[place]! * trueHz - phase)) : Infinity
  }
  let word = 0
  for (let channel = 0; channel < channels; channel++) {
    if (signal.startLevels[channel] === 1) word |= 1 << channel
    nextSample[channel] = sampleOf(channel)
  }
  word >>>= 0
  levelWord[0] = word
  let count = 1
  for (;;) {
    let now = Infinity
    for (let channel = 0; channel < channels; channel++)
      if (nextSample[channel]! < now) now = nextSample[channel]!
    if (now >= totalSamples) break
    for (let channel = 0; channel < channels; channel++) {
      while (nextSample[channel] === now) {
        word = (word ^ (1 << channel)) >>> 0
        next[channel]!++
        nextSample[channel] = sampleOf(channel)
      }
    }
    if (now === 0) levelWord[0] = word
    else if (word !== levelWord[count - 1]) {
      sampleIndex[count] = now
      levelWord[count++] = word
    }
  }
  return {
    channels: signal.channels,
    sampleRateHz,
    totalSamples,
    sampleIndex: sampleIndex.slice(0, count),
    levelWord: levelWord.slice(0, count),
  }
}
