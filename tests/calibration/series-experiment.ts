import { LineSeries } from '../../src/sync/line-series.ts'
import { newRandom } from '../support/random.ts'
import { calibrationRow } from './tally.ts'
export function experiment(): void {
  for (const kind of [
    'none',
    'tiny',
    'small',
    'mid',
    'wander',
    'rw',
    'slowbeat',
    'long-none',
    'short-none',
  ]) {
    const errors: number[] = []
    let crb = 0
    let u2 = 0
    const worst: string[] = []
    const trials = 500
    const t0 = process.cpuUsage().user
    for (let t = 0; t < trials; t++) {
      const r = newRandom(t * 7919 + kind.length * 104729 + kind.charCodeAt(0) + 17)
      const T =
        kind === 'slowbeat' ? 1296 + r.below(3) / 2 + 4e-3 * (r.uniform() - 0.5) : 1000 + 800 * r.uniform()
      const N = kind.startsWith('long')
        ? 3000 + r.below(9000)
        : kind.startsWith('short')
          ? 20 + r.below(150)
          : 340 + r.below(1500)
      const j = (
        {
          none: 0,
          tiny: 0.02 + 0.05 * r.uniform(),
          small: 0.1 + 0.1 * r.uniform(),
          mid: 0.2 + 0.5 * r.uniform(),
          large: 2,
          wander: 0.2 * r.uniform(),
          rw: 0.2 * r.uniform(),
          slowbeat: 0,
          'long-none': 0,
          'long-mid': 0.3,
          'short-none': 0,
          'short-mid': 0.3,
        } as Record<string, number>
      )[kind]!
      const sd = kind === 'wander' ? 0.1 * 50 ** r.uniform() : kind === 'rw' ? 0.01 * 30 ** r.uniform() : 0
      const tau = kind === 'wander' ? 20 * 1000 ** r.uniform() : 1e9
      const a = r.uniform()
      let w = kind === 'wander' ? sd * r.gaussian() : 0
      const keep = Math.exp(-1 / tau)
      const kick = kind === 'rw' ? sd : sd * Math.sqrt(1 - keep * keep)
      const s = new LineSeries(Math.round(T))
      for (let n = 0; n < N; n++) {
        s.add(n, Math.ceil(a + n * T + w + j * r.gaussian()))
        w = w * keep + kick * r.gaussian()
      }
      const f = s.fit(1)!.period
      const b = Math.sqrt((12 * (1 / 12 + j * j)) / (N * (N * N - 1)))
      errors.push(Math.abs(f.value - T) / f.uncertainty)
      crb += ((f.value - T) / b) ** 2
      u2 += (f.uncertainty / b) ** 2
      if (errors.at(-1)! > 3)
        worst.push(
          `${errors.at(-1)!.toFixed(1)}@T=${(T % 1).toFixed(4)},N=${N},j=${j.toFixed(2)},sd=${sd.toFixed(2)},tau=${tau.toFixed(0)}`,
        )
    }
    const row = calibrationRow(kind, errors)
    console.log(
      kind.padEnd(12),
      (100 * row.within1).toFixed(1),
      (100 * row.within2).toFixed(1),
      (100 * row.within3).toFixed(2),
      'rms',
      row.rms.toFixed(2),
      'err/crb',
      Math.sqrt(crb / trials).toFixed(2),
      'u/crb',
      Math.sqrt(u2 / trials).toFixed(2),
      ((process.cpuUsage().user - t0) / trials / 1000).toFixed(1) + 'ms',
      worst.slice(0, 4).join(' '),
    )
  }
}
