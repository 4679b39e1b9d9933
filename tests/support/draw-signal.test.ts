import { describe, expect, it } from 'vitest'

import { scanlinesPerFrame } from './card-scanlines.ts'
import { drawSignal } from './draw-signal.ts'
import type { DrawnSignal } from './draw-signal.ts'
import { drawPicture } from './pictures.ts'
import { channelNumber, levelAt } from './signal.ts'
import type { Signal } from './signal.ts'
import { ALL_TIMINGS, TIMINGS } from './timings.ts'

/** [leading, trailing] seconds of the pulses that begin and end in the window. */
function pulses(signal: Signal, name: string, polarity: 'positive' | 'negative'): [number, number][] {
  const channel = channelNumber(signal, name)
  const times = signal.toggles[channel]!
  const active = polarity === 'positive' ? 1 : 0
  const found: [number, number][] = []
  for (let i = signal.startLevels[channel] === active ? 1 : 0; i + 1 < times.length; i += 2)
    found.push([times[i]!, times[i + 1]!])
  return found
}

/** Half a scanline into the frame's last one, so that no edge lies on the window's border. */
const BEFORE_VSYNC = 0.9985

const mda = TIMINGS.mda
const mdaScanline = mda.h.total / mda.dotClockHz
const mdaDark = drawPicture('dark', mda)
const drawMda = (options: Partial<Parameters<typeof drawSignal>[2]>): DrawnSignal =>
  drawSignal(mda, mdaDark, { frames: 1, startFrames: BEFORE_VSYNC, ...options })

describe.each(ALL_TIMINGS)('$name', (timing) => {
  const picture = drawPicture('dither', timing, 9)
  const signal = drawSignal(timing, picture, { frames: 1.01, startFrames: BEFORE_VSYNC })
  const scanline = timing.h.total / timing.dotClockHz
  const perFrame = scanlinesPerFrame(timing)

  it('puts a frame’s number of hsync pulses of the right width between two vsyncs', () => {
    const hsync = pulses(signal, 'H', timing.hsyncPolarity)
    const begins = signal.truth.vsyncSeconds
    expect(begins.length).toBe(timing.interlaced === true ? 3 : 2)
    const first = begins[0]! - (timing.vsyncOffsetDots + 0.5) / timing.dotClockHz
    const last = begins.at(-1)! - (timing.vsyncOffsetDots + 0.5) / timing.dotClockHz
    expect(hsync.filter(([leading]) => leading > first && leading < last).length).toBe(perFrame)
    for (const [leading, trailing] of hsync)
      expect((trailing - leading) * timing.dotClockHz).toBeCloseTo(timing.h.sync, 3)
    for (let i = 1; i < hsync.length; i++)
      expect((hsync[i]![0] - hsync[i - 1]![0]) / scanline).toBeCloseTo(1, 6)
  })

  it('makes vsync as many scanlines wide as the row says', () => {
    const vsync = pulses(signal, 'V', timing.vsyncPolarity)
    expect(vsync.length).toBeGreaterThan(0)
    for (const [leading, trailing] of vsync)
      expect((trailing - leading) / scanline).toBeCloseTo(timing.v.sync, 6)
  })

  it('shows the picture where the porches put it', () => {
    const frame = signal.truth.wholeFrames[0]!
    expect(frame.scanlines).toBe(perFrame)
    const { h, v } = timing
    const colours = timing.channels.map((name) => channelNumber(signal, name))
    let wrong = 0
    for (let row = 0; row < picture.heightScanlines; row += 7) {
      // rows of the second field come a whole 262.5 scanlines later, rounded up
      const inField = timing.interlaced === true ? row >> 1 : row
      const field = timing.interlaced === true && row % 2 === 1 ? Math.ceil(v.total) : 0
      const number = field + Math.floor(v.sync + v.backPorch) + inField
      for (let x = -1; x <= picture.widthDots; x++) {
        const inside = x >= 0 && x < picture.widthDots
        const expected = inside ? picture.codes[row * picture.widthDots + x]! : 0
        const middle = (number * h.total + h.sync + h.backPorch + x + 0.5) / timing.dotClockHz
        let code = 0
        colours.forEach((channel, bit) => (code |= levelAt(signal, channel, frame.seconds + middle) << bit))
        if (code !== expected) wrong++
      }
    }
    expect(wrong).toBe(0)
  })
})

