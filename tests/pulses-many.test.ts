// The same as pulses.test.ts and pulses-clean.test.ts over many more seeds. A few in the suite; more with
//   MANY_MIXES=2000 MANY_CLEAN=6000 MANY_FROM=5000000 npx vitest run tests/pulses-many.test.ts

import { expect, it } from 'vitest'
import { CLEAN, randomClean } from './clean-captures.ts'
import { defectOptions, expectedOf, randomDefects } from './pulse-defects.ts'
import { capturePulses, drawSync } from './pulses-of.ts'
import { newRandom } from './support/random.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

const MIXES = Number(process.env['MANY_MIXES'] ?? 60)
const CLEAN_CAPTURES = Number(process.env['MANY_CLEAN'] ?? 60)
const FROM = Number(process.env['MANY_FROM'] ?? 700_000)
const HOUR_MS = 3_600_000

/** Defects of all kinds in one capture: what was put in beside what was found, in order of time. */
function mixed(seed: number): { what: string; drawn: string[]; found: string[] } {
  const random = newRandom(seed)
  const card: TimingKey = random.below(2) === 0 ? 'mda' : 'vga480'
  const sampleRateHz = random.below(2) === 0 ? 24e6 : 100e6
  const perFrame = TIMINGS[card].v.total
  const defects = randomDefects(random, perFrame, 1 / sampleRateHz)
  const signal = drawSync(card, {
    ...defectOptions(card, defects),
    dotClockErrorPpm: 300 * (random.uniform() - 0.5),
  })
  const { pulses } = capturePulses(signal, { sampleRateHz, phase: random.uniform() })
  const text = (list: readonly { kind: string; lineCountError: number }[]): string[] =>
    list.map(({ kind, lineCountError }) => `${kind} ${lineCountError}`)
  const what = `${seed} ${card} ${sampleRateHz / 1e6} MS/s`
  return { what, drawn: text(expectedOf(card, defects)), found: text(pulses.faults) }
}

it(
  `${MIXES} mixes: all that was put in is found, and nothing else`,
  () => {
    const wrong: string[] = []
    let faults = 0
    for (let seed = FROM; seed < FROM + MIXES; seed++) {
      const { what, drawn, found } = mixed(seed)
      faults += drawn.length
      const at = drawn.findIndex((text, i) => text !== found[i])
      if (at < 0 && found.length === drawn.length) continue
      wrong.push(`${what}: ${drawn.length} drawn, ${found.length} found, at ${at} ${drawn[at]}, ${found[at]}`)
    }
    expect(faults).toBeGreaterThan(20 * MIXES)
    expect(wrong).toEqual([])
  },
  HOUR_MS,
)

// a scanline of 3177.5 samples is 2542 of 12.5 ns, one of 3177.78 (5424.99) comes round with 15.625 ns (12.5 ns)
it.each([881967, 880858, 881246])('mix %d, whose scanlines keep step with another sample rate', (seed) => {
  const { what, drawn, found } = mixed(seed)
  expect({ what, found }).toEqual({ what, found: drawn })
})

it.each([
  // 30.71 MS/s in whole nanoseconds: the few kinds of gaps that sync has are nearly those of 120 MS/s
  11_001_333,
  // 149.8 MS/s, which scanlines beat with twice over the capture
  7_001_976,
])('clean capture %d, whose sample rate is no usual one', (seed) => {
  expect(randomClean(seed).faulty).toEqual(CLEAN)
})

it(
  `${CLEAN_CAPTURES} clean captures: nothing is flagged`,
  () => {
    const wrong: string[] = []
    for (let seed = FROM; seed < FROM + CLEAN_CAPTURES; seed++) {
      const { what, faulty } = randomClean(seed)
      if (JSON.stringify(faulty) !== JSON.stringify(CLEAN)) wrong.push(`${what}: ${JSON.stringify(faulty)}`)
    }
    expect(wrong).toEqual([])
  },
  HOUR_MS,
)
