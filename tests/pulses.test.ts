// Faults put into a drawn signal at known places are found, all of them and nothing else, with their kind, time and place.

import { describe, expect, it, test } from 'vitest'
import {
  BEGIN,
  defectOptions,
  expectedOf,
  placeOf,
  randomDefects,
  type Defect,
  type Expected,
} from './pulse-defects.ts'
import { capturePulses, drawSync, type Captured } from './pulses-of.ts'
import type { ScanlinePlace } from './support/card-scanlines.ts'
import type { DrawnSignal } from './support/draw-signal.ts'
import { newRandom } from './support/random.ts'
import { joinSignals } from './support/signal.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const RATES = [24e6, 100e6]
/** Both polarities of hsync: mda is positive, vga480 negative. */
const CARDS: readonly TimingKey[] = ['mda', 'vga480']
function expectFound(captured: Captured, expected: readonly Expected[], sampleRateHz: number): void {
  const { faults } = captured.pulses
  const text = (list: readonly { kind: string; lineCountError: number }[]): string[] =>
    list.map(({ kind, lineCountError }) => `${kind} ${lineCountError}`)
  expect(text(faults)).toEqual(text(expected))
  faults.forEach((fault, i) => {
    // an edge is seen up to a sample late; where none is, the loop may be half a sample off
    expect(Math.abs(fault.timeSeconds - expected[i]!.seconds) * sampleRateHz).toBeLessThan(1.5)
  })
}

const KINDS: readonly { name: string; make: (place: ScanlinePlace, sample: number) => Defect }[] = [
  {
    name: 'a spike in mid-scanline',
    make: (place, sample) => ({ kind: 'spike', place, after: 17e-6, width: 2.1 * sample }),
  },
  {
    name: 'a long spike in mid-scanline',
    make: (place) => ({ kind: 'spike', place, after: 12e-6, width: 3e-6 }),
  },
  {
    name: 'a spike just before the next pulse',
    make: (place, sample) => ({ kind: 'spike', place, after: 29e-6, width: 2.1 * sample }),
  },
  {
    name: 'ringing at the leading edge',
    make: (place, sample) => ({ kind: 'cut', place, after: 2.1 * sample, width: 2.1 * sample }),
  },
  {
    name: 'a cut that leaves the longer piece for last',
    make: (place, sample) => ({ kind: 'cut', place, after: 0.3e-6, width: 3 * sample }),
  },
  {
    name: 'bounce at the trailing edge',
    make: (place, sample) => ({ kind: 'spike', place, after: 8.6e-6, width: 2.1 * sample }),
  },
  { name: 'a missing pulse', make: (place) => ({ kind: 'missing', place }) },
  { name: 'a late pulse', make: (place, sample) => ({ kind: 'shift', place, seconds: 2.1 * sample }) },
  { name: 'a very late pulse', make: (place) => ({ kind: 'shift', place, seconds: 2e-6 }) },
  { name: 'an early pulse', make: (place, sample) => ({ kind: 'shift', place, seconds: -2.1 * sample }) },
  { name: 'a short pulse', make: (place) => ({ kind: 'resize', place, seconds: -2.6e-6 }) },
  { name: 'a narrower pulse', make: (place, sample) => ({ kind: 'resize', place, seconds: -2.1 * sample }) },
  { name: 'a wider pulse', make: (place, sample) => ({ kind: 'resize', place, seconds: 2.1 * sample }) },
]

function next({ frame, scanline }: ScanlinePlace, perFrame: number): ScanlinePlace {
  return scanline + 1 < perFrame ? { frame, scanline: scanline + 1 } : { frame: frame + 1, scanline: 0 }
}

/** In vsync, back to back, in frames before, within and after the first whole one. */
function places(perFrame: number): ScanlinePlace[] {
  return [
    { frame: 0, scanline: Math.ceil(0.6 * perFrame) },
    { frame: 1, scanline: 0 },
    { frame: 1, scanline: 1 },
    { frame: 1, scanline: 150 },
    { frame: 1, scanline: 151 },
    { frame: 1, scanline: 152 },
    { frame: 1, scanline: 153 },
    { frame: 1, scanline: 154 },
    { frame: 2, scanline: 0 },
    { frame: 2, scanline: perFrame - 1 },
    { frame: 3, scanline: 7 },
  ]
}