describe('the window', () => {
  it('shows the same levels wherever it begins', () => {
    const picture = drawPicture('text-full', TIMINGS.cga80)
    const whole = drawSignal(TIMINGS.cga80, picture, { frames: 2.6 })
    const late = drawSignal(TIMINGS.cga80, picture, { frames: 1.4, startFrames: 1.1234 })
    const offset = 1.1234 / whole.truth.frameHz
    for (let channel = 0; channel < whole.channels.length; channel++) {
      // an odd step, so that every part of the scanline is met
      for (let t = 1e-7; t < late.durationSeconds; t += 17.3e-6)
        expect(levelAt(late, channel, t)).toBe(levelAt(whole, channel, t + offset))
    }
    expect(late.truth.wholeFrames.map(({ scanlines }) => scanlines)).toEqual([])
    expect(late.truth.vsyncSeconds.length).toBe(1)
  })

  it('can be less than a frame', () => {
    const { durationSeconds, truth } = drawSignal(mda, mdaDark, { frames: 0.4, startFrames: 0.2 })
    expect(durationSeconds).toBeCloseTo(0.4 / truth.frameHz, 9)
    expect(truth.vsyncSeconds.length).toBe(0)
    expect(Math.abs(truth.scanlineSeconds.length - 0.4 * mda.v.total)).toBeLessThan(1)
  })
})

