// What moves or blinks while several frames are merged: found, listed, and drawn as some frames show it.

import { describe, expect, test, vi } from 'vitest'

import { drawSignal, type DrawOptions } from './support/draw-signal.ts'
import { merged, wrongIn } from './support/merged-card.ts'
import { drawPicture, type Picture } from './support/pictures.ts'
import { playFrames } from './support/play-frames.ts'
import { TIMINGS } from './support/timings.ts'

vi.setConfig({ testTimeout: 60_000 })

describe('what is not still', () => {
  const timing = TIMINGS.cga80
  const still = drawPicture('text', timing, 3)
  const instrument = { phase: 0.6, clockErrorPpm: 41 }
  const draw: DrawOptions = { frames: 22.2, startFrames: 0.3, seed: 4, cardJitterSeconds: 2e-9 }

  const withBlock = (left: number, top: number, dots: number, scanlines: number, code: number): Picture => {
    const codes = still.codes.slice()
    for (let row = top; row < top + scanlines; row++) {
      codes.fill(code, row * still.widthDots + left, row * still.widthDots + left + dots)
    }
    return { ...still, codes }
  }

  test('a blinking cursor is listed with its size and rate, and drawn as some frames show it', () => {
    // in the text line's blank last column and below it, where nothing else is lit
    const lit = withBlock(80, 46, 8, 2, 7)
    const stills = [still, lit].map((picture) => drawSignal(timing, picture, draw))
    const frame = merged(
      playFrames(stills, (stretch) => (stretch >> 2) % 2),
      10e6,
      instrument,
    )
    const [part, ...others] = frame.merge!.parts
    expect(others).toEqual([])
    expect(part).toMatchObject({ kind: 'blinking', dots: 8, left: 80 })
    expect(part!.scanlines).toBeLessThanOrEqual(2)
    const trueHz = (stills[0]!.truth.frameHz / 8) * (1 / (1 + 41e-6))
    expect(part!.blinkHz!.uncertainty / trueHz).toBeLessThan(0.05)
    expect(Math.abs(part!.blinkHz!.value - trueHz)).toBeLessThan(3 * part!.blinkHz!.uncertainty)
    // one or the other, never half of each
    expect(Math.min(wrongIn(frame, still), wrongIn(frame, lit))).toBe(0)
    expect(frame.dotsInDispute).toBe(part!.dotsInDispute)
  })

  test('a block that moves is drawn where one frame shows it; around it every dot is right', () => {
    const short = { ...draw, frames: 9.2 }
    const places = Array.from({ length: 11 }, (_, i) => withBlock(60 + 14 * i, 90 + 2 * i, 40, 24, 12))
    const stills = places.map((picture) => drawSignal(timing, picture, short))
    const frame = merged(
      playFrames(stills, (stretch) => Math.min(stretch, 10)),
      10e6,
      instrument,
    )
    const [part, ...others] = frame.merge!.parts
    expect(others).toEqual([])
    expect(part!.kind).toBe('moving')
    const isIn = (dot: number): boolean => {
      const x = dot % still.widthDots
      const y = Math.floor(dot / still.widthDots)
      // the margin within which dots are drawn as the part is
      return (
        x >= part!.left - 2 &&
        x < part!.left + part!.dots + 2 &&
        y >= part!.top - 1 &&
        y < part!.top + part!.scanlines + 1
      )
    }
    const wrong = (picture: Picture, inside: boolean): number =>
      frame.codes.reduce(
        (sum, code, dot) => sum + (isIn(dot) === inside && code !== picture.codes[dot] ? 1 : 0),
        0,
      )
    const inside = places.map((picture) => wrong(picture, true))
    const shown = inside.indexOf(Math.min(...inside))
    expect(wrong(places[shown]!, false)).toBe(0)
    expect(inside[shown]).toBeLessThanOrEqual(frame.dotsWithoutSample)
    expect(part!.dots).toBeGreaterThanOrEqual(40)
    expect(part!.left).toBeGreaterThanOrEqual(60)
    expect(part!.left + part!.dots).toBeLessThanOrEqual(60 + 14 * 10 + 40)
  })

  test('a disturbance of one frame is outvoted by the others', () => {
    const { truth } = drawSignal(timing, still, draw)
    // in the middle of a dot that is dark, in the fourth frame
    const seconds = truth.scanlineSeconds[262 * 4 + 120]! + 500.5 / truth.dotClockHz
    const spikes = Array.from({ length: 8 }, (_, i) => ({
      channel: 'R',
      at: { seconds: seconds + i / truth.frameHz / 40 },
      widthSeconds: 110e-9,
    }))
    const frame = merged(drawSignal(timing, still, { ...draw, frames: 12.2, spikes }), 10e6, instrument)
    expect(frame.merge!.parts).toEqual([])
    expect(wrongIn(frame, still)).toBe(0)
  })
})
