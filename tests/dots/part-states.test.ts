// Which frames show a part alike, and how often it blinks: on evidence made by hand, where each sample shows a dot by
// chance.

import { describe, expect, test } from 'vitest'

import { WORDS, type DotEvidence } from '../../src/dots/dot-evidence.ts'
import { partStates } from '../../src/dots/part-states.ts'
import { newRandom } from '../support/random.ts'

/** Evidence of some frames about dots, each seen with a chance of one half. */
function evidenceOf(
  dots: number,
  frames: number,
  levelAt: (dot: number, frame: number) => number,
  seed: number,
  wrong = 0,
): DotEvidence {
  const random = newRandom(seed)
  const evidence = { high: new Uint32Array(dots * WORDS), low: new Uint32Array(dots * WORDS) }
  for (let dot = 0; dot < dots; dot++) {
    for (let frame = 0; frame < frames; frame++) {
      if (random.uniform() < 0.5) continue
      const level = random.uniform() < wrong ? 1 - levelAt(dot, frame) : levelAt(dot, frame)
      const list = level === 1 ? evidence.high : evidence.low
      list[dot * WORDS + (frame >> 5)]! |= 1 << (frame & 31)
    }
  }
  return evidence
}

const numbers = (count: number): number[] => Array.from({ length: count }, (_, i) => i)
const framesIn = (bits: Uint32Array): number[] =>
  numbers(32 * WORDS).filter((frame) => (bits[frame >> 5]! >> (frame & 31)) & 1)

describe.each([1, 2, 3, 4, 5])('seed %i', (seed) => {
  test('a blink of 16 frames over two words of frames', () => {
    const on = (frame: number): number => ((frame + 3) >> 3) & 1
    // some dots are lit when it is on, others when it is off
    const evidence = evidenceOf(18, 50, (dot, frame) => on(frame) ^ (dot & 1), seed, 0.01)
    const { kind, periodFrames, drawn } = partStates(evidence, numbers(18), numbers(50))
    expect(kind).toBe('blinking')
    expect(Math.abs(periodFrames!.value - 16)).toBeLessThan(3 * periodFrames!.uncertainty)
    expect(periodFrames!.uncertainty).toBeLessThan(0.5)
    const shown = framesIn(drawn)
    expect(new Set(shown.map(on)).size).toBe(1)
    expect(shown.length).toBeGreaterThanOrEqual(24)
  })

  test('one change is no blink, and two no rate', () => {
    const once = evidenceOf(40, 12, (_, frame) => (frame < 5 ? 1 : 0), seed)
    const changed = partStates(once, numbers(40), numbers(12))
    expect(changed).toMatchObject({ kind: 'changed', periodFrames: null })
    expect(framesIn(changed.drawn)).toEqual([5, 6, 7, 8, 9, 10, 11])
    const twice = evidenceOf(40, 12, (_, frame) => (frame < 4 || frame > 8 ? 1 : 0), seed)
    expect(partStates(twice, numbers(40), numbers(12))).toMatchObject({
      kind: 'blinking',
      periodFrames: null,
    })
  })

  test('what passes by is drawn as the longest stretch in which it stands still', () => {
    // a block of ten dots by eight scanlines that moves by three dots a frame, but for frames 4 to 6
    const left = (frame: number): number => 3 * (frame < 4 ? frame : frame < 7 ? 4 : frame - 2)
    const isLit = (x: number, frame: number): boolean => x >= left(frame) && x < left(frame) + 10
    const evidence = evidenceOf(8 * 60, 14, (dot, frame) => (isLit(dot % 60, frame) ? 1 : 0), seed)
    const moving = partStates(evidence, numbers(8 * 60), numbers(14))
    expect(moving).toMatchObject({ kind: 'moving', periodFrames: null })
    expect(framesIn(moving.drawn)).toEqual([4, 5, 6])
  })
})