describe.each(RATES)('at %d samples a second', (sampleRateHz) => {
  describe.each(CARDS)('%s', (card) => {
    const perFrame = TIMINGS[card].v.total

    test.each(KINDS)('$name is found wherever it is put, and nothing else', ({ make }) => {
      const defects = places(perFrame).map((place) => make(place, 1 / sampleRateHz))
      for (const phase of [0.05, 0.55]) {
        const captured = capturePulses(drawSync(card, defectOptions(card, defects)), { sampleRateHz, phase })
        expectFound(captured, expectedOf(card, defects), sampleRateHz)
        // what comes after the middle of a scanline is given to the next one's pulse
        const scanlineSeconds = TIMINGS[card].h.total / TIMINGS[card].dotClockHz
        const isLate = 'after' in defects[0]! && defects[0].after > scanlineSeconds / 2
        expect(captured.pulses.faults.map(({ frame, scanline }) => ({ frame, scanline }))).toEqual(
          places(perFrame).map((place) => placeOf(isLate ? next(place, perFrame) : place, perFrame)),
        )
        expect(captured.pulses).toMatchObject({ oddFrames: 0, phaseBreaks: 0, usualScanlines: perFrame })
      }
    })

    test.each(Array.from({ length: 12 }, (_, seed) => seed))('mixed by chance, seed %d', (seed) => {
      const random = newRandom(seed + 1)
      const defects = randomDefects(random, perFrame, 1 / sampleRateHz)
      const signal = drawSync(card, defectOptions(card, defects))
      const captured = capturePulses(signal, { sampleRateHz, phase: random.uniform() })
      expectFound(captured, expectedOf(card, defects), sampleRateHz)
      expectCountsToAgree(captured, perFrame)
    })

    test.each([1, 2, 3])('in the first and the last scanlines: pulse %d of the capture', (which) => {
      const first = Math.floor(BEGIN.startFrames * perFrame) + 1
      const last = Math.floor((BEGIN.startFrames + BEGIN.frames) * perFrame)
      for (const { name, make } of KINDS) {
        const from = { frame: 0, scanline: first + which - 1 }
        const to = { frame: Math.floor(last / perFrame), scanline: (last % perFrame) - which }
        const defects = [make(from, 1 / sampleRateHz), make(to, 1 / sampleRateHz)]
        const captured = capturePulses(drawSync(card, defectOptions(card, defects)), {
          sampleRateHz,
          phase: 0.3,
        })
        expect({ name, faults: captured.pulses.faults.map(({ kind }) => kind) }).toEqual({
          name,
          faults: expectedOf(card, defects).map(({ kind }) => kind),
        })
        expectFound(captured, expectedOf(card, defects), sampleRateHz)
      }
    })
  })
})

/** The sum that a person can do by hand: edges counted = scanlines + gains - losses. */
function expectCountsToAgree({ pulses }: Captured, perFrame: number): void {
  expect(pulses.frames.length).toBe(2)
  for (const { frame, scanlines, countedEdges } of pulses.frames) {
    const errors = pulses.faults.filter((fault) => fault.frame === frame)
    expect(scanlines).toBe(perFrame)
    expect(countedEdges).toBe(perFrame + errors.reduce((sum, { lineCountError }) => sum + lineCountError, 0))
  }
}

describe('runs of pulses that come late', () => {
  const run = (length: number, seconds: number): Defect[] =>
    Array.from({ length }, (_, i) => ({ kind: 'shift', place: { frame: 2, scanline: 100 + i }, seconds }))

  test.each([1, 2, 5, 6, 7, 12, 20])('%d in a row are as many faults', (length) => {
    for (const seconds of [1e-6, -0.4e-6]) {
      const defects = run(length, seconds)
      const captured = capturePulses(drawSync('mda', defectOptions('mda', defects)), {
        sampleRateHz: 24e6,
        phase: 0.2,
      })
      expectFound(captured, expectedOf('mda', defects), 24e6)
      expect(captured.pulses.frames).toMatchObject([{ countedEdges: 370 }, { countedEdges: 370 }])
    }
  })

  test.each([5, 6, 7, 20])('so are %d of another width', (length) => {
    const defects = run(length, 0).map(({ place }): Defect => ({ kind: 'resize', place, seconds: 1.5e-6 }))
    const captured = capturePulses(drawSync('mda', defectOptions('mda', defects)), {
      sampleRateHz: 24e6,
      phase: 0.2,
    })
    expectFound(captured, expectedOf('mda', defects), 24e6)
  })
})

