// Sample by sample against the definition of a raster, worked out here from scratch.

import { describe, expect, it } from 'vitest'
import { signalTiming, type SignalTiming } from '../../src/signal/signal-timing.ts'
import type { SynthesisOptions } from '../../src/signal/synthesize.ts'
import type { SignalPicture } from '../../src/signal/signal-picture.ts'
import { made, textOf, tinyTiming } from './small-signals.ts'

/** A whole number, so that where in a sample the capture begins does not matter. */
const SAMPLES_PER_DOT = 4

const tiny = tinyTiming()
const picture: SignalPicture = {
  widthDots: 16,
  heightScanlines: 8,
  codes: Uint16Array.from({ length: 128 }, (_, i) => (i * i + 3 * i + 1) % 8),
  border: { code: 5, dots: 3, scanlines: 1 },
}

/** Rows of `csv-samples`, header and comment left out. */
function rowsOf(timing: SignalTiming, options: Partial<SynthesisOptions>): string[] {
  const sampleRateHz = SAMPLES_PER_DOT * timing.dotClockHz
  const { chunks } = made(timing, { picture, sampleRateHz, form: 'csv-samples', ...options })
  const lines = textOf(chunks).trimEnd().split('\n')
  expect(lines[0]).toBe(`# sample rate: ${sampleRateHz} Hz`)
  return lines.slice(2)
}

/** Levels of HSYNC (negative), VSYNC (positive), R, G, B at a dot counted from frame 0's begin. */
function expectedRow(dotOfFrame: number): string {
  const dot = ((dotOfFrame % 512) + 512) % 512
  const [x, y] = [dot % 32, Math.floor(dot / 32)]
  const hsync = x < 6 ? 0 : 1
  const vsync = y < 2 ? 1 : 0
  const [column, row] = [x - 12, y - 6]
  const inPicture = column >= 0 && column < 16 && row >= 0 && row < 8
  const inBorder = column >= -3 && column < 19 && row >= -1 && row < 9
  const code = inPicture ? picture.codes[row * 16 + column]! : inBorder ? 5 : 0
  return [hsync, vsync, code & 1, (code >> 1) & 1, (code >> 2) & 1].join(',')
}

describe('samples', () => {
  it.each([0, 0.25, 0.5, 0.75])('are those of the raster from start phase %d on', (startPhase) => {
    const rows = rowsOf(tiny, { frames: 2.5, startPhase })
    expect(rows).toHaveLength(2.5 * 512 * SAMPLES_PER_DOT)
    const expected = rows.map((_, sample) =>
      expectedRow(Math.floor(sample / SAMPLES_PER_DOT) + (startPhase === 0 ? 0 : (startPhase - 1) * 512)),
    )
    expect(rows).toEqual(expected)
  })

  it('are late on the channel that is skewed, and on no other', () => {
    // three samples of a quarter of a microsecond
    const plain = rowsOf(tiny, { frames: 1.5 })
    const late = rowsOf(tiny, { frames: 1.5, skewSeconds: { G: 0.75e-6 } })
    const early = rowsOf(tiny, { frames: 1.5, skewSeconds: { hsync: -0.75e-6 } })
    const channel = (rows: readonly string[], at: number): string => rows.map((row) => row[2 * at]).join('')
    for (const at of [0, 1, 2, 4]) expect(channel(late, at)).toBe(channel(plain, at))
    expect(channel(late, 3).slice(3)).toBe(channel(plain, 3).slice(0, -3))
    expect(channel(early, 0).slice(0, -3)).toBe(channel(plain, 0).slice(3))
  })

  it('put the lower field half a scanline later after its vsync', () => {
    const timing = signalTiming(null, {
      dotClockHz: 1e6,
      horizontal: tiny.horizontal,
      vertical: { active: 4, frontPorch: 2, sync: 2, backPorch: 4.5 },
      interlaced: true,
      colour: 'rgb',
    })
    const rows = rowsOf(timing, { frames: 2, startPhase: 0.75, picture: { ...picture, border: null } })
    const begins = (at: number): number[] =>
      rows.flatMap((row, i) => (i > 0 && row[2 * at] === '1' && rows[i - 1]![2 * at] === '0' ? [i] : []))
    const scanline = 32 * SAMPLES_PER_DOT
    const hsyncs = begins(0)
    const phases = begins(1).map((vsync) => Math.min(...hsyncs.map((h) => Math.abs(h - vsync))) / scanline)
    // upper, lower, upper, lower
    expect(phases).toEqual([0, 0.5, 0, 0.5])
    const [upper, lower] = begins(1) as [number, number]
    const codeAt = (sample: number): number =>
      [2, 3, 4].reduce((code, channel, bit) => code | (Number(rows[sample]![2 * channel]) << bit), 0)
    const rowFrom = (sample: number): number[] =>
      Array.from({ length: 16 }, (_, dot) => codeAt(sample + (12 + dot) * SAMPLES_PER_DOT + 1))
    for (let y = 0; y < 4; y++) {
      const row = (at: number): number[] => [...picture.codes.subarray(16 * at, 16 * at + 16)]
      expect(rowFrom(upper + (6 + y) * scanline)).toEqual(row(2 * y))
      expect(rowFrom(lower + (6.5 + y) * scanline)).toEqual(row(2 * y + 1))
    }
  })
})

describe('one wire for both syncs', () => {
  /** Levels of CSYNC in one frame of the tiny raster, by the definition of each kind. */
  const wire = (composite: 'xor' | 'or' | 'serrated'): string =>
    rowsOf(tiny, { frames: 1, startPhase: 0, composite })
      .map((row) => row[0])
      .join('')
  const expected = (level: (x: number, y: number) => boolean): string =>
    Array.from({ length: 512 * SAMPLES_PER_DOT }, (_, sample) => {
      const dot = Math.floor(sample / SAMPLES_PER_DOT)
      // hsync is negative here, and so is the wire
      return level(dot % 32, Math.floor(dot / 32)) ? '0' : '1'
    }).join('')

  it('is exclusive-or', () => {
    expect(wire('xor')).toBe(expected((x, y) => x < 6 !== y < 2))
  })
  it('is inclusive-or', () => {
    expect(wire('or')).toBe(expected((x, y) => x < 6 || y < 2))
  })
  it('is serrated: every scanline has its leading edge', () => {
    expect(wire('serrated')).toBe(expected((x, y) => (y < 2 ? x < 26 : x < 6)))
  })
})
