// The bytes as a whole: repeatable, streamed, read back by the readers, and told in the summary.

import { describe, expect, it, test } from 'vitest'
import type { CaptureHeader } from '../../src/capture/capture-header.ts'
import { VcdReader } from '../../src/capture/vcd-reader.ts'
import { standardById } from '../../src/classify/standards.ts'
import { CaptureError } from '../../src/errors.ts'
import { NoticeList } from '../../src/notices.ts'
import { CAPTURE_FORMS, COMPOSITE_KINDS } from '../../src/signal/choices.ts'
import type { SignalJitter } from '../../src/signal/jitter.ts'
import { signalTiming, type TimingChanges } from '../../src/signal/signal-timing.ts'
import { CaptureSynthesizer, type SynthesisOptions } from '../../src/signal/synthesize.ts'
import { smallCapture } from '../support/small-captures.ts'
import { made, measured, textOf, tinyTiming } from './small-signals.ts'

const busy: Partial<SynthesisOptions> = {
  jitter: {
    randomSeconds: 2e-9,
    wander: { seconds: 3e-9, hertz: 200 },
    periodic: { seconds: 2e-9, hertz: 900 },
  },
  defects: [
    { kind: 'ringing', edge: 'trailing', delaySeconds: 350e-9, widthSeconds: 200e-9, where: { share: 0.02 } },
    { kind: 'spike', widthSeconds: 100e-9, where: { count: 3 } },
  ],
}

