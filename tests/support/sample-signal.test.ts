import { expect, it } from 'vitest'

import { drawBus, drawSquareWave } from './bystanders.ts'
import { drawSignal } from './draw-signal.ts'
import { drawPicture } from './pictures.ts'
import { newRandom } from './random.ts'
import { sampleSignal } from './sample-signal.ts'
import type { SampledSignal } from './sample-signal.ts'
import { addChannels, joinSignals, levelAt } from './signal.ts'
import type { Signal } from './signal.ts'
import { TIMINGS } from './timings.ts'

const one = (times: number[], durationSeconds = 1e-6): Signal => ({
  channels: ['A'],
  startLevels: [0],
  toggles: [Float64Array.from(times)],
  durationSeconds,
})

/** [sample, word] pairs. */
const changes = ({ sampleIndex, levelWord }: SampledSignal): number[][] =>
  Array.from(sampleIndex, (sample, i) => [sample, levelWord[i]!])

function wordAt({ sampleIndex, levelWord }: SampledSignal, sample: number): number {
  let place = sampleIndex.findIndex((start) => start > sample)
  if (place < 0) place = sampleIndex.length
  return levelWord[place - 1]!
}

it('shows a change at the first sample at or after it', () => {
  // samples every 10 ns from 0 on
  expect(changes(sampleSignal(one([31e-9, 58.5e-9]), { sampleRateHz: 100e6 }))).toEqual([
    [0, 0],
    [4, 1],
    [6, 0],
  ])
  // 2^-20 s and its multiples are exact, so this change lies exactly on sample 5
  const exact = sampleSignal(one([5 * 2 ** -20], 16 * 2 ** -20), { sampleRateHz: 2 ** 20 })
  expect(changes(exact)[1]).toEqual([5, 1])
  expect(exact.totalSamples).toBe(16)
})

it('takes its first sample a phase after the begin', () => {
  const signal = one([31e-9, 58.5e-9])
  // samples at 5, 15, 25, 35, 45, 55, 65 ns
  expect(changes(sampleSignal(signal, { sampleRateHz: 100e6, phase: 0.5 }))).toEqual([
    [0, 0],
    [3, 1],
    [6, 0],
  ])
  const early = sampleSignal(one([3e-9]), { sampleRateHz: 100e6, phase: 0.5 })
  expect(changes(early)).toEqual([[0, 1]])
})

it('does not see what changes and returns between two samples', () => {
  const seen = (from: number, to: number): number =>
    sampleSignal(one([from * 1e-9, to * 1e-9]), { sampleRateHz: 100e6 }).sampleIndex.length
  expect(seen(41, 49)).toBe(1)
  expect(seen(41, 50.5)).toBe(3)
  expect(seen(39, 41)).toBe(3)
})

it('runs fast by its clock error and does not know it', () => {
  const { sampleIndex, sampleRateHz, totalSamples } = sampleSignal(one([0.5], 1), {
    sampleRateHz: 1e6,
    clockErrorPpm: 40,
  })
  expect([sampleIndex[1], totalSamples, sampleRateHz]).toEqual([500_020, 1_000_040, 1e6])
})

it('has the exact signal’s levels at every sample', () => {
  const timing = TIMINGS.ega350with366
  const drawn = drawSignal(timing, drawPicture('dither', timing), {
    frames: 0.2,
    startFrames: 0.93,
    hsyncJitterSeconds: 10e-9,
    skewSeconds: { G: 5e-9 },
    ringing: { delaySeconds: 40e-9, widthSeconds: 30e-9, probability: 0.5 },
  })
  const signal = addChannels(drawn, drawBus('pins', 4, 1.37e6, drawn.durationSeconds))
  for (const sampleRateHz of [24e6, 100e6]) {
    const phase = 0.618034
    const samples = sampleSignal(signal, { sampleRateHz, phase })
    for (let i = 1; i < samples.sampleIndex.length; i++) {
      expect(samples.sampleIndex[i]! > samples.sampleIndex[i - 1]!).toBe(true)
      expect(samples.levelWord[i] !== samples.levelWord[i - 1]).toBe(true)
    }
    const random = newRandom(4)
    for (let n = 0; n < 300; n++) {
      const sample = random.below(samples.totalSamples)
      let expected = 0
      signal.channels.forEach(
        (_, channel) => (expected |= levelAt(signal, channel, (sample + phase) / sampleRateHz) << channel),
      )
      expect(wordAt(samples, sample)).toBe(expected)
    }
  }
})

it('gives hsync the width in samples that its dots take, one more or less', () => {
  const timing = TIMINGS.mda
  const signal = drawSignal(timing, drawPicture('dark', timing), { frames: 1, omit: ['V', 'video', 'I'] })
  const samples = sampleSignal(signal, { sampleRateHz: 24e6, phase: 0.2 })
  const exact = (timing.h.sync / timing.dotClockHz) * 24e6
  const widths = new Set<number>()
  for (let i = 1; i + 1 < samples.sampleIndex.length; i++)
    if (samples.levelWord[i] === 1) widths.add(samples.sampleIndex[i + 1]! - samples.sampleIndex[i]!)
  expect([...widths].sort()).toEqual([Math.floor(exact), Math.ceil(exact)])
})

it('plays two modes one after the other on the channels of both', () => {
  const [cga, mda] = [TIMINGS.cga80, TIMINGS.mda]
  const first = drawSignal(cga, drawPicture('text', cga), { frames: 1.3 })
  const second = drawSignal(mda, drawPicture('text', mda), { frames: 1.2, startFrames: 0.4 })
  const joined = joinSignals([first, second])
  expect(joined.channels).toEqual(['H', 'V', 'R', 'G', 'B', 'I', 'video'])
  for (let t = 1e-7; t < joined.durationSeconds; t += 31.7e-6) {
    const [part, time] = t < first.durationSeconds ? [first, t] : [second, t - first.durationSeconds]
    for (const [channel, name] of joined.channels.entries()) {
      const own = part.channels.indexOf(name)
      expect(levelAt(joined, channel, t)).toBe(own < 0 ? 0 : levelAt(part, own, time))
    }
  }
})

it('draws bystanders at their own rate', () => {
  const wave = drawSquareWave('CLK', 1e6, 1e-3)
  expect(Math.abs(wave.toggles[0]!.length - 2000)).toBeLessThanOrEqual(1)
  const bus = drawBus('pins', 3, 1e6, 1e-3)
  expect(bus.channels).toEqual(['pins[2]', 'pins[1]', 'pins[0]'])
  // of 999 steps about half change a bit; five standard errors are 79
  for (const times of bus.toggles) expect(Math.abs(times.length - 499.5)).toBeLessThan(79)
})
