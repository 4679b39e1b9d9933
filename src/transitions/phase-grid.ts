// Samples hardly longer than the digit they are rounded to → their grid: single gaps no longer tell it.

import type { Gaps, SampleGrid } from './gap-line.ts'
import { RunningLine } from './running-line.ts'
import { USUAL_RATES } from './usual-rates.ts'

/** Below this many ticks, rounding to whole ticks hides the grid. */
export const SMALLEST_FUZZY_TICKS = 3.5
/** Below this many, rounding leaves next to nothing of them. */
const SMALLEST_WOUND_TICKS = 1.2
/** Share of what samples at a rate would give, from which on they are at that rate. */
const WOUND_EXCESS = 0.6
/** Gaps shorter than so many ticks turn by an angle that is looked up. */
const SHORT_GAPS = 1024
/** Stretches whose phases a line is put through. */
const TURNING_BLOCKS = 16

/**
 * A usual rate whose samples are hardly longer than the digit they are rounded to. Single gaps no longer tell the samples
 * in them, but all edges together do: wound round a circle once a sample, they lie on one side of it.
 */
export function fromPhases(gaps: Gaps, secondsPerTick: number): SampleGrid | undefined {
  // samples at a rate lie on the grid of twice that rate as well: the longest interval is theirs
  let longest = 0
  for (const decade of [1e6, 1e7, 1e8]) {
    for (const rate of USUAL_RATES) {
      const interval = 1 / (rate * decade * secondsPerTick)
      // whole ticks lie on every grid of whole ticks
      const isWhole = Math.abs(interval - Math.round(interval)) < 0.01 * interval
      if (interval < SMALLEST_WOUND_TICKS || interval >= SMALLEST_FUZZY_TICKS || isWhole) continue
      const [re, im] = wound(gaps, interval, 0, gaps.length)
      // rounding spreads each sample evenly over a tick
      const expected = Math.sin(Math.PI / interval) / (Math.PI / interval)
      if (Math.hypot(re, im) / expected > WOUND_EXCESS) longest = Math.max(longest, interval)
    }
  }
  return longest > 0 ? fromTurning(gaps, longest) : undefined
}

/** Mean of exp(2 pi i t / interval) over edges `from` to `to`. Nearly all gaps are a few ticks, and turn by one of few angles. */
function wound(gaps: Gaps, interval: number, from: number, to: number): [number, number] {
  const turn = (2 * Math.PI) / interval
  const cosines = Float64Array.from({ length: SHORT_GAPS }, (_, gap) => Math.cos(gap * turn))
  const sines = Float64Array.from({ length: SHORT_GAPS }, (_, gap) => Math.sin(gap * turn))
  let cosine = 1
  let sine = 0
  let re = 0
  let im = 0
  for (let i = 0; i < to; i++) {
    const gap = gaps[i]!
    const isShort = gap < SHORT_GAPS && Number.isInteger(gap)
    const byCosine = isShort ? cosines[gap]! : Math.cos((gap % interval) * turn)
    const bySine = isShort ? sines[gap]! : Math.sin((gap % interval) * turn)
    const before = cosine
    cosine = before * byCosine - sine * bySine
    sine = before * bySine + sine * byCosine
    if (i < from) continue
    re += cosine
    im += sine
  }
  return [re / (to - from), im / (to - from)]
}

/**
 * The interval at which edges do not turn round the circle: a line through the phases of as many stretches as there are
 * blocks. Their scatter about it is its uncertainty: edges of one picture repeat, so their number says little.
 */
function fromTurning(gaps: Gaps, interval: number): SampleGrid {
  const [meanRe, meanIm] = wound(gaps, interval, 0, gaps.length)
  const line = new RunningLine()
  let now = 0
  for (let block = 0, from = 0; block < TURNING_BLOCKS; block++) {
    const to = Math.floor(((block + 1) * gaps.length) / TURNING_BLOCKS)
    const [re, im] = wound(gaps, interval, from, to)
    const angle = Math.atan2(im * meanRe - re * meanIm, re * meanRe + im * meanIm)
    const began = now
    for (; from < to; from++) now += gaps[from]!
    line.add((began + now) / 2, angle)
  }
  const perTurn = interval ** 2 / (2 * Math.PI)
  // the line took two degrees of freedom
  const scatter = line.rms * Math.sqrt(TURNING_BLOCKS / (TURNING_BLOCKS - 2))
  return {
    intervalTicks: interval + line.slope * perTurn,
    uncertaintyTicks: (scatter / Math.sqrt(line.spread)) * perTurn,
    coarserThanTick: true,
    rounded: true,
  }
}
