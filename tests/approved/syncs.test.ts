// Guards against change that nobody meant in what is found wrong with syncs, and in whose they are: defects at random around
// vsync and between, cards among strangers. See approved.test.ts for how to print the answers anew; that they are true is
// what the tests of pulses and of probes show with more of the same.

import { drawSync } from '../pulses-of.ts'
import { BEGIN, defectOptions, randomDefects } from '../pulse-defects.ts'
import { captureBytes } from '../support/measured-card.ts'
import { newRandom } from '../support/random.ts'
import { randomProbes } from '../support/random-probes.ts'
import type { Signal } from '../support/signal.ts'
import { TIMINGS, type TimingKey } from '../support/timings.ts'
import { randomDefective } from '../vertical-defects.ts'
import { syncAnswersTo } from './answers.ts'
import { testApproved } from './approval.ts'

const bytesOf = (signal: Signal, sampleRateHz: number): Uint8Array =>
  captureBytes(signal, sampleRateHz, {
    instrument: { phase: 0.3 },
    form: { kind: 'vcd', timescale: '1 ps' },
  })

function withDefects(card: TimingKey, sampleRateHz: number, seed: number): () => Uint8Array {
  return () => {
    const { v } = TIMINGS[card]
    const defects = randomDefects(newRandom(seed), v.total, 1 / sampleRateHz)
    return bytesOf(drawSync(card, { ...BEGIN, ...defectOptions(card, defects) }), sampleRateHz)
  }
}

const around = (seed: number) => (): Uint8Array => {
  const { signal, sampleRateHz } = randomDefective(seed, newRandom(seed))
  return bytesOf(signal, sampleRateHz)
}

const probed = (seed: number) => (): Uint8Array => {
  const { signal, sampleRateHz, phase, clockErrorPpm } = randomProbes(seed)
  return captureBytes(signal, sampleRateHz, { instrument: { phase, clockErrorPpm } })
}

const cases: Record<string, () => Uint8Array> = {
  'many defects, cga80 at 24 MS/s': withDefects('cga80', 24e6, 41),
  'many defects, mda at 50 MS/s': withDefects('mda', 50e6, 42),
  'many defects, vga400 at 100 MS/s': withDefects('vga400', 100e6, 43),
}
for (const seed of [501, 502, 503, 504, 505, 506, 507, 508])
  cases[`defects around vsync ${seed}`] = around(seed)
for (const seed of [61, 62, 63, 64, 65, 66]) cases[`probes ${seed}`] = probed(seed)

testApproved(new URL('syncs.txt', import.meta.url), cases, (bytes) => syncAnswersTo(bytes()))
