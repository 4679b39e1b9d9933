// Network and E-series -> the parts whose worst level error is least.

import {
  LARGEST_OHMS,
  nearestValue,
  SMALLEST_OHMS,
  valueAtOrAbove,
  valuesBetween,
  type SeriesName,
} from './e-series.ts'
import {
  idealResistors,
  layNetwork,
  outputVolts,
  placeValues,
  sharesPins,
  solveNetwork,
  type Electrics,
  type Network,
  type NetworkKind,
} from './resistor-network.ts'
import { corners } from './resistor-corners.ts'
import { nearestParts, singlePart, type Part } from './resistor-parts.ts'

/**
 * Which levels must not exceed full scale: with parts exactly as marked (`nominal`), with every part at the worse end of
 * its tolerance (`corners`), or none (`ignored`).
 */
export type FullScaleRule = 'nominal' | 'corners' | 'ignored'

export interface SearchRules {
  series: SeriesName
  /** Of the parts, either way. */
  tolerancePercent: number
  /** Whether two parts may stand for one. */
  combinations: boolean
  fullScale: FullScaleRule
}

/** Combinations tried for each resistor: their steps are so fine that the dozen nearest hold what matters. */
const COMBINATIONS_TRIED = 12

/** Rounding of the solver, relative to full scale. */
const SLACK = 1e-9

/**
 * Parts for each of the network's values, the worst level error being least over all codes and outputs.
 *
 * Single parts are searched to the end: a level error below one already found bounds every conductance (see `windows`).
 * With combinations the dozen nearest of each value are tried together.
 *
 * @returns undefined where nothing keeps the full-scale rule
 */
export function searchParts(kind: NetworkKind, electrics: Electrics, rules: SearchRules): Part[] | undefined {
  const network = layNetwork(kind)
  const grader = new Grader(network, electrics, rules)
  const { resistorsOhms } = idealResistors(kind, electrics)
  // with every part at its low end the network should then be the ideal one
  const aim = rules.fullScale === 'corners' ? 1 / (1 - rules.tolerancePercent / 100) : 1
  const wanted = resistorsOhms.map((ohms) => Math.max(ohms * aim, SMALLEST_OHMS))

  const nearest = wanted.map((ohms) => singlePart(nearestValue(rules.series, ohms)))
  const above = wanted.map((ohms) => singlePart(valueAtOrAbove(rules.series, ohms) ?? LARGEST_OHMS))
  grader.offer(nearest)
  grader.offer(above)
  if (rules.combinations) {
    // the full-scale rule may leave none of the nearest; then a little weaker ones are tried
    for (let weaker = 1; weaker < 1.05; weaker *= 1.002) {
      const before = grader.worstErrorVolts
      offerAll(
        grader,
        wanted.map((ohms) => nearestParts(rules.series, ohms * weaker, COMBINATIONS_TRIED)),
      )
      if (grader.worstErrorVolts < before) break
    }
    return grader.best
  }
  const ranges = sharesPins(network)
    ? wanted.map((ohms) => [ohms / 2, ohms * 2] as const)
    : windows(network, electrics, grader.worstErrorVolts, wanted)
  offerAll(
    grader,
    ranges.map(([low, high]) => valuesBetween(rules.series, low, high).map(singlePart)),
  )
  return grader.best
}

/**
 * Bounds for the resistors of any choice that errs by less than `error`.
 *
 * With S the sum of all conductances and the load's, a bit alone gives V = Vs G / S, and all bits together
 * Vs (1 - GL / S). The latter within `error` of full scale bounds S, the former then bounds G.
 */
