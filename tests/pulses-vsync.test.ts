// Faults of vsync, and of both syncs on one wire.

import { describe, expect, it, test } from 'vitest'
import { measurePulses } from '../src/measure-pulses.ts'
import { capturePulses, drawSync, type Captured } from './pulses-of.ts'
import type { CompositeKind } from './support/composite-sync.ts'
import type { DrawOptions } from './support/draw-signal.ts'
import { joinSignals, type Signal } from './support/signal.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const RATES = [24e6, 100e6]
/** vsync is positive, negative; long, short. */
const CARDS: readonly TimingKey[] = ['cga80', 'mda', 'vga400', 'vga480']

interface Found {
  kind: string
  channel: string
  frame: number
  scanline: number
}

function found({ pulses }: Captured): Found[] {
  return pulses.faults.map(({ kind, channel, frame, scanline }) => ({ kind, channel, frame, scanline }))
}

it('edges and scanlines of frames when their length changes, and scanlines keep their time', () => {
  const part = (card: TimingKey, startFrames: number): Signal => drawSync(card, { startFrames, frames: 4 })
  const joined = joinSignals([part('ega350with366', 0.4), part('ega350with364', 0.4)])
  const { measurement } = capturePulses(joined, { sampleRateHz: 24e6, phase: 0.3 })
  const frames = measurement.segments.map((segment) => measurePulses(measurement, segment).frames)
  expect(frames.flat().map(({ scanlines, countedEdges }) => Math.round(scanlines) - countedEdges)).toEqual(
    frames.flat().map(() => 0),
  )
  // one of them begins in the first part and ends in the second
  expect(frames.map((list) => list.length)).toEqual([4, 3])
  // the first segment lasts until the first vsync of the second part, 0.6 frames after this began
  const [first, second] = measurement.segments.map(({ sync }) => sync.scanlines)
  expect(Math.abs(first! - (4 * 366 + 0.6 * 364))).toBeLessThan(2)
  expect(Math.abs(first! + second! - 4 * (366 + 364))).toBeLessThan(2)
})

