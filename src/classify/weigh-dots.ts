// Dots against a row: how many to a scanline, for how many hsync lasts, and how far the picture reaches.

import { weighed, type Evidence } from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import type { Standard } from './standard.ts'

/** Counts of dots are mostly multiples of 8 or 9, from some 400 to 1400. */
const NONE_DOTS = 1 / 150
/** An hsync takes 4 to 16 % of the scanline, hence the density over the scanline: all rows but two lie within. */
const NONE_HSYNC_DENSITY = 1 / 0.12
/** By how much a relative of a row may differ from it, as a share of the dots. Judgements. */
const KIN_DOTS = { reach: 0.25, near: 1 / 120, far: 1 / 1200 } as const
/** Where the dots are others, their hsync has the row's share of the scanline by chance, or because a monitor wants it. */
const KIN_HSYNC_AS_ROW = 0.3

/** How many of the card's dots one dot of the picture is, where the row can explain it; else null. */
export function dotsRepeated(dotsPerScanline: number, row: Standard): 1 | 2 | 4 | null {
  for (const times of [1, 2, 4] as const) {
    if (Math.abs(dotsPerScanline * times - row.dotsPerScanline) < 0.01) return times
  }
  return null
}

export function weighDots(measured: MeasuredTiming, row: Standard): Evidence | null {
  const dots = measured.dotsPerScanline
  if (dots === null) return null
  const times = dotsRepeated(dots, row)
  const probability =
    times === null ? FALSE_DOTS[falseCount(dots, row)] : times === 1 ? 0.75 : times === 2 ? 0.15 : 0.03
  const difference =
    times === 1
      ? null
      : { quantity: 'dots per scanline', measured: dots, nominal: row.dotsPerScanline, unit: 'dots' }
  const isNear = Math.abs(dots / row.dotsPerScanline - 1) < KIN_DOTS.reach
  const kin = isNear ? KIN_DOTS.near : KIN_DOTS.far
  return weighed({ row: probability, best: 0.75, kin, none: NONE_DOTS }, difference)
}

/** Chance of one count that is not the row's: sample grids cohere at simple ratios of the dots, else nothing does. */
const FALSE_DOTS = { ratio: 0.0005, other: 0.00003 } as const

function falseCount(dots: number, row: Standard): 'ratio' | 'other' {
  const ratio = (dots / row.dotsPerScanline) * 6
  return Math.abs(ratio - Math.round(ratio)) < 0.01 ? 'ratio' : 'other'
}

export function weighHsyncWidth(measured: MeasuredTiming, row: Standard): Evidence | null {
  const width = measured.hsyncWidthSeconds
  if (width === null) return null
  // as a share of the scanline, so that a wrong time scale does not matter
  const dots = width.value * measured.hsyncHz.value * row.dotsPerScanline
  const reach = 2 + 3 * width.uncertainty * measured.hsyncHz.value * row.dotsPerScanline
  const fits = row.syncDotsAccepted.some((accepted) => Math.abs(accepted - dots) <= reach)
  // a density over the scanline: the surer the width, the more a match says
  const best = ((0.9 / row.syncDotsAccepted.length) * row.dotsPerScanline) / (2 * reach)
  // one that is accepted is as likely as the row's own, and so no difference
  const difference = { quantity: 'hsync width', measured: dots, nominal: row.horizontal.sync, unit: 'dots' }
  // cards of one kind have been met with widths of their own
  const density = fits ? best : Math.min(0.07 * NONE_HSYNC_DENSITY, best / 4)
  const kin = KIN_HSYNC_AS_ROW * density + (1 - KIN_HSYNC_AS_ROW) * NONE_HSYNC_DENSITY
  return weighed({ row: density, best, kin, none: NONE_HSYNC_DENSITY }, difference)
}

/** A picture wider or higher than the row's speaks against it (unless it is border); one just as large speaks for it. */
export function weighLitArea(
  measured: MeasuredTiming,
  row: Standard,
  which: 'dots' | 'scanlines',
): Evidence | null {
  const found = which === 'dots' ? measured.litDots : measured.litScanlines
  if (found === null) return null
  const repeated =
    which === 'dots' && measured.dotsPerScanline !== null ? dotsRepeated(measured.dotsPerScanline, row) : null
  const lit = found * (repeated ?? 1)
  const active = which === 'dots' ? row.activeDots : row.activeScanlines
  const slack = which === 'dots' ? 2 : 1
  const over = lit > active + slack
  const equal = Math.abs(lit - active) <= slack
  const difference = over ? { quantity: `lit ${which}`, measured: lit, nominal: active, unit: which } : null
  return weighed({ row: over ? 0.1 : equal ? 0.6 : 0.3, best: 0.6, none: 0.3 }, difference)
}
