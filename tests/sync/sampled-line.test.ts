// What samples leave of a line: every regular edge passes, every edge moved by more than two samples does not.

import { describe, expect, it, test } from 'vitest'
import { SampledLine } from '../../src/sync/sampled-line.ts'
import { newRandom } from '../support/random.ts'

/** Samples per scanline: fast beats, slow ones, simple fractions, and none. */
const PERIODS = [1000.37, 1000.01, 999.995, 1000.5, 1000.3334, 1000, 1000.0007]

/** A line of edges seen at whole samples, told to a SampledLine whose prediction knows the period. */
function tellLine(
  period: number,
  phase: number,
  scanlines: number,
): { line: SampledLine; at: (n: number) => number } {
  const at = (n: number): number => Math.ceil(n * period + phase)
  const line = new SampledLine(1)
  const offset = at(0) - phase
  const steps = { mean: period, variance: 0, last: at(1) - at(0) }
  line.start({ lowest: offset, highest: offset, mean: offset, scatter: 0, count: 1, steps }, 0)
  for (let n = 0; n < scanlines; n++) {
    line.add(at(n) - n * period - phase, n === 0 ? NaN : at(n) - at(n - 1))
    line.advance(0)
  }
  return { line, at }
}

test.each(PERIODS)('at %d samples a scanline', (period) => {
  const random = newRandom(Math.round(period * 1e4))
  for (let trial = 0; trial < 300; trial++) {
    const phase = random.uniform()
    const n = 100 + random.below(900)
    const { line, at } = tellLine(period, phase, n)
    const predicted = n * period + phase
    expect({ phase, n, off: line.isOff(at(n) - predicted) }).toEqual({ phase, n, off: false })
    for (const sign of [-1, 1]) {
      const moved = sign * (2.02 + 3 * random.uniform())
      const seen = Math.ceil(predicted + moved)
      expect({ phase, n, moved, off: line.isOff(seen - predicted) }).toEqual({ phase, n, moved, off: true })
    }
  }
})

it('widens with jitter, and only with jitter', () => {
  const random = newRandom(8)
  const steady = tellLine(1000.37, 0.2, 2000).line.tolerance
  const line = new SampledLine(1)
  const period = 1000.37
  const seen = (n: number): number => Math.ceil(n * period + random.gaussian())
  let before = seen(0)
  const steps = { mean: period, variance: 2, last: before }
  line.start({ lowest: -2, highest: 3, mean: 0.5, scatter: 1, count: 100, steps }, 0)
  let off = 0
  for (let n = 1; n < 20_000; n++) {
    const now = seen(n)
    if (line.isOff(now - n * period)) off++
    line.add(now - n * period, now - before)
    line.advance(0)
    before = now
  }
  expect(steady).toBeLessThan(1.3)
  expect(line.tolerance).toBeGreaterThan(5)
  expect(off).toBe(0)
})