describe.each(RATES)('vsync at %d samples a second', (sampleRateHz) => {
  describe.each(CARDS)('%s', (card) => {
    const { v, h, dotClockHz } = TIMINGS[card]
    const scanlineSeconds = h.total / dotClockHz
    // the measurement's frame 0 is the card's frame 1
    const capture = (options: Partial<DrawOptions>, frames = 6.3): Captured =>
      capturePulses(drawSync(card, { startFrames: 0.4, frames, ...options }), { sampleRateHz, phase: 0.3 })
    const spike = (frame: number, scanline: number, widthSeconds: number): DrawOptions => ({
      frames: 6.3,
      spikes: [{ channel: 'V', at: { frame, scanline, dot: 0.6 * h.total }, widthSeconds }],
    })

    it('a missing pulse', () => {
      const captured = capture({ missingVsync: [{ frame: 3 }] })
      expect(found(captured)).toEqual([{ kind: 'missing', channel: 'vsync', frame: 1, scanline: v.total }])
      expect(captured.pulses).toMatchObject({ usualScanlines: v.total, oddFrames: 1 })
      expect(captured.pulses.frames.map(({ scanlines }) => scanlines)).toEqual(
        [1, 2, 1, 1].map((n) => n * v.total),
      )
      const at = (3 - 0.4) * v.total * scanlineSeconds + TIMINGS[card].vsyncOffsetDots / dotClockHz
      expect(Math.abs(captured.pulses.faults[0]!.timeSeconds - at) * sampleRateHz).toBeLessThan(3)
    })

    it('several missing, the first and the last one too', () => {
      const several = capture({ missingVsync: [{ frame: 2 }, { frame: 4 }, { frame: 5 }] }, 8.3)
      expect(found(several).map(({ kind }) => kind)).toEqual(['missing', 'missing', 'missing'])
      expect(several.measurement.segments.length).toBe(1)
      const ends = capture({ missingVsync: [{ frame: 1 }, { frame: 6 }] })
      expect(found(ends).map(({ kind, channel }) => `${kind} ${channel}`)).toEqual([
        'missing vsync',
        'missing vsync',
      ])
    })

    it('a pulse that comes early or late', () => {
      for (const scanlines of [-3, -0.2, 0.2, 4]) {
        const captured = capture({ shiftedVsync: [{ frame: 3, scanlines }] })
        expect(found(captured)).toMatchObject([{ kind: scanlines < 0 ? 'early' : 'late', channel: 'vsync' }])
        const [fault] = captured.pulses.faults
        expect(Math.abs(fault!.offsetSeconds - scanlines * scanlineSeconds) * sampleRateHz).toBeLessThan(3)
        expect(fault).toMatchObject({ cause: 'displaced', lineCountError: 0 })
      }
    })

    it('a short pulse, and a longer one', () => {
      const short = capture({ resizedVsync: [{ frame: 3, scanlines: -0.65 * v.sync }] })
      expect(found(short)).toEqual([{ kind: 'short', channel: 'vsync', frame: 2, scanline: 0 }])
      const long = capture({ resizedVsync: [{ frame: 3, scanlines: Math.max(2, 0.2 * v.sync) }] })
      expect(found(long)).toEqual([{ kind: 'width', channel: 'vsync', frame: 2, scanline: 0 }])
    })

    it('a narrow spike anywhere in the frame', () => {
      for (const scanline of [v.sync + 3, 100, v.total - 2]) {
        const captured = capture(spike(3, scanline, 2.2 / sampleRateHz))
        expect(found(captured)).toMatchObject([{ kind: 'extra', channel: 'vsync', frame: 2 }])
        expect(captured.pulses).toMatchObject({
          oddFrames: 0,
          miscounted: { gained: 0, lost: 0 },
          remedy: null,
        })
      }
    })

    it('a spike that is as long as scanlines, and splits a frame for whoever counts', () => {
      const captured = capture(spike(3, 100, 0.8 * scanlineSeconds))
      expect(found(captured)).toMatchObject([{ kind: 'extra', channel: 'vsync' }])
      expect(captured.pulses).toMatchObject({ usualScanlines: v.total, oddFrames: 2 })
      expect(captured.measurement.segments.length).toBe(1)
      const { holdOffSeconds } = captured.pulses.vsyncRemedy!
      const frameSeconds = v.total * scanlineSeconds
      expect(holdOffSeconds!.min).toBeGreaterThan(100 * scanlineSeconds)
      expect(holdOffSeconds!.min).toBeLessThan(102 * scanlineSeconds)
      expect(holdOffSeconds!.max / frameSeconds).toBeCloseTo(1, 3)
    })

    it('a wide false pulse tells nothing of the width of the true ones', () => {
      const { widthScanlines, widthSeconds } = capture(spike(3, 100, 1.4 * scanlineSeconds)).measurement.main
        .vsync!
      expect(Math.abs(widthScanlines - v.sync) * scanlineSeconds * sampleRateHz).toBeLessThan(1)
      expect(Math.abs(widthSeconds.value - v.sync * scanlineSeconds)).toBeLessThan(
        4 * widthSeconds.uncertainty,
      )
    })

    it('a pulse cut in two', () => {
      const captured = capture(spike(3, 0, 1e-6))
      expect(found(captured)).toMatchObject([{ kind: 'extra', channel: 'vsync', frame: 2 }])
      expect(captured.pulses).toMatchObject({ oddFrames: 0, usualScanlines: v.total })
    })

    it('nothing where the card changes the length of a frame', () => {
      const captured = capture({
        droppedScanlines: [
          { frame: 2, scanline: 100 },
          { frame: 4, scanline: 90 },
        ],
      })
      expect(found(captured)).toEqual([])
      expect(captured.pulses.oddFrames).toBe(2)
    })
  })
})

