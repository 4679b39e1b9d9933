// Evidence about the dots of a part that changes → which frames show it alike, and how often it blinks.

import type { Measurement } from '../measurement.ts'
import { WORDS, type DotEvidence } from './dot-evidence.ts'

/** How a part changes: between two states and back, from one to the other once, or from frame to frame. */
export type PartKind = 'blinking' | 'changed' | 'moving'

/** What the frames show of one part. */
export interface PartStates {
  kind: PartKind
  /** Frames per blink, seen from one change to the next of the same direction; null where that was not seen. */
  periodFrames: Measurement | null
  /** Frames that show it alike and are drawn, as bits; WORDS of them. */
  drawn: Uint32Array
}

/** Dots that are looked at; a large part shows the same in fewer. */
const MAX_DOTS = 4000
/** Share of samples that two states must explain. */
const TWO_STATES = 0.95
/** Share of dots, of those that two frames both show, in which they may differ and still be alike. */
const ALIKE = 0.03
const MAX_ROUNDS = 12

/**
 * @param dots disputed dots of the part, as indices into the evidence, at least one
 * @param frameIndex of each frame, rising: the frames' numbers in their segment
 */
export function partStates(
  evidence: DotEvidence,
  dots: readonly number[],
  frameIndex: readonly number[],
): PartStates {
  const every = Math.ceil(dots.length / MAX_DOTS)
  const seen = dots.filter((_, i) => i % every === 0).map((dot) => signsOf(evidence, dot, frameIndex.length))
  const states = twoStates(seen)
  if (!states) {
    return { kind: 'moving', periodFrames: null, drawn: bits(bestAlike(seen, frameIndex.length)) }
  }
  const changes = changesOf(states, frameIndex)
  const samples = samplesIn(seen, frameIndex.length)
  const shows = (wanted: number): number =>
    states.reduce((sum, state, frame) => sum + (state === wanted ? samples[frame]! : 0), 0)
  // of two states that are seen equally well, the earlier one
  const first = states.find((state) => state !== 0)!
  const shown = shows(-first) > shows(first) ? -first : first
  return {
    kind: changes.length > 1 ? 'blinking' : 'changed',
    periodFrames: periodOf(changes),
    drawn: bits(states.flatMap((state, frame) => (state === shown ? [frame] : []))),
  }
}

/** 1 where a frame shows the dot high, -1 low, 0 neither. */
function signsOf({ high, low }: DotEvidence, dot: number, frames: number): Int8Array {
  return Int8Array.from({ length: frames }, (_, frame) => {
    const at = dot * WORDS + (frame >> 5)
    return ((high[at]! >> (frame & 31)) & 1) - ((low[at]! >> (frame & 31)) & 1)
  })
}

/**
 * Each frame's state, where two explain what is seen: frames and dots are given signs in turn, so that their product is
 * what the frame shows of the dot.
 */
function twoStates(seen: readonly Int8Array[]): number[] | undefined {
  const start = seen.reduce((best, dot) => (balance(dot) > balance(best) ? dot : best))
  let states = Array.from(start)
  for (let round = 1; ; round++) {
    const { next, explained } = withSigns(seen, states)
    const isSettled = next.every((state, frame) => state === states[frame])
    if (isSettled || round === MAX_ROUNDS) return explained >= TWO_STATES ? states : undefined
    states = next
  }
}

/** What dots make of the frames' states once each has its sign, and the share of samples that states and signs explain. */
function withSigns(
  seen: readonly Int8Array[],
  states: readonly number[],
): { next: number[]; explained: number } {
  const sums = states.map(() => 0)
  let right = 0
  let all = 0
  for (const dot of seen) {
    const along = dot.reduce((sum, shown, frame) => sum + shown * states[frame]!, 0)
    const sign = Math.sign(along)
    for (const [frame, state] of states.entries()) {
      sums[frame]! += sign * dot[frame]!
      const product = sign * dot[frame]! * state
      if (product !== 0) all++
      if (product > 0) right++
    }
  }
  return { next: sums.map(Math.sign), explained: right / Math.max(1, all) }
}

/** How well both levels of a dot were seen. */
function balance(dot: Int8Array): number {
  let high = 0
  let low = 0
  for (const sign of dot) {
    if (sign > 0) high++
    if (sign < 0) low++
  }
  return Math.min(high, low)
}

/** One change of state, between the last frame that shows the old one and the first that shows the new. */
interface Change {
  to: number
  /** In frames, halfway between the two. */
  at: number
  /** Frames between the two. */
  window: number
}

function changesOf(states: readonly number[], frameIndex: readonly number[]): Change[] {
  const list: Change[] = []
  let last = -1
  for (const [frame, state] of states.entries()) {
    if (state === 0) continue
    if (last >= 0 && state !== states[last]) {
      const [from, to] = [frameIndex[last]!, frameIndex[frame]!]
      list.push({ to: state, at: (from + to) / 2, window: to - from })
    }
    last = frame
  }
  return list
}

/** From the first change to the last one of the same direction; a change may fall anywhere in its window. */
function periodOf(changes: readonly Change[]): Measurement | null {
  const last = changes.length - 1 - ((changes.length + 1) % 2)
  if (last < 2) return null
  const [a, b] = [changes[0]!, changes[last]!]
  const periods = last / 2
  // uniform over each window, GUM (JCGM 100:2008) 4.3.7
  return {
    value: (b.at - a.at) / periods,
    uncertainty: Math.hypot(a.window, b.window) / Math.sqrt(12) / periods,
  }
}

/** Dots of the part that each frame shows. */
function samplesIn(seen: readonly Int8Array[], frames: number): number[] {
  return numbersTo(frames).map((frame) => seen.reduce((sum, dot) => sum + Math.abs(dot[frame]!), 0))
}

function numbersTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i)
}

/** Of the runs of frames that do not contradict each other, the one with the most samples. */
function bestAlike(seen: readonly Int8Array[], frames: number): number[] {
  const isAlike = (a: number, b: number): boolean => {
    let both = 0
    let differ = 0
    for (const dot of seen) {
      const product = dot[a]! * dot[b]!
      if (product !== 0) both++
      if (product < 0) differ++
    }
    return both > 0 && differ <= ALIKE * both
  }
  const samples = samplesIn(seen, frames)
  let best: number[] = []
  let most = 0
  for (let from = 0; from < frames; from++) {
    const run = [from]
    for (let next = from + 1; next < frames && run.every((frame) => isAlike(frame, next)); next++)
      run.push(next)
    const sum = run.reduce((total, frame) => total + samples[frame]!, 0)
    if (sum <= most) continue
    most = sum
    best = run
  }
  return best
}

function bits(frames: readonly number[]): Uint32Array {
  const words = new Uint32Array(WORDS)
  for (const frame of frames) words[frame >> 5]! |= 1 << (frame & 31)
  return words
}
