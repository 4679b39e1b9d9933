// A described clock -> every frequency it can run at, each with the settings that make it.

import type { AdapterDescription, PllDescription } from './adapter-description.ts'

/** Settings of a PLL that make one frequency. */
export interface PllSetting {
  referenceHz: number
  referenceDivider: number
  multiplier: number
  vcoHz: number
  /** One for each stage, the larger first. */
  postDividers: number[]
}

/** One frequency to run at. */
export interface ClockChoice {
  clockHz: number
  /** null: no PLL. */
  pll: PllSetting | null
}

/** Settings tried at most; the description's bounds allow more than any real part has. */
const MAX_SETTINGS = 20e6

/**
 * Every frequency of the loop, once each, rising. Of several settings for one frequency the highest VCO is kept, since a
 * faster VCO has less jitter (common practice).
 *
 * @throws {RangeError} the description allows more than 20 million settings
 */
export function pllChoices(pll: PllDescription): ClockChoice[] {
  const references = pll.referenceDivider ?? { min: 1, max: 1 }
  const dividers = postDividersOf(pll)
  const settings =
    (references.max - references.min + 1) * (pll.multiplier.max - pll.multiplier.min + 1) * dividers.length
  if (settings > MAX_SETTINGS)
    throw new RangeError(`the PLL has ${settings} settings, more than can be tried`)
  const output = pll.outputHz ?? { min: 0, max: Infinity }
  // by reduced fraction of the reference: equal frequencies meet exactly, whatever the rounding of doubles
  const found = new Map<string, ClockChoice>()
  for (let reference = references.min; reference <= references.max; reference++) {
    for (let multiplier = pll.multiplier.min; multiplier <= pll.multiplier.max; multiplier++) {
      const vcoHz = (pll.referenceHz * multiplier) / reference
      if (vcoHz < pll.vcoHz.min || vcoHz > pll.vcoHz.max) continue
      for (const { product, stages } of dividers) {
        const clockHz = (pll.referenceHz * multiplier) / (reference * product)
        if (clockHz < output.min || clockHz > output.max) continue
        const by = greatestCommonDivisor(multiplier, reference * product)
        const key = `${multiplier / by}/${(reference * product) / by}`
        const known = found.get(key)
        if (known?.pll && known.pll.vcoHz >= vcoHz) continue
        found.set(key, {
          clockHz,
          pll: {
            referenceHz: pll.referenceHz,
            referenceDivider: reference,
            multiplier,
            vcoHz,
            postDividers: [...stages],
          },
        })
      }
    }
  }
  return [...found.values()].sort((a, b) => a.clockHz - b.clockHz)
}

interface PostDivider {
  product: number
  stages: readonly number[]
}

/** One entry for each product. */
function postDividersOf({ postDividers, postDividerStages }: PllDescription): PostDivider[] {
  const [first, second] = postDividerStages ?? []
  const products = new Map<number, PostDivider>()
  const add = (...stages: number[]): void => {
    const product = stages.reduce((a, b) => a * b, 1)
    const larger = stages.sort((a, b) => b - a)
    if (!products.has(product)) products.set(product, { product, stages: larger })
  }
  if (first === undefined) for (const divider of postDividers ?? [1]) add(divider)
  else {
    for (let a = first.min; a <= first.max; a++) {
      if (second === undefined) add(a)
      else for (let b = second.min; b <= second.max; b++) add(a, b)
    }
  }
  return [...products.values()]
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b)
}

/** Whole multiples of a dot clock offered when the builder has not said what the clock is. */
const FREE_MULTIPLES = [4, 6, 8, 10, 12, 16] as const

/**
 * What the adapter can be clocked with. Where the description names no clock: whole multiples of the wanted rate, as a
 * crystal could be bought for.
 */
export function clockChoices(adapter: AdapterDescription, wantedHz: number): ClockChoice[] {
  if (adapter.clockHz !== undefined) return [{ clockHz: adapter.clockHz, pll: null }]
  if (adapter.pll !== undefined) return pllChoices(adapter.pll)
  return FREE_MULTIPLES.map((clocks) => ({ clockHz: clocks * wantedHz, pll: null }))
}
