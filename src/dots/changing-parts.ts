// Dots about which frames disagree → the parts of the picture that move or blink, each drawn as some of its frames show
// it: never a mixture of several.

import { DOT_DISPUTED, framesThatShow, stateOf, type DotEvidence, type MergeSource } from './dot-evidence.ts'
import type { Area } from './active-area.ts'
import { partStates, type PartStates } from './part-states.ts'

/** One part that changes. */
export interface ChangingPart extends PartStates {
  /** Smallest area around its disputed dots, in dots and scanlines of the raster. */
  area: Area
  /** Dots about which frames disagree. */
  dotsInDispute: number
}

/** Dots this near belong to one part: a character's cell (8 or 9 dots by 8 to 16 scanlines, common practice). */
const REACH_DOTS = 9
const REACH_SCANLINES = 8
/** Around a part, dots may change too without having been seen to. */
const MARGIN_DOTS = 2
const MARGIN_SCANLINES = 1

/** One sample against so many others is a disturbance and no change, where it stands alone. */
const OUTVOTED = 3
/** Most dots next to each other that one disturbance can spoil. */
const DISTURBED_DOTS = 2

/**
 * @param states of all frames; disputed dots are replaced by what the drawn frames of their part show, those that one
 *   sample alone disputes by what the others show
 */
export function changingParts(
  source: MergeSource,
  evidence: DotEvidence,
  states: Uint8Array,
): ChangingPart[] {
  const { rows, dotsPerScanline: width, planeCount, frames } = source
  const size = rows * width
  const disputed = new Uint8Array(size)
  for (let i = 0; i < states.length; i++) if (states[i] === DOT_DISPUTED) disputed[i % size] = 1
  const frameIndex = frames.map(({ index }) => index)
  const found = joined(areasOf(disputed, width, rows))
  const parts = found.flatMap((area): ChangingPart[] => {
    const dots: number[] = []
    let dotsInDispute = 0
    for (let row = area.top; row < area.bottom; row++) {
      for (let dot = area.left; dot < area.right; dot++) {
        const at = row * width + dot
        if (disputed[at] === 0) continue
        dotsInDispute++
        for (let plane = 0; plane < planeCount; plane++) {
          if (states[plane * size + at] === DOT_DISPUTED) dots.push(plane * size + at)
        }
      }
    }
    if (dotsInDispute <= DISTURBED_DOTS && settled(evidence, dots, states)) return []
    return [{ area, dotsInDispute, ...partStates(evidence, dots, frameIndex) }]
  })
  // only now: the areas with their margins may overlap
  for (const { area, drawn } of parts) {
    const top = Math.max(0, area.top - MARGIN_SCANLINES)
    const bottom = Math.min(rows, area.bottom + MARGIN_SCANLINES)
    const left = Math.max(0, area.left - MARGIN_DOTS)
    const right = Math.min(width, area.right + MARGIN_DOTS)
    for (let plane = 0; plane < planeCount; plane++) {
      for (let row = top; row < bottom; row++) {
        for (let dot = left; dot < right; dot++) {
          const at = (plane * rows + row) * width + dot
          states[at] = stateOf(evidence.high, evidence.low, at, drawn)
        }
      }
    }
  }
  return parts.sort((a, b) => b.dotsInDispute - a.dotsInDispute)
}

/** Lets the others outvote a single sample about each dot; false, and nothing done, where it is not that clear. */
function settled({ high, low }: DotEvidence, dots: readonly number[], states: Uint8Array): boolean {
  const votes = dots.map((dot) => ({ dot, high: framesThatShow(high, dot), low: framesThatShow(low, dot) }))
  const clear = votes.every(
    (vote) => Math.min(vote.high, vote.low) === 1 && Math.max(vote.high, vote.low) >= OUTVOTED,
  )
  if (clear) for (const vote of votes) states[vote.dot] = vote.high > vote.low ? 1 : 0
  return clear
}

/** Areas around marked dots that lie within reach of each other. */
function areasOf(marked: Uint8Array, width: number, rows: number): Area[] {
  const areas: Area[] = []
  const left = marked.slice()
  for (let start = 0; start < left.length; start++) {
    if (left[start] === 0) continue
    const area = { left: width, right: 0, top: rows, bottom: 0 }
    const waiting = [start]
    left[start] = 0
    for (let at = waiting.pop(); at !== undefined; at = waiting.pop()) {
      const dot = at % width
      const row = (at - dot) / width
      area.left = Math.min(area.left, dot)
      area.right = Math.max(area.right, dot + 1)
      area.top = Math.min(area.top, row)
      area.bottom = Math.max(area.bottom, row + 1)
      const toRow = Math.min(rows - 1, row + REACH_SCANLINES)
      const toDot = Math.min(width - 1, dot + REACH_DOTS)
      for (let y = Math.max(0, row - REACH_SCANLINES); y <= toRow; y++) {
        for (let x = Math.max(0, dot - REACH_DOTS); x <= toDot; x++) {
          if (left[y * width + x] === 0) continue
          left[y * width + x] = 0
          waiting.push(y * width + x)
        }
      }
    }
    areas.push(area)
  }
  return areas
}

/** Areas that overlap are one. */
function joined(areas: readonly Area[]): Area[] {
  const list: Area[] = []
  for (const area of areas) {
    let grown = area
    for (let i = 0; i < list.length; i++) {
      const other = list[i]!
      const apart =
        other.left >= grown.right ||
        other.right <= grown.left ||
        other.top >= grown.bottom ||
        other.bottom <= grown.top
      if (apart) continue
      grown = {
        left: Math.min(grown.left, other.left),
        right: Math.max(grown.right, other.right),
        top: Math.min(grown.top, other.top),
        bottom: Math.max(grown.bottom, other.bottom),
      }
      list.splice(i, 1)
      // what has grown may meet those that were passed
      i = -1
    }
    list.push(grown)
  }
  return list
}