describe('SampledLine, by hand in samples of 10 ticks', () => {
  /** Steps of a period that beats fast: 1003.7 ticks are 100.37 samples. */
  const steps = { mean: 1003.7, variance: 0.37 * 0.63 * 100, last: 1000 }
  const started = (
    lowest: number,
    highest: number,
    { scatter = 2.5, count = 20, floor = 0 } = {},
  ): SampledLine => {
    const line = new SampledLine(10)
    line.start({ lowest, highest, mean: 0, scatter, count, steps }, floor)
    return line
  }

  it('lies within a sample before every edge that was seen', () => {
    // one place alone: the line lies anywhere in the sample before it
    const line = started(0, 0)
    expect(line.centre).toBe(0)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.5 + 0.12), 9)
    // an edge 6 later: the line is at most 10 before that
    line.add(6, NaN)
    expect(line.centre).toBe(3)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.2 + 0.12), 9)
    // and one 2 earlier: it is no later than that
    line.add(-2, NaN)
    expect(line.centre).toBe(2)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.1 + 0.12), 9)
    // contradicting edges leave nothing unknown
    line.add(12, NaN)
    expect(line.tolerance).toBeCloseTo(11.2, 9)
    expect(started(0, 8).centre).toBe(4)
  })

  it('wants less slack once it has seen many', () => {
    expect(started(0, 0, { count: 511 }).tolerance).toBeCloseTo(16.2, 9)
    expect(started(0, 0, { count: 512 }).tolerance).toBeCloseTo(15.5, 9)
    expect(started(0, 0, { floor: 40 }).tolerance).toBe(40)
  })

  it('says what is off: further from its middle than its tolerance', () => {
    const line = started(0, 8)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.1 + 0.12), 9)
    expect([line.isOff(16.1), line.isOff(16.3), line.isOff(-8.1), line.isOff(-8.3)]).toEqual([
      false,
      true,
      false,
      true,
    ])
  })

  it('moves against its prediction, and gives a little way each scanline', () => {
    const line = started(0, 6)
    line.shift(2)
    expect(line.centre).toBe(1)
    line.advance(1)
    expect(line.centre).toBe(0)
    // 0.03 ticks on either side
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.2 + 0.003 + 0.12), 9)
    // bounds that contradict each other by 6 give way by a 32nd of that
    const torn = started(0, 16)
    torn.advance(0)
    torn.add(0, NaN)
    torn.add(15.7, NaN)
    expect(torn.tolerance).toBeCloseTo(11.2, 9)
    for (let n = 0; n < 80; n++) torn.advance(0)
    expect(torn.centre).toBeCloseTo(7.85, 1)
    expect(torn.tolerance).toBeGreaterThan(11.2)
    expect(torn.tolerance).toBeLessThan(14)
  })

  it('knows jitter by what sampling does not explain', () => {
    expect(started(0, 9).jitterTicks).toBe(0)
    // squares of 25 samples² on average, less 1/12 and what chance makes of it
    const square = 25 - 1 / 12 - (3 * Math.sqrt(1 / 80 - 1 / 144)) / Math.sqrt(20)
    expect(started(-50, 50, { scatter: 50 }).jitterTicks).toBeCloseTo(10 * Math.sqrt(square), 6)
    expect(started(-50, 50, { scatter: 50 }).tolerance).toBeCloseTo(
      10 * (1 + 0.12) + 5.5 * 10 * Math.sqrt(square),
      6,
    )
  })

  it('a slow beat looks like jitter, and takes proof', () => {
    const line = new SampledLine(10)
    const slow = { mean: 1000.2, variance: 0.02 * 0.98 * 100, last: 1000 }
    line.start({ lowest: -20, highest: 20, mean: 0, scatter: 15, count: 20, steps: slow }, 0)
    expect(line.jitterTicks).toBe(0)
    // steps that no steady line makes: a tenth of a squared sample too much
    line.start(
      {
        lowest: -20,
        highest: 20,
        mean: 0,
        scatter: 15,
        count: 20,
        steps: { ...slow, variance: slow.variance + 10 },
      },
      0,
    )
    expect(line.jitterTicks).toBeCloseTo(10 * Math.sqrt(20 * (0.1 - 2e-4)), 0)
    // coming round after two or three scanlines is slow as well, after five it is not
    const jitterAt = (share: number): number => {
      const steps = { mean: 1000 + 10 * share, variance: share * (1 - share) * 100, last: 1000 }
      line.start({ lowest: -20, highest: 20, mean: 0, scatter: 15, count: 20, steps }, 0)
      return line.jitterTicks
    }
    expect([0.04, 0.96, 0.5, 0.509, 1 / 3, 0.6601].map(jitterAt)).toEqual([0, 0, 0, 0, 0, 0])
    for (const share of [0.06, 0.94, 0.2, 0.511, 0.35]) expect(jitterAt(share)).toBeGreaterThan(10)
  })
})