describe('defects', () => {
  it('scatters hsync edges by the given deviation and leaves vsync alone', () => {
    const sigma = 20e-9
    const { truth, ...signal } = drawMda({ hsyncJitterSeconds: sigma, frames: 3 })
    const hsync = pulses(signal, 'H', 'positive')
    const errors = hsync.map(([leading]) => leading - nearest(truth.scanlineSeconds, leading))
    const rms = Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length)
    // five standard errors of a standard deviation, sigma / sqrt(2 n)
    expect(Math.abs(rms / sigma - 1)).toBeLessThan(5 / Math.sqrt(2 * errors.length))
    const plain = drawMda({ frames: 3 })
    expect(signal.toggles[1]).toEqual(plain.toggles[1])
  })

  it('moves every channel of a scanline together when the card jitters', () => {
    const picture = drawPicture('rectangle', mda)
    const signal = drawSignal(mda, picture, { frames: 0.9, startFrames: 0.1, cardJitterSeconds: 30e-9 })
    const hsync = pulses(signal, 'H', 'positive').map(([leading]) => leading)
    const left = pulses(signal, 'video', 'positive')
      .filter(([leading, trailing]) => (trailing - leading) * mda.dotClockHz < 1.5)
      .map(([leading]) => leading)
    const delays = left.map((time) => time - hsync.filter((begin) => begin < time).at(-1)!)
    const expected = (mda.h.sync + mda.h.backPorch) / mda.dotClockHz
    const firstColumn = delays.filter((delay) => delay < mdaScanline / 2)
    expect(firstColumn.length).toBeGreaterThan(200)
    for (const delay of firstColumn) expect(delay).toBeCloseTo(expected, 11)
    const periods = hsync.slice(1).map((time, i) => time - hsync[i]!)
    expect(Math.max(...periods) - Math.min(...periods)).toBeGreaterThan(60e-9)
  })

  it('delays a channel by its skew', () => {
    const picture = drawPicture('dither', TIMINGS.cga80)
    const at = (skewSeconds: Record<string, number>): Signal =>
      drawSignal(TIMINGS.cga80, picture, { frames: 0.5, startFrames: 0.3, skewSeconds })
    const [plain, skewed] = [at({}), at({ G: 5e-9, H: -3e-9 })]
    const moved = (name: string): number => {
      const channel = channelNumber(plain, name)
      return skewed.toggles[channel]![100]! - plain.toggles[channel]![100]!
    }
    expect(moved('G')).toBeCloseTo(5e-9, 14)
    expect(moved('H')).toBeCloseTo(-3e-9, 14)
    expect(moved('R')).toBe(0)
    expect(() => at({ green: 1e-9 })).toThrow('no channel green')
  })

  it('breaks pulses by ringing, as often as asked and where asked', () => {
    const ringing = { delaySeconds: 60e-9, widthSeconds: 50e-9, probability: 0.25 }
    const { truth, ...signal } = drawMda({ ringing, frames: 4 })
    const rings = truth.defects.filter(({ kind }) => kind === 'ringing')
    const n = truth.scanlineSeconds.length
    expect(Math.abs(rings.length / n - 0.25)).toBeLessThan(5 * Math.sqrt((0.25 * 0.75) / n))
    expect(pulses(signal, 'H', 'positive').length).toBe(n + rings.length)
    for (const { seconds } of rings) {
      expect(seconds - nearest(truth.scanlineSeconds, seconds)).toBeCloseTo(60e-9, 12)
      expect(levelAt(signal, 0, seconds - 1e-9)).toBe(1)
      expect(levelAt(signal, 0, seconds + 25e-9)).toBe(0)
      expect(levelAt(signal, 0, seconds + 51e-9)).toBe(1)
    }
  })

  it('leaves out, delays and adds pulses at the scanlines named', () => {
    const { truth, ...signal } = drawMda({
      missingHsync: [{ frame: 1, scanline: 40 }],
      shiftedHsync: [
        { frame: 1, scanline: 60, seconds: 900e-9 },
        { frame: 1, scanline: 70, seconds: -700e-9 },
      ],
      spikes: [{ channel: 'H', at: { frame: 1, scanline: 80, dot: 400 }, widthSeconds: 80e-9 }],
    })
    const begin = truth.vsyncSeconds[0]! - mda.vsyncOffsetDots / mda.dotClockHz
    const hsync = pulses(signal, 'H', 'positive')
    const offsets = (number: number): number[] =>
      hsync
        .map(([leading]) => leading - begin - number * mdaScanline)
        .filter((offset) => Math.abs(offset) < mdaScanline / 2)
    expect(offsets(39)[0]).toBeCloseTo(0, 10)
    expect(offsets(40)).toEqual([])
    expect(offsets(60)[0]).toBeCloseTo(900e-9, 10)
    expect(offsets(70)[0]).toBeCloseTo(-700e-9, 10)
    expect(offsets(80).length).toBe(2)
    expect(offsets(80)[1]).toBeCloseTo(400 / mda.dotClockHz, 10)
    expect(truth.defects.map(({ kind }) => kind)).toEqual(['missing', 'shifted', 'shifted', 'spike'])
  })

  it('puts a spike given in seconds at that time', () => {
    const signal = drawMda({ spikes: [{ channel: 'V', at: { seconds: 0.003 }, widthSeconds: 1e-6 }] })
    const around = [0.003 - 1e-9, 0.003 + 0.5e-6, 0.003 + 1.001e-6].map((time) => levelAt(signal, 1, time))
    expect(around).toEqual([1, 0, 1])
  })

  it('stops hsync while vsync lasts', () => {
    const { truth, ...signal } = drawMda({ hsyncAbsentInVsync: true, frames: 1.01 })
    // one vsync whole, and 0.0085 frames = 3.1 scanlines into the next: four begin there
    expect(pulses(signal, 'H', 'positive').length).toBe(truth.scanlineSeconds.length - mda.v.sync - 4)
  })

  it('counts a dropped scanline and an extra one in the frames they fall into', () => {
    const { truth } = drawSignal(mda, mdaDark, {
      frames: 3.1,
      droppedScanlines: [{ frame: 0, scanline: 100 }],
      extraScanlines: [
        { frame: 2, scanline: 5 },
        { frame: 2, scanline: 369 },
      ],
    })
    expect(truth.wholeFrames.map(({ scanlines }) => scanlines)).toEqual([369, 370, 372])
    const gaps = Array.from(
      truth.vsyncSeconds.slice(1),
      (time, i) => (time - truth.vsyncSeconds[i]!) / mdaScanline,
    )
    expect(gaps.map((gap) => Number(gap.toFixed(6)))).toEqual([369, 370, 372])
  })

  it('runs the dot clock fast by the given error', () => {
    const { truth } = drawMda({ dotClockErrorPpm: 120 })
    expect(truth.dotClockHz / mda.dotClockHz - 1).toBeCloseTo(120e-6, 12)
    expect(truth.scanlineSeconds[100]! - truth.scanlineSeconds[0]!).toBeCloseTo(
      (100 * mdaScanline) / 1.00012,
      11,
    )
  })
})