function windows(
  network: Network,
  { supplyVolts, loadOhms, fullScaleVolts, pinOhms }: Electrics,
  error: number,
  wanted: readonly number[],
): (readonly [number, number])[] {
  if (!Number.isFinite(error) || fullScaleVolts + error >= supplyVolts)
    return wanted.map((ohms) => [ohms / 2, ohms * 2] as const)
  const sum = (volts: number): number => supplyVolts / loadOhms / (supplyVolts - volts)
  const [lowest, highest] = [sum(fullScaleVolts - error), sum(fullScaleVolts + error)]
  return wanted.map((_, n) => {
    const volts = fullScaleVolts * network.idealShare(1 << (network.values - 1 - n), 0)
    const most = ((volts + error) * highest) / supplyVolts
    const least = ((volts - error) * lowest) / supplyVolts
    // a hair wider, so that the choice that set the bound is inside it
    return [
      (1 / most - pinOhms) * (1 - SLACK),
      least > 0 ? (1 / least - pinOhms) * (1 + SLACK) : LARGEST_OHMS,
    ] as const
  })
}

function offerAll(grader: Grader, choices: readonly (readonly Part[])[]): void {
  const chosen: Part[] = []
  const fill = (n: number): void => {
    if (n === choices.length) {
      grader.offer(chosen)
      return
    }
    for (const part of choices[n]!) {
      chosen[n] = part
      fill(n + 1)
    }
  }
  fill(0)
}

/** Keeps the best of what it is offered. */
class Grader {
  readonly #network: Network
  readonly #electrics: Electrics
  readonly #rules: SearchRules
  #best: Part[] | undefined
  #worst = Infinity
  #parts = Infinity

  constructor(network: Network, electrics: Electrics, rules: SearchRules) {
    this.#network = network
    this.#electrics = electrics
    this.#rules = rules
  }

  get best(): Part[] | undefined {
    return this.#best
  }

  /** Worst level error of the best so far; Infinity before any was acceptable. */
  get worstErrorVolts(): number {
    return this.#worst
  }

  offer(parts: readonly Part[]): void {
    const ohms = parts.map((part) => part.ohms)
    const worst = worstErrorVolts(this.#network, ohms, this.#electrics)
    const bought = parts.reduce((sum, part) => sum + part.values.length, 0)
    // of two that differ by rounding only, the one with fewer parts
    const isLess = worst < this.#worst * (1 - SLACK)
    if (!isLess && !(worst <= this.#worst * (1 + SLACK) && bought < this.#parts)) return
    if (this.#exceedsFullScale(ohms)) return
    this.#best = [...parts]
    this.#worst = worst
    this.#parts = bought
  }

  #exceedsFullScale(ohms: readonly number[]): boolean {
    const { fullScale, tolerancePercent } = this.#rules
    if (fullScale === 'ignored') return false
    const network = this.#network
    const tolerance = fullScale === 'corners' ? tolerancePercent : 0
    // all pins high is the highest level of every output
    const all = 2 ** network.pins.length - 1
    const limit = this.#electrics.fullScaleVolts * (1 + SLACK)
    const exceeds = (placed: readonly number[]): boolean => {
      const transfer = solveNetwork(network, placed, this.#electrics)
      return network.outputs.some((_, output) => outputVolts(network, transfer, all, output) > limit)
    }
    const placed = placeValues(network, ohms)
    if (exceeds(placed.map((value) => value * (1 - tolerance / 100)))) return true
    // behind one weak pin the output whose neighbours draw least is highest: then every corner counts
    if (tolerance === 0 || this.#electrics.pinOhms === 0 || !sharesPins(network)) return false
    return corners(placed, tolerance).some(exceeds)
  }
}

/** Largest difference between a level and its ideal, over all codes and outputs, with parts as marked. */
export function worstErrorVolts(
  network: Network,
  resistorsOhms: readonly number[],
  electrics: Electrics,
): number {
  const transfer = solveNetwork(network, placeValues(network, resistorsOhms), electrics)
  let worst = 0
  for (let code = 0; code < 2 ** network.pins.length; code++) {
    for (let output = 0; output < network.outputs.length; output++) {
      const ideal = electrics.fullScaleVolts * network.idealShare(code, output)
      worst = Math.max(worst, Math.abs(outputVolts(network, transfer, code, output) - ideal))
    }
  }
  return worst
}
