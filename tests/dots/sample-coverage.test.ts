// How many frames put a sample everywhere: against what plain counting of places gives.

import { expect, test } from 'vitest'

import { sampleCoverage } from '../../src/dots/sample-coverage.ts'

const sure = (value: number): { value: number; uncertainty: number } => ({ value, uncertainty: 1e-4 })

test('evenly spaced frames leave a gap of one part', () => {
  const phases = [0, 0.25, 0.5, 0.75].map((phase, i) => phase + 17 * i)
  const covered = sampleCoverage(phases, sure(0.25), 0.3)
  expect(covered.largestGapSamples).toBeCloseTo(0.25, 12)
  expect(covered).toMatchObject({ moreFrames: 0, gridMoves: true })
})

test('a small step has to go all the way round', () => {
  // 0, 0.1, 0.2: up to 0.6 the last gap is 0.4
  expect(sampleCoverage([0, 0.1, 0.2], sure(0.1), 0.45).moreFrames).toBe(4)
  expect(sampleCoverage([0, -0.1, -0.2], sure(-0.1), 0.45).moreFrames).toBe(4)
  // the golden step is the quickest: three frames leave 0.382, five 0.236
  expect(sampleCoverage([0], sure(0.618034), 0.3).moreFrames).toBe(4)
})

test('a step of none, or of half a sample, meets the same places again', () => {
  for (const value of [0, 0.5, -0.5, 1, 5e-5]) {
    const phases = [0, value, 2 * value]
    expect(sampleCoverage(phases, sure(value), 0.4)).toMatchObject({ moreFrames: null, gridMoves: false })
  }
})

test('a step that is not known well enough to be told from none promises nothing', () => {
  expect(sampleCoverage([0, 0.02], { value: 0.02, uncertainty: 0.02 }, 0.4)).toMatchObject({
    moreFrames: null,
    gridMoves: false,
  })
  expect(sampleCoverage([0, 0.02], { value: 0.02, uncertainty: 0.002 }, 0.4).moreFrames).toBe(29)
})

test('where a dot is longer than a sample, one frame is enough, in step or not', () => {
  expect(sampleCoverage([0.3], { value: 0, uncertainty: 1 }, 1.2).moreFrames).toBe(0)
})

test('frames in whatever order', () => {
  // a circle: from 0.9 on to 0.2 are 0.3
  const phases = [
    [0.2, 0.5, 0.9],
    [0.9, 0.5, 0.2],
    [0.5, 0.9, 0.2],
    [-0.1, 1.5, 2.2],
  ]
  for (const list of phases) expect(sampleCoverage(list, sure(0), 0.1).largestGapSamples).toBeCloseTo(0.4, 12)
  expect(sampleCoverage([0.5, 0.2], sure(0), 0.1).largestGapSamples).toBeCloseTo(0.7, 12)
  expect(sampleCoverage([0.2], sure(0), 0.1).largestGapSamples).toBe(1)
})

test('a stretch that is just as long as it may be needs no more frames', () => {
  expect(sampleCoverage([0, 0.5], sure(0.25), 0.5).moreFrames).toBe(0)
  expect(sampleCoverage([0], sure(0.25), 0.5).moreFrames).toBe(2)
})

test('looks 256 frames ahead', () => {
  // steps of 1/1024 from 0 on leave 1 - n/1024 after n frames
  const after = (needed: number): number | null =>
    sampleCoverage([0], { value: 1 / 1024, uncertainty: 0 }, needed).moreFrames
  expect(after(1 - 256 / 1024)).toBe(256)
  expect(after(1 - 256.5 / 1024)).toBeNull()
})

test('a step of two standard uncertainties or less may be none, or half a sample', () => {
  const moves = (value: number): boolean => sampleCoverage([0], { value, uncertainty: 1 / 64 }, 0.1).gridMoves
  for (const place of [0, 0.5, 1, -0.5]) {
    expect(moves(place + 2 / 64)).toBe(false)
    expect(moves(place + 2.01 / 64)).toBe(true)
    expect(moves(place - 2.01 / 64)).toBe(true)
  }
})