describe('the bytes', () => {
  test.each(CAPTURE_FORMS)('are the same for the same options: %s', (form) => {
    const [first, again] = [made('cga-200', { ...busy, form }), made('cga-200', { ...busy, form })]
    expect(Buffer.concat(first.chunks).equals(Buffer.concat(again.chunks))).toBe(true)
    expect(again.summary).toEqual(first.summary)
  })

  it('are the same when one synthesizer is asked twice', () => {
    const { timing, picture } = made('cga-200')
    const synthesizer = new CaptureSynthesizer({ timing, picture, sampleRateHz: 24e6, frames: 2, ...busy })
    expect(() => synthesizer.summary).toThrow(RangeError)
    const first = textOf([...synthesizer.chunks()])
    expect(textOf([...synthesizer.chunks()])).toBe(first)
    expect(synthesizer.summary.defects.length).toBeGreaterThan(3)
  })

  it('differ by the seed, and so do the places that chance chose', () => {
    const [one, two] = [made('cga-200', { ...busy, seed: 1 }), made('cga-200', { ...busy, seed: 2 })]
    expect(textOf(one.chunks)).not.toBe(textOf(two.chunks))
    expect(one.summary.defects).not.toEqual(two.summary.defects)
  })

  it('come in chunks while the signal is made, not at its end', () => {
    const { timing, picture } = made('cga-200')
    const synthesizer = new CaptureSynthesizer({ timing, picture, sampleRateHz: 24e6, frames: 100_000 })
    const chunks = synthesizer.chunks()
    const first = chunks.next().value!
    chunks.return()
    expect(first.length).toBeGreaterThan(10_000)
    expect(first.length).toBeLessThanOrEqual(64 * 1024)
  })

  it('leave jitter alone when a defect is added', () => {
    const times = (options: Partial<SynthesisOptions>): string[] =>
      textOf(made('cga-200', { jitter: { randomSeconds: 20e-9 }, ...options }).chunks).match(/^#\d+$/gm)!
    const plain = new Set(times({}))
    const spiked = times({ defects: [{ kind: 'spike', widthSeconds: 100e-9, where: { count: 2 } }] })
    expect(spiked.filter((time) => !plain.has(time)).length).toBeLessThanOrEqual(4)
  })
})

describe('a VCD', () => {
  it('is read without a notice, and holds the transitions that the summary counts', () => {
    const { chunks, summary } = made('ega-350', { frames: 1.2 })
    const notices = new NoticeList()
    let header: CaptureHeader | undefined
    let rows = 0
    const reader = new VcdReader({
      notices,
      onHeader: (found) => (header = found),
      sink: ({ count }) => (rows += count),
    })
    for (const chunk of chunks) reader.write(chunk)
    const extent = reader.end()
    expect(notices.list()).toEqual([])
    expect(header!.channels.map(({ name }) => name)).toEqual(summary.channels.map(({ name }) => name))
    // the first levels of all channels, then the changes
    expect(rows).toBe(summary.channels.length + summary.transitions)
    expect((extent.lastTick - extent.firstTick) * header!.secondsPerTick!).toBeCloseTo(
      (summary.samples - 1) / 24e6,
      9,
    )
  })

  it('has nanoseconds where samples lie on them, else picoseconds', () => {
    expect(textOf(made('cga-200', { sampleRateHz: 50e6 }).chunks)).toContain('$timescale 1 ns $end')
    expect(textOf(made('cga-200', { sampleRateHz: 24e6 }).chunks)).toContain('$timescale 1 ps $end')
  })
})

describe('every form', () => {
  test.each(CAPTURE_FORMS)('%s is measured as the same signal', (form) => {
    const { main, sampleIntervalSeconds, notices } = measured(made('cga-200', { form }).chunks)
    expect(notices).toEqual([])
    expect(main.classification.standard?.id).toBe('cga-200')
    expect(main.raster).toMatchObject({ dotsPerScanline: 912, scanlinesPerFrame: 262 })
    expect(sampleIntervalSeconds! * 24e6).toBeCloseTo(1, 4)
    expect(main.hsync.frequencyHz.value).toBeCloseTo(15_699.76, 1)
  })

  test.each(COMPOSITE_KINDS.flatMap((kind) => [['ega-350', kind] as const, ['bbc-256i', kind] as const]))(
    '%s with %s sync is taken apart',
    (mode, composite) => {
      const { main, channels } = measured(made(mode, { composite, frames: 3.2 }).chunks)
      expect(channels[0]).toEqual({ name: 'CSYNC', role: 'csync' })
      expect(main.classification.standard?.id).toBe(mode)
      const { dotsPerScanline, scanlinesPerFrame } = standardById(mode)!
      expect(main.raster).toMatchObject({ dotsPerScanline, scanlinesPerFrame })
      expect(Object.values(main.faults).every((count) => count === 0)).toBe(true)
    },
  )
})

it('is measured as the captures of the independent generator are', () => {
  const ours = measured(made('cga-200', { frames: 2.2, startPhase: 0.4 }).chunks).main
  const theirs = measured([smallCapture('cga80')]).main
  for (const part of ['dotsPerScanline', 'scanlinesPerFrame', 'interlaced'] as const) {
    expect(ours.raster[part]).toBe(theirs.raster[part])
  }
  expect(ours.active).toEqual(theirs.active)
  expect(ours.hsync.polarity).toBe(theirs.hsync.polarity)
  expect(ours.vsync!.widthScanlines).toBeCloseTo(theirs.vsync!.widthScanlines, 2)
  expect(ours.hsync.frequencyHz.value / theirs.hsync.frequencyHz.value).toBeCloseTo(1, 6)
  expect(ours.classification.standard?.id).toBe(theirs.classification.standard?.id)
})

describe('jitter', () => {
  /** Errors of hsync's leading edges against even spacing, in seconds. */
  function errors(jitter: SignalJitter, frames = 4): number[] {
    const { chunks } = made('cga-200', { chart: 'bars', sampleRateHz: 10e9, frames, jitter, startPhase: 0.1 })
    const [ticks, period] = [[] as number[], 912 / (157.5e6 / 11)]
    let now = 0
    for (const text of textOf(chunks).split('$enddefinitions $end\n')[1]!.split('\n')) {
      if (text.startsWith('#')) now = Number(text.slice(1))
      else if (text === '1!' && now > 0) ticks.push(now)
    }
    expect(ticks.length).toBeGreaterThan(900)
    const off = ticks.map((tick, n) => tick * 1e-12 - n * period)
    const mean = off.reduce((sum, x) => sum + x, 0) / off.length
    return off.map((x) => x - mean)
  }
  const rms = (values: readonly number[]): number =>
    Math.sqrt(values.reduce((sum, x) => sum + x * x, 0) / values.length)

  it('is nil unless asked for', () => {
    // a sample of 100 ps, uniform
    expect(rms(errors({}))).toBeLessThan(0.1e-9)
  })

  it('is as large as asked for: random', () => {
    const off = errors({ randomSeconds: 5e-9 })
    // standard deviation of a standard deviation: 1 / sqrt(2 n), n = 1000: 2.2 %; four times that
    expect(rms(off) / 5e-9).toBeCloseTo(1, 0)
    expect(Math.abs(rms(off) / 5e-9 - 1)).toBeLessThan(0.09)
    const steps = off.slice(1).map((x, i) => x - off[i]!)
    // neighbours know nothing of each other
    expect(Math.abs(rms(steps) / (5e-9 * Math.SQRT2) - 1)).toBeLessThan(0.1)
  })

  it('is as large as asked for, and as slow: wander', () => {
    const off = errors({ wander: { seconds: 20e-9, hertz: 200 } }, 40)
    expect(rms(off) / 20e-9).toBeGreaterThan(0.7)
    expect(rms(off) / 20e-9).toBeLessThan(1.3)
    const steps = off.slice(1).map((x, i) => x - off[i]!)
    // first-order low-pass: correlation from scanline to scanline is exp(-2 pi f T), T = 63.7 us
    const expected = Math.sqrt(2 * (1 - Math.exp(-2 * Math.PI * 200 * 63.7e-6)))
    expect(rms(steps) / 20e-9).toBeGreaterThan(0.85 * expected)
    expect(rms(steps) / 20e-9).toBeLessThan(1.15 * expected)
  })

  it('is a tone of the frequency asked for: periodic', () => {
    const off = errors({ periodic: { seconds: 30e-9, hertz: 500 } })
    const at = (hertz: number): number => {
      const [cos, sin] = [Math.cos, Math.sin].map((wave) =>
        off.reduce((sum, x, n) => sum + x * wave((2 * Math.PI * hertz * n * 912) / (157.5e6 / 11)), 0),
      ) as [number, number]
      return (2 * Math.hypot(cos, sin)) / off.length
    }
    expect(at(500) / 30e-9).toBeCloseTo(1, 1)
    expect(at(800)).toBeLessThan(3e-9)
  })
})

describe('what cannot be made', () => {
  const refused = (make: () => unknown): string => {
    try {
      make()
    } catch (error) {
      expect(error).toBeInstanceOf(CaptureError)
      const { code, message, hint } = error as CaptureError
      expect(code).toBe('SYNTHESIS_IMPOSSIBLE')
      expect(hint).toMatch(/\S/)
      return message
    }
    throw new Error('it was made')
  }

  test.each<[string, Partial<SynthesisOptions>]>([
    ['no rate', { sampleRateHz: 0 }],
    ['a rate that is no number', { sampleRateHz: NaN }],
    ['no frames', { frames: 0 }],
    ['fewer frames than none', { frames: -1 }],
    ['less than a sample', { frames: 1e-12 }],
    ['a start beyond the frame', { startPhase: 1 }],
    ['a clock that is none', { clockErrorPpm: 2e5 }],
    ['half a seed', { seed: 0.5 }],
    ['skew of a scanline and more', { skewSeconds: { R: 1e-4 } }],
    ['skew of a channel that is not there', { skewSeconds: { R0: 1e-9 } }],
    ['jitter that turns scanlines round', { jitter: { wander: { seconds: 20e-6, hertz: 10 } } }],
    ['jitter of no frequency', { jitter: { periodic: { seconds: 1e-9, hertz: 0 } } }],
  ])('is refused with a hint: %s', (_, options) => {
    refused(() => made('cga-200', options))
  })

  test.each<[string, string | null, TimingChanges]>([
    ['a mode that is none', 'cga-2000', {}],
    ['no timing at all', null, {}],
    ['half of a timing', null, { dotClockHz: 16e6, horizontal: tinyTiming().horizontal }],
    ['no sync', null, { ...tinyTiming(), vertical: { active: 8, frontPorch: 2, sync: 0, backPorch: 4 } }],
    [
      'half a dot',
      null,
      { ...tinyTiming(), horizontal: { active: 8.5, frontPorch: 2, sync: 2, backPorch: 4 } },
    ],
    [
      'half a scanline',
      null,
      { ...tinyTiming(), vertical: { active: 8, frontPorch: 2.5, sync: 2, backPorch: 4 } },
    ],
    ['two whole fields', null, { ...tinyTiming(), interlaced: true }],
    [
      'more sync than picture',
      null,
      { ...tinyTiming(), horizontal: { active: 8, frontPorch: 2, sync: 14, backPorch: 4 } },
    ],
    ['a dot clock of light', null, { ...tinyTiming(), dotClockHz: 1e15 }],
    [
      'a scanline without end',
      'cga-200',
      { horizontal: { active: 1e6, frontPorch: 2, sync: 2, backPorch: 4 } },
    ],
  ])('is refused with a hint: %s', (_, id, changes) => {
    refused(() => signalTiming(id, changes))
  })

  it('is a mistake of the caller where the picture does not fit', () => {
    const { picture } = made('cga-200', { frames: 0.1 })
    expect(() => made('ega-350', { picture })).toThrow(RangeError)
  })
})