it('finds vsync that rings where it begins and where it ends', () => {
  const { h } = TIMINGS.cga80
  const spikes = [
    { channel: 'V', at: { frame: 2, scanline: 0, dot: 192 + 0.02 * h.total }, widthSeconds: 300e-9 },
    { channel: 'V', at: { frame: 3, scanline: 16, dot: 192 + 0.02 * h.total }, widthSeconds: 300e-9 },
  ]
  const captured = capturePulses(drawSync('cga80', { startFrames: 0.4, frames: 4.2, spikes }), {
    sampleRateHz: 24e6,
  })
  expect(captured.pulses.faults.map(({ kind, cause }) => `${kind} ${cause}`)).toEqual([
    'extra ringing',
    'extra bounce',
  ])
})

const KINDS: readonly CompositeKind[] = ['xor', 'or', 'serrated']

describe.each(KINDS)('composite sync, %s', (kind) => {
  const card = TIMINGS.cga80
  const capture = (
    options: Partial<DrawOptions>,
    sampleRateHz = 24e6,
    polarity: 'positive' | 'negative' = 'negative',
  ): Captured =>
    capturePulses(
      drawSync('cga80', { startFrames: 0.4, frames: 4.3, composite: { kind, polarity }, ...options }),
      {
        sampleRateHz,
        phase: 0.3,
      },
    )
  const place = { frame: 2, scanline: 100 }
  const at = (dot: number, scanline = 100): DrawOptions['spikes'] & object => [
    { channel: 'CSYNC', at: { frame: 2, scanline, dot }, widthSeconds: 300e-9 },
  ]

  test.each([
    ['extra', { spikes: at(300) }, 1],
    ['extra', { spikes: at(110) }, 1],
    ['extra', { spikes: at(30) }, 1],
    ['missing', { missingHsync: [place] }, -1],
    ['late', { shiftedHsync: [{ ...place, seconds: 1e-6 }] }, 0],
    ['early', { shiftedHsync: [{ ...place, seconds: -0.3e-6 }] }, 0],
    ['short', { resizedHsync: [{ ...place, seconds: -3.6e-6 }] }, 0],
    ['width', { resizedHsync: [{ ...place, seconds: 0.4e-6 }] }, 0],
  ] as const)('%s (%j)', (fault, options, lineCountError) => {
    for (const sampleRateHz of RATES) {
      for (const polarity of ['positive', 'negative'] as const) {
        const captured = capture(options, sampleRateHz, polarity)
        expect(found(captured)).toEqual([{ kind: fault, channel: 'csync', frame: 1, scanline: 100 }])
        expect(captured.pulses.faults[0]!.lineCountError).toBe(lineCountError)
        const [clean, touched] = captured.pulses.frames
        expect(touched!.countedEdges - clean!.countedEdges).toBe(lineCountError)
      }
    }
  })

  it('spikes near vsync, but not in it', () => {
    for (const scanline of [18, 20, 22, card.v.total - 6]) {
      const captured = capture({ spikes: at(250, scanline) })
      expect(found(captured)).toEqual([{ kind: 'extra', channel: 'csync', frame: 1, scanline }])
    }
  })

  it('nothing on a clean one, however it is cut', () => {
    for (let begin = 0; begin < 1; begin += 0.061) {
      const captured = capture({ startFrames: begin, frames: 1.1 + begin })
      expect(found(captured)).toEqual([])
      expect(captured.pulses).toMatchObject({ oddFrames: 0, phaseBreaks: 0, remedy: null, vsyncRemedy: null })
    }
  })

  it('a filter for hsync between the vsyncs', () => {
    const { remedy } = capture({ spikes: [...at(300), ...at(350, 120), ...at(30, 150)] }).pulses
    expect(remedy!.holdOffSeconds!.min).toBeGreaterThan(350 / card.dotClockHz)
    expect(remedy!.holdOffSeconds!.max).toBeLessThan(card.h.total / card.dotClockHz)
    expect(remedy!.minimumPulseSeconds!.min).toBeGreaterThan(300e-9)
  })
})
