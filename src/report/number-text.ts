// Numbers as a person at a bench reads them: as many digits as the uncertainty allows, SI prefixes, ppm.

import type { Measurement } from '../measurement.ts'

const PREFIXES: readonly (readonly [number, string])[] = [
  [1e9, 'G'],
  [1e6, 'M'],
  [1e3, 'k'],
  [1, ''],
  [1e-3, 'm'],
  [1e-6, 'u'],
  [1e-9, 'n'],
  [1e-12, 'p'],
  [1e-15, 'f'],
]
/** Digits after the point are never more than this: beyond, the reader drowns. */
const MOST_DECIMALS = 6
/** Digits of a pulse width or the like in all; only rates are known better. */
const MOST_DIGITS = 7

function prefixOf(value: number): readonly [number, string] {
  const size = Math.abs(value)
  return PREFIXES.find(([factor]) => size >= factor * 0.9995) ?? [1, '']
}

/** Decimals that show an uncertainty with two digits. */
function decimalsFor(uncertainty: number): number {
  if (!(uncertainty > 0)) return MOST_DECIMALS
  return Math.max(0, Math.min(MOST_DECIMALS, 1 - Math.floor(Math.log10(uncertainty))))
}

/** `15.69976 kHz ± 0.03 ppm`: rates are compared in ppm, so their doubt is given in it too. */
export function measuredRate({ value, uncertainty }: Measurement): string {
  const [factor, prefix] = prefixOf(value)
  const shown = (value / factor).toFixed(decimalsFor(uncertainty / factor))
  const ppm = (uncertainty / value) * 1e6
  return `${shown} ${prefix}Hz ${ppm < 0.01 ? '± 0.01' : `± ${Number(ppm.toPrecision(ppm < 10 ? 1 : 2))}`} ppm`
}

/** `4.921 us ± 5.8 ns`: the value no finer than its doubt, which has a prefix of its own. */
export function measured({ value, uncertainty }: Measurement, unit: string): string {
  const [factor, prefix] = prefixOf(value)
  const digitsBefore = Math.trunc(Math.abs(value / factor)).toString().length
  const decimals = Math.min(decimalsFor(uncertainty / factor), Math.max(0, MOST_DIGITS - digitsBefore))
  return `${(value / factor).toFixed(decimals)} ${prefix}${unit} ± ${plain(uncertainty, unit, 2)}`
}

/** A bare value with a prefix: `18.432 kHz`. */
export function plain(value: number, unit: string, digits = 6): string {
  if (value === 0) return `0 ${unit}`
  const [factor, prefix] = prefixOf(value)
  return `${Number((value / factor).toPrecision(digits))} ${prefix}${unit}`
}

/** `+18 ppm` below a per cent, `+1.62 %` above; `0 ppm` where rounding hides it. */
export function relative(ratio: number): string {
  const sign = ratio > 0 ? '+' : ratio < 0 ? '-' : ''
  const size = Math.abs(ratio)
  if (size >= 0.01) return `${sign}${(size * 100).toFixed(2)} %`
  const ppm = size * 1e6
  const shown = ppm >= 10 ? ppm.toFixed(0) : ppm.toFixed(1)
  return Number(shown) === 0 ? '0 ppm' : `${sign}${shown} ppm`
}

/** `99.8 %`; never a false 100. */
export function percent(share: number): string {
  if (share > 0.999 && share < 1) return '> 99.9 %'
  return `${(share * 100).toFixed(share > 0.99 ? 1 : 0)} %`
}

export function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`
}
