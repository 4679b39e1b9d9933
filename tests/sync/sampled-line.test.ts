// What samples leave of a line: every regular edge passes, every edge moved by more than two samples does not.

import { expect, it, test } from 'vitest'
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