describe('composite sync', () => {
  const { cga80, interlaced } = TIMINGS
  const dark = drawPicture('dark', cga80)
  const draw = (kind: 'xor' | 'or' | 'serrated'): Signal =>
    drawSignal(cga80, dark, { frames: 1, composite: { kind, polarity: 'negative' } })
  const inScanline = (signal: Signal, number: number, dot: number): number =>
    1 - levelAt(signal, 0, (number * cga80.h.total + dot) / cga80.dotClockHz)

  it('inverts hsync in vsync, or swallows it', () => {
    const [xor, or] = [draw('xor'), draw('or')]
    expect([xor.channels[0], xor.channels.includes('H'), xor.channels.includes('V')]).toEqual([
      'CSYNC',
      false,
      false,
    ])
    expect([40, 500].map((dot) => inScanline(xor, 5, dot))).toEqual([0, 1])
    expect([40, 500].map((dot) => inScanline(or, 5, dot))).toEqual([1, 1])
    for (const signal of [xor, or])
      expect([40, 500].map((dot) => inScanline(signal, 100, dot))).toEqual([1, 0])
    // vsync changes at dot 192: before it, the scanline is a plain one
    expect([40, 150, 250].map((dot) => inScanline(xor, 0, dot))).toEqual([1, 0, 1])
  })

  it('has 6 equalizing, 6 broad and 6 equalizing pulses around each field of an interlaced frame', () => {
    const signal = drawSignal(interlaced, drawPicture('dark', interlaced), {
      frames: 1,
      startFrames: 0.9,
      composite: { kind: 'serrated', polarity: 'positive' },
    })
    const widths = pulses(signal, 'CSYNC', 'positive').map(([a, b]) =>
      Math.round((b - a) * interlaced.dotClockHz),
    )
    const runs: string[] = []
    for (const width of widths) {
      const kind =
        width === 80 ? 'plain' : width === 40 ? 'equalizing' : width === 456 - 80 ? 'broad' : `${width}?`
      const [last, count] = runs.at(-1)?.split(' ') ?? []
      if (last === kind) runs[runs.length - 1] = `${kind} ${Number(count) + 1}`
      else runs.push(`${kind} 1`)
    }
    const around = ['equalizing 6', 'broad 6', 'equalizing 6']
    expect(runs.filter((run) => !run.startsWith('plain'))).toEqual([...around, ...around])
    // a field is 262.5 scanlines, 9 of them around vsync: 253 or 254 plain pulses, the half ones included
    expect(runs[4]).toMatch(/^plain 25[34]$/)
  })
})

describe('probes', () => {
  it('can be left off, swapped, and put inside the card', () => {
    const { channels } = drawMda({ omit: ['I'], rename: { H: 'V', V: 'H' }, inside: ['DE'], frames: 0.1 })
    expect(channels).toEqual(['V', 'H', 'video', 'DE'])
    expect(drawMda({ frames: 0.1, omit: ['video', 'I'] }).channels).toEqual(['H', 'V'])
    expect(drawMda({ frames: 0.1, omit: ['H', 'V'] }).channels).toEqual(['video', 'I'])
  })

  it('see the active area on DE and every dot on DCLK', () => {
    const signal = drawMda({ frames: 1.0018, inside: ['DE', 'DCLK'] })
    const enable = pulses(signal, 'DE', 'positive')
    expect(enable.length).toBe(mda.v.active)
    for (const [leading, trailing] of enable)
      expect((trailing - leading) * mda.dotClockHz).toBeCloseTo(720, 3)
    const dots = pulses(signal, 'DCLK', 'positive').length
    expect(Math.abs(dots - signal.durationSeconds * mda.dotClockHz)).toBeLessThan(2)
  })
})

it('lights a border only near the active area', () => {
  const { cgaGraphics } = TIMINGS
  const picture = drawPicture('border', cgaGraphics)
  const signal = drawSignal(cgaGraphics, picture, { frames: 1 })
  const red = (number: number, dot: number): number =>
    levelAt(signal, channelNumber(signal, 'R'), (number * 912 + dot + 0.5) / cgaGraphics.dotClockHz)
  const left = cgaGraphics.h.sync + cgaGraphics.h.backPorch
  const top = cgaGraphics.v.sync + cgaGraphics.v.backPorch
  expect([-25, -24, -1, 640, 663, 664].map((dot) => red(top + 50, left + dot))).toEqual([0, 1, 1, 1, 1, 0])
  expect([-4, -3, -1, 200, 202, 203].map((row) => red(top + row, left + 300))).toEqual([0, 1, 1, 1, 1, 0])
})

function nearest(times: Float64Array, time: number): number {
  let best = times[0]!
  for (const candidate of times) if (Math.abs(candidate - time) < Math.abs(best - time)) best = candidate
  return best
}
