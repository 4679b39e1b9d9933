// One finding against one row: how probable it is if the row is what was captured, and if nothing listed is. What weighs
// a quantity lies in a file of its own; distance.ts adds them up.

/** Where a measurement and a row part, in words and numbers that a report can print. */
export interface Difference {
  /** `scanline rate`, `frame rate`, `scanlines per frame`, … */
  quantity: string
  measured: string | number
  nominal: string | number
  /** `Hz`, `dots`, `scanlines`, or empty for words. */
  unit: string
  /** Size of the difference in units of what was to be expected; at least 0. */
  inTolerances: number
}

/** One finding, weighed. Probabilities are natural logarithms; densities are per relative unit of rate or of scanline. */
export interface Evidence {
  logRow: number
  /** What `logRow` would be had the finding been the row's own value. */
  logBest: number
  /**
   * If the capture is of a relative of the row that differs from it in this: a card of the same family with another
   * crystal, another program in its controller, other dots.
   */
  logKin: number
  /** If it is of something that has nothing to do with any row; the same for all of them. */
  logNone: number
  difference: Difference | null
}

/** What does not make a timing, a relative has as its row has it, this often. */
const KIN_AS_ROW = 0.9

/** ln(e^a + e^b), where e^a alone may be beyond floating point. */
export function logSum(a: number, b: number): number {
  const high = Math.max(a, b)
  return high === -Infinity ? high : high + Math.log(Math.exp(a - high) + Math.exp(b - high))
}

/** The probabilities of one finding. */
export interface Chances {
  row: number
  /** Had it been the row's own. */
  best: number
  /** Default: mostly as the row, else as anything. */
  kin?: number
  none: number
}

/** Weighs a finding by its chances; the equivalent distance goes into `difference`. */
export function weighed(chances: Chances, difference: Omit<Difference, 'inTolerances'> | null): Evidence {
  const { row, best, none, kin = KIN_AS_ROW * row + (1 - KIN_AS_ROW) * none } = chances
  const logRow = Math.log(row)
  const logBest = Math.log(best)
  const inTolerances = Math.sqrt(Math.max(0, 2 * (logBest - logRow)))
  // an accepted alternative that is as likely as the row's own value is no difference
  const named = difference && inTolerances > 1e-6 ? { ...difference, inTolerances } : null
  return { logRow, logBest, logKin: Math.log(kin), logNone: Math.log(none), difference: named }
}
