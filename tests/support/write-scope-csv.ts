// An exact signal → voltages as an oscilloscope samples and writes them: edges that take their time, noise, eight bits.

import { newRandom } from './random.ts'
import type { Signal } from './signal.ts'

export interface Scope {
  sampleRateHz: number
  lowVolts: number
  highVolts: number
  /** From the end of one level to the begin of the other, as a straight line through the exact edge. */
  rampSeconds: number
  /** Standard deviation of each sample. */
  noiseVolts: number
  /** Time of the first sample in sample intervals. */
  phase?: number
  seed?: number
  /** Volts per unit of the file: 1e-3 writes millivolts. */
  unit?: { name: string; volts: number }
  /** Steps of the converter from below low to above high. Default 256. */
  steps?: number
}

/** Voltage of one channel as a function of rising times. */
function rampedLevel(
  toggles: Float64Array,
  startLevel: number,
  rampSeconds: number,
): (seconds: number) => number {
  let next = 0
  return (seconds) => {
    while (next < toggles.length && toggles[next]! + rampSeconds / 2 <= seconds) next++
    const level = startLevel ^ (next & 1)
    const into = next < toggles.length ? (seconds - toggles[next]!) / rampSeconds + 0.5 : 0
    return into > 0 ? level + (1 - 2 * level) * Math.min(1, into) : level
  }
}

/** `Time (s)` with picoseconds, then a column of voltages for each channel. */
export function writeScopeCsv(signal: Signal, scope: Scope): Uint8Array {
  const { sampleRateHz, lowVolts, highVolts, rampSeconds, noiseVolts, phase = 0, steps = 256 } = scope
  const { name: unit, volts: unitVolts } = scope.unit ?? { name: 'V', volts: 1 }
  const random = newRandom(scope.seed ?? 3)
  const levels = signal.toggles.map((times, n) => rampedLevel(times, signal.startLevels[n]!, rampSeconds))
  const swing = highVolts - lowVolts
  const step = (1.5 * swing) / steps
  const rows = [`Time (s),${signal.channels.map((name) => `${name} (${unit})`).join(',')}\n`]
  const samples = Math.floor(signal.durationSeconds * sampleRateHz - phase)
  for (let sample = 0; sample < samples; sample++) {
    const seconds = (sample + phase) / sampleRateHz
    const cells = levels.map((level) => {
      const volts = lowVolts + swing * level(seconds) + noiseVolts * random.gaussian()
      return ((Math.round(volts / step) * step) / unitVolts).toPrecision(5)
    })
    rows.push(`${(sample / sampleRateHz).toFixed(12)},${cells.join(',')}\n`)
  }
  return new TextEncoder().encode(rows.join(''))
}
