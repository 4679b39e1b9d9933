// One difference between a measurement and a standard → a phrase.

import type { Difference } from '../classify/classify.ts'

/** `scanlines per frame: 500 instead of 525` */
export function differenceText({ quantity, measured, nominal, unit }: Difference): string {
  const suffix = unit === '' ? '' : ` ${unit}`
  return `${quantity}: ${value(measured)}${suffix} instead of ${value(nominal)}${suffix}`
}

function value(of: string | number): string {
  return typeof of === 'number' ? String(Number(of.toPrecision(7))) : of
}
