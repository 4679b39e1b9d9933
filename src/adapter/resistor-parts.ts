// One wanted resistance -> what can be soldered in its place: one part, or two in series or in parallel.

import { LARGEST_OHMS, SMALLEST_OHMS, valuesBetween, type SeriesName } from './e-series.ts'

/** One bought resistor, or two joined. */
export interface Part {
  /** What it comes to. */
  ohms: number
  joined: 'single' | 'series' | 'parallel'
  /** The bought values, the larger first. */
  values: readonly number[]
}

export function singlePart(ohms: number): Part {
  return { ohms, joined: 'single', values: [ohms] }
}

/** How far to look for the smaller part of a pair: a hundredth of the value moves it by 1 %. */
const PAIR_REACH = 100

/**
 * The `count` parts nearest to `ohms` by ratio, single or of two, nearest first; of equals the one with fewer parts.
 *
 * Every value of the series is tried as one of the pair, with the two that lie around what is then missing: nothing
 * nearer exists with that value, so the nearest of all is among them.
 */
export function nearestParts(series: SeriesName, ohms: number, count: number): Part[] {
  const found = new Map<string, Part>()
  const add = (part: Part): void => {
    found.set(`${part.joined} ${part.values.join(' ')}`, part)
  }
  for (const value of valuesBetween(series, ohms / 1.3, ohms * 1.3)) add(singlePart(value))
  for (const one of valuesBetween(series, ohms / PAIR_REACH, ohms)) {
    for (const other of around(series, ohms - one))
      add({ ohms: one + other, joined: 'series', values: [Math.max(one, other), Math.min(one, other)] })
  }
  for (const one of valuesBetween(series, ohms, ohms * PAIR_REACH)) {
    for (const other of around(series, 1 / (1 / ohms - 1 / one)))
      add({
        ohms: 1 / (1 / one + 1 / other),
        joined: 'parallel',
        values: [Math.max(one, other), Math.min(one, other)],
      })
  }
  const distance = (part: Part): number => Math.abs(Math.log(part.ohms / ohms))
  return [...found.values()]
    .sort((a, b) => distance(a) - distance(b) || a.values.length - b.values.length)
    .slice(0, count)
}

/** The values just below and just above. */
function around(series: SeriesName, ohms: number): number[] {
  if (!(ohms >= SMALLEST_OHMS && ohms <= LARGEST_OHMS)) return []
  const below = valuesBetween(series, ohms / 1.3, ohms).at(-1)
  const above = valuesBetween(series, ohms, ohms * 1.3)[0]
  return [below, above].filter((value) => value !== undefined)
}