describe('in samples of 10 ticks', () => {
  interface Begun {
    lowest?: number
    highest?: number
    scatter?: number
    count?: number
    /** Ticks from one scanline to the next. */
    step?: number
    floor?: number
  }
  /** Of steps that are the two whole numbers of samples around their mean, as a steady line's are. */
  function begun({
    lowest = 0,
    highest = 0,
    scatter = 0,
    count = 1,
    step = 1003.7,
    floor = 0,
  }: Begun): SampledLine {
    const share = (step / 10) % 1
    const line = new SampledLine(10)
    const steps = { mean: step, variance: 100 * share * (1 - share), last: 10 * Math.floor(step / 10) }
    line.start({ lowest, highest, mean: (lowest + highest) / 2, scatter, count, steps }, floor)
    return line
  }

  it('the line lies at most one before the last edge that is seen, and none after the first', () => {
    // edges alike: anywhere in a sample before them, so they may be half of one off its middle, and all of one off it
    expect(begun({}).centre).toBe(0)
    expect(begun({}).tolerance).toBeCloseTo(10 * (1 + 0.5 + 0.12), 9)
    // five apart: a range of five is left
    expect(begun({ lowest: -2, highest: 3 }).centre).toBeCloseTo(0.5, 9)
    expect(begun({ lowest: -2, highest: 3 }).tolerance).toBeCloseTo(10 * (1 + 0.25 + 0.12), 9)
    expect(begun({ lowest: 0, highest: 10 }).tolerance).toBeCloseTo(10 * (1 + 0.12), 9)
    // more than a sample apart they contradict each other
    expect(begun({ lowest: 0, highest: 14 }).tolerance).toBeCloseTo(10 * (1 + 0.12), 9)
    // from 512 edges on it is known whether there is a little jitter
    expect(begun({ count: 511 }).tolerance).toBeCloseTo(16.2, 9)
    expect(begun({ count: 512 }).tolerance).toBeCloseTo(15.5, 9)
    expect(begun({ floor: 17 }).tolerance).toBe(17)
    const line = begun({})
    expect([16.1, -16.1, 16.3, -16.3].map((offset) => line.isOff(offset))).toEqual([false, false, true, true])
  })

  it('each edge narrows that down, each scanline gives a little back', () => {
    const line = begun({})
    line.add(4, NaN)
    // from -6 to 0
    expect(line.centre).toBeCloseTo(2, 9)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.3 + 0.12), 9)
    line.add(-3, NaN)
    // to -3
    expect(line.centre).toBeCloseTo(0.5, 9)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.15 + 0.12), 9)
    // those in between say nothing new
    line.add(1, NaN)
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.15 + 0.12), 9)
    for (let n = 0; n < 50; n++) line.advance(0)
    // 0.003 samples at either end
    expect(line.tolerance).toBeCloseTo(10 * (1 + 0.15 + 0.15 + 0.12), 9)
    expect(line.centre).toBeCloseTo(0.5, 9)
  })

  it('goes along with a prediction that moves', () => {
    const line = begun({ lowest: -2, highest: 3 })
    line.shift(2)
    expect(line.centre).toBeCloseTo(-1.5, 9)
    line.advance(-1)
    expect(line.centre).toBeCloseTo(-0.5, 9)
  })

  it('bounds that contradict each other give way by a 32nd', () => {
    const line = begun({ lowest: 0, highest: 42 })
    // they lie 32 apart the wrong way round: 1 at either end, and 0.03
    line.advance(0)
    expect(line.centre).toBeCloseTo(21, 9)
    line.add(23, NaN)
    // the lower bound is 31 - 0.03 now, which an edge at 41 - 0.02 moves
    const before = line.centre
    line.add(41 - 0.02, NaN)
    expect(line.centre - before).toBeCloseTo(0.005, 9)
  })

  it('calls jitter what edges scatter beyond sampling, and what that is known to', () => {
    // a variance of a twelfth is sampling's; its square deviates by sqrt(1/80 - 1/144), of 1024 by a 32nd of that
    const margin = (3 * Math.sqrt(1 / 80 - 1 / 144)) / 32
    for (const samples of [0.4, 0.5, 1]) {
      const { jitterTicks } = begun({ scatter: 10 * samples, count: 1024 })
      expect(jitterTicks).toBeCloseTo(10 * Math.sqrt(samples ** 2 - 1 / 12 - margin), 6)
    }
    expect(begun({ scatter: 3, count: 1024 }).jitterTicks).toBe(0)
    // more are as good as 1024, fewer are not
    expect(begun({ scatter: 5, count: 5000 }).jitterTicks).toBe(
      begun({ scatter: 5, count: 1024 }).jitterTicks,
    )
    expect(begun({ scatter: 5, count: 100 }).jitterTicks).toBeCloseTo(
      10 * Math.sqrt(0.25 - 1 / 12 - 3.2 * margin),
      6,
    )
    // five and a half deviations may be off
    const line = begun({ scatter: 10, count: 1024 })
    expect(line.tolerance).toBeCloseTo(15.5 + 5.5 * line.jitterTicks, 9)
  })

  it('none where samples beat slowly, or come round after two or three scanlines', () => {
    const jitters = (share: number): boolean =>
      begun({ scatter: 5, count: 1024, step: 1000 + 10 * share }).jitterTicks > 0
    for (const [slow, fast] of [
      [0.049, 0.051],
      [0.951, 0.949],
      [0.509, 0.511],
      [0.491, 0.489],
      [1 / 3 + 0.0066, 1 / 3 + 0.0067],
      [2 / 3 - 0.0066, 2 / 3 - 0.0067],
    ] as const)
      expect([jitters(slow), jitters(fast)], String(slow)).toEqual([false, true])
  })
})
