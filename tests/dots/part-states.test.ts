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

test('two states must explain 95 % of the samples', () => {
  // three dots that all twenty frames show, lit in every other frame; the second shows some of them wrongly
  const kind = (wrong: number): string => {
    const evidence = { high: new Uint32Array(3 * WORDS), low: new Uint32Array(3 * WORDS) }
    for (let dot = 0; dot < 3; dot++)
      for (let frame = 0; frame < 20; frame++) {
        const isLit = (frame % 2 === 1) !== (dot === 1 && frame < wrong)
        const list = isLit ? evidence.high : evidence.low
        list[dot * WORDS]! |= 1 << frame
      }
    return partStates(evidence, [0, 1, 2], numbers(20)).kind
  }
  expect(kind(0)).toBe('blinking')
  expect(kind(3)).toBe('blinking')
  expect(kind(4)).toBe('moving')
})

test('of two states, the one that more samples show is drawn, and of equals the earlier', () => {
  /** Frames 0 to 2 show two dots one way, 3 to 5 the other; each shows so many of them. */
  const drawn = (seen: readonly number[]): number[] => {
    const evidence = { high: new Uint32Array(2 * WORDS), low: new Uint32Array(2 * WORDS) }
    seen.forEach((dots, frame) => {
      for (let dot = 0; dot < dots; dot++) {
        const list = frame < 3 ? evidence.low : evidence.high
        list[dot * WORDS]! |= 1 << frame
      }
    })
    const { kind, drawn: frames } = partStates(evidence, [0, 1], numbers(6))
    expect(kind).toBe('changed')
    return framesIn(frames)
  }
  expect(drawn([2, 2, 2, 2, 2, 2])).toEqual([0, 1, 2])
  expect(drawn([2, 2, 1, 2, 2, 2])).toEqual([3, 4, 5])
  expect(drawn([2, 2, 2, 2, 1, 2])).toEqual([0, 1, 2])
  // one that shows neither is not drawn
  expect(drawn([2, 0, 2, 2, 1, 0])).toEqual([0, 2])
})

test('a blink by its changes of one direction, each somewhere between two frames', () => {
  // dark in frames 0 to 2, lit to 4, dark to 9, lit in 10; frames 3 and 8 are not among them
  const frameIndex = [0, 1, 2, 4, 5, 6, 7, 9, 10, 11]
  const isLit = (frame: number): boolean => frame === 4 || frame >= 10
  const evidence = { high: new Uint32Array(WORDS), low: new Uint32Array(WORDS) }
  frameIndex.forEach((index, frame) => {
    const list = isLit(index) ? evidence.high : evidence.low
    list[0]! |= 1 << frame
  })
  const { kind, periodFrames } = partStates(evidence, [0], frameIndex)
  expect(kind).toBe('blinking')
  // from 3, between 2 and 4, to 9.5, between 9 and 10
  expect(periodFrames!.value).toBe(6.5)
  expect(periodFrames!.uncertainty).toBeCloseTo(Math.hypot(2, 1) / Math.sqrt(12), 12)
})

test('of runs that stand still equally long, the first is drawn', () => {
  // four dots: two pictures in three frames each, a third one between them and after them
  const pictures = [0b0011, 0b0011, 0b0011, 0b0100, 0b1010, 0b1010, 0b1010, 0b0110]
  const evidence = { high: new Uint32Array(4 * WORDS), low: new Uint32Array(4 * WORDS) }
  pictures.forEach((picture, frame) => {
    for (let dot = 0; dot < 4; dot++) {
      const list = (picture >> dot) & 1 ? evidence.high : evidence.low
      list[dot * WORDS]! |= 1 << frame
    }
  })
  const { kind, drawn } = partStates(evidence, [0, 1, 2, 3], numbers(8))
  expect(kind).toBe('moving')
  expect(framesIn(drawn)).toEqual([0, 1, 2])
})