describe('what is no fault of a pulse', () => {
  const clean = { extra: 0, missing: 0, short: 0, early: 0, late: 0, width: 0 }
  const capture = (signal: DrawnSignal | ReturnType<typeof joinSignals>): Captured =>
    capturePulses(signal, { sampleRateHz: 50e6, phase: 0.3 })

  it('a frame that the card itself made shorter or longer', () => {
    const shorter = capture(drawSync('cga80', { ...BEGIN, droppedScanlines: [{ frame: 2, scanline: 90 }] }))
    expect(shorter.pulses).toMatchObject({ faultCounts: clean, oddFrames: 1, usualScanlines: 262 })
    expect(shorter.pulses.frames).toMatchObject([
      { scanlines: 262, countedEdges: 262 },
      { scanlines: 261, countedEdges: 261 },
    ])
    const longer = capture(drawSync('cga80', { ...BEGIN, extraScanlines: [{ frame: 1, scanline: 90 }] }))
    expect(longer.pulses).toMatchObject({ faultCounts: clean, oddFrames: 1 })
  })

  it('another mode: it is another segment', () => {
    const pairs: [TimingKey, TimingKey][] = [
      ['cga80', 'ega350with364'],
      ['mda', 'mono348'],
      ['cgaGraphics', 'cga80'],
      ['vga480', 'vga400'],
      ['vgaText400', 'vga480'],
      ['vga400', 'mda'],
    ]
    for (const [from, to] of pairs) {
      const parts = [from, to].map((key) => drawSync(key as TimingKey, { frames: 3.317, startFrames: 0.613 }))
      const { measurement } = capture(joinSignals(parts))
      expect({ from, to, segments: measurement.segments.map(({ faults }) => faults) }).toEqual({
        from,
        to,
        segments: [clean, clean],
      })
    }
  })

  it('hsync that stops in vsync in every frame', () => {
    const { pulses } = capture(drawSync('cga80', { ...BEGIN, hsyncAbsentInVsync: true }))
    expect(pulses).toMatchObject({ faultCounts: clean, oddFrames: 0, miscounted: { gained: 0, lost: 0 } })
  })

  it('a cut of the capture anywhere', () => {
    for (let cut = 0; cut < 1; cut += 0.043) {
      const { pulses } = capture(drawSync('cga80', { startFrames: 0.9 + cut / 200, frames: 1.2 + cut }))
      expect({ cut, ...pulses.faultCounts }).toEqual({ cut, ...clean })
    }
  })
})

it('says so where the scanlines go on in another phase', () => {
  const parts = [0.1, 0.6014].map((startFrames) => drawSync('cga80', { startFrames, frames: 1.5 }))
  const { pulses, measurement } = capturePulses(joinSignals(parts), { sampleRateHz: 24e6 })
  expect(measurement.segments.length).toBe(1)
  expect(pulses.phaseBreaks).toBe(1)
})

describe('noise before the first pulse', () => {
  it('is told, and does not lead astray', () => {
    const spike = (seconds: number): object => ({ channel: 'H', at: { seconds }, widthSeconds: 1e-6 })
    const signal = drawSync('cga80', {
      startFrames: 1.001,
      frames: 2,
      missingHsync: [{ frame: 1, scanline: 2 }],
      spikes: [spike(5e-6), spike(35e-6)] as never,
    })
    const { pulses } = capturePulses(signal, { sampleRateHz: 24e6 })
    expect(pulses.faults.map(({ kind }) => kind)).toEqual(['extra', 'extra', 'missing'])
    // nothing true came before them: they say nothing of how long a hold-off must be
    expect(pulses.remedy?.holdOffSeconds?.min).toBeLessThan(1e-6)
  })
})
