import { describe, expect, it } from 'vitest'

import { drawPicture } from './pictures.ts'
import type { Picture } from './pictures.ts'
import { ALL_TIMINGS, TIMINGS } from './timings.ts'

function edges({ widthDots, heightScanlines, codes }: Picture): Record<string, number[]> {
  const columns = Array.from({ length: widthDots }, (_, x) => x)
  const rows = Array.from({ length: heightScanlines }, (_, y) => y * widthDots)
  return {
    top: columns.map((x) => codes[x]!),
    bottom: columns.map((x) => codes[rows.at(-1)! + x]!),
    left: rows.map((row) => codes[row]!),
    right: rows.map((row) => codes[row + widthDots - 1]!),
  }
}

describe.each(ALL_TIMINGS)('$name', (timing) => {
  it('fills the active area and drives only the bits it can', () => {
    for (const kind of ['dither', 'text', 'text-full', 'border', 'checkerboard', 'rectangle'] as const) {
      const { codes, widthDots, heightScanlines } = drawPicture(kind, timing)
      expect(codes.length).toBe(widthDots * heightScanlines)
      let seen = 0
      for (const code of codes) seen |= code
      expect(seen).toBe(timing.codeMask)
    }
  })

  it.each(['dither', 'text-full', 'checkerboard', 'rectangle'] as const)(
    '%s touches all four edges',
    (kind) => {
      for (const codes of Object.values(edges(drawPicture(kind, timing)))) {
        expect(codes.some((code) => code !== 0)).toBe(true)
      }
    },
  )
})

it('leaves the edges of a text screen dark', () => {
  for (const codes of Object.values(edges(drawPicture('text', TIMINGS.vgaText400)))) {
    expect(codes.every((code) => code === 0)).toBe(true)
  }
})

it('repeats every dot of a picture of double width', () => {
  const { codes, widthDots } = drawPicture('dither', TIMINGS.cga320)
  let changesAtOdd = 0
  let changesAtEven = 0
  for (let i = 1; i < widthDots; i++) {
    if (codes[i] === codes[i - 1]) continue
    if (i % 2 === 1) changesAtOdd++
    else changesAtEven++
  }
  expect(changesAtOdd).toBe(0)
  expect(changesAtEven).toBeGreaterThan(widthDots / 8)
})

it('alternates each dot of a checkerboard, and lights one block in a nearly dark picture', () => {
  const board = drawPicture('checkerboard', TIMINGS.mda)
  for (let i = 1; i < board.widthDots; i++) expect(board.codes[i]).not.toBe(board.codes[i - 1])
  const lit = (kind: 'dark' | 'nearly-dark'): number =>
    drawPicture(kind, TIMINGS.mda).codes.filter(Boolean).length
  expect(lit('dark')).toBe(0)
  expect(lit('nearly-dark')).toBe(37 * 11)
})

it('draws the same picture for one seed and another for the next', () => {
  const of = (seed: number): Uint16Array => drawPicture('dither', TIMINGS.ega200, seed).codes
  expect(of(1)).toEqual(of(1))
  expect(of(1)).not.toEqual(of(2))
})
