// Errors in units of their stated uncertainty, counted by kind of quantity: how many lie within one, two and three.

import type { Counted, Judged } from './quantities.ts'

/** One row of the table. Shares are 0 to 1. */
export interface CalibrationRow {
  quantity: string
  count: number
  within1: number
  within2: number
  within3: number
  /** Root mean square of error over uncertainty: 1 where uncertainties are right on average. */
  rms: number
  /** Whether all three shares are as they ought to be. */
  isHeld: boolean
}

/** Shares that a standard uncertainty must give; a normal distribution has 68.3 %, 95.4 % and 99.7 %. */
export const DEMANDED = { within1: [0.6, 0.8], within2: [0.92, 0.99], within3: [0.995, 1] } as const

export class CalibrationTally {
  readonly #errors = new Map<string, number[]>()
  readonly #counts = new Map<string, { right: number; wrong: number }>()

  /** Errors of more than three uncertainties, by capture. */
  readonly far: { seed: number; quantity: string; error: number }[] = []

  add(measured: readonly Judged[], counted: readonly Counted[], seed = 0): void {
    for (const { quantity, value, uncertainty, truth } of measured) {
      const list = this.#errors.get(quantity) ?? []
      this.#errors.set(quantity, list)
      const error = Math.abs(value - truth) / uncertainty
      list.push(error)
      if (error > 3) this.far.push({ seed, quantity, error })
    }
    for (const { quantity, isRight } of counted) {
      const entry = this.#counts.get(quantity) ?? { right: 0, wrong: 0 }
      this.#counts.set(quantity, entry)
      entry[isRight ? 'right' : 'wrong']++
    }
  }

  rows(): CalibrationRow[] {
    return [...this.#errors].map(([quantity, errors]) => calibrationRow(quantity, errors))
  }

  counts(): { quantity: string; right: number; wrong: number }[] {
    return [...this.#counts].map(([quantity, entry]) => ({ quantity, ...entry }))
  }
}

/** @param errors absolute, in units of their uncertainty */
export function calibrationRow(quantity: string, errors: readonly number[]): CalibrationRow {
  const share = (limit: number): number => errors.filter((error) => error <= limit).length / errors.length
  const row = {
    quantity,
    count: errors.length,
    within1: share(1),
    within2: share(2),
    within3: share(3),
    rms: Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length),
  }
  const keys = ['within1', 'within2', 'within3'] as const
  return { ...row, isHeld: keys.every((key) => row[key] >= DEMANDED[key][0] && row[key] <= DEMANDED[key][1]) }
}
