// One finding against one row: how probable it is if the row is what was captured, and if nothing listed is.
// Each function here weighs one quantity; distance.ts adds them up.

import type { Role } from '../capture/role.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import { scanlinesPerField, type ColourWires, type Standard } from './standard.ts'

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

/** One finding, weighed. Probabilities are natural logarithms; densities are per relative unit of rate. */
export interface Evidence {
  logRow: number
  /** What `logRow` would be had the finding been the row's own value. */
  logBest: number
  logNone: number
  difference: Difference | null
}

/** A cheap oscillator in the instrument, relative half-width: +-100 ppm is what parts lists print (common practice). */
const INSTRUMENT_TOLERANCE = 100e-6

/**
 * The share of captures whose time scale is off by more than crystals explain, and by how much (relative, k = 1):
 * a rounded rate label is typically 0.2 % out; whole nanoseconds where 41.667 was meant are 1.6 % out.
 */
const LABEL_ERROR = {
  trusted: { share: 0.1, relative: 0.007 },
  doubted: { share: 0.5, relative: 0.015 },
} as const

/** A row's main crystal is this much more likely than all its variants together. */
const MAIN_CRYSTAL_SHARE = 0.75

/**
 * If nothing listed was captured: probability density of the rate near any row (per relative unit), and
 * probabilities of one given count. Unlisted modes crowd round the same monitors, hence a rate says little.
 */
const NONE_RATE_DENSITY = 60
const NONE_SCANLINES = 1 / 60
const NONE_DOTS = 1 / 150
const NONE_WIDTH = 0.12
const NONE_POLARITY = 0.5

/** GUM (JCGM 100:2008) 4.3.7: limits +-a with nothing known between them have standard uncertainty a / sqrt 3. */
function ofLimits(halfWidth: number): number {
  return halfWidth / Math.sqrt(3)
}

function logNormalDensity(distance: number, sigma: number): number {
  return -0.5 * (distance / sigma) ** 2 - Math.log(sigma * Math.sqrt(2 * Math.PI))
}

function logSum(a: number, b: number): number {
  const high = Math.max(a, b)
  return high + Math.log(Math.exp(a - high) + Math.exp(b - high))
}

/** Relative standard uncertainty of a scanline rate against a row: measurement, published tolerance, both clocks. */
export function rateSigma(measured: MeasuredTiming, row: Standard): number {
  const own = measured.hsyncHz.uncertainty / measured.hsyncHz.value
  return Math.hypot(own, ofLimits(row.rateTolerance), ofLimits(INSTRUMENT_TOLERANCE))
}

/** The crystal among the row's that explains the rate best, hertz. */
export function nearestDotClockHz(measured: MeasuredTiming, row: Standard): number {
  const wanted = measured.hsyncHz.value * row.dotsPerScanline
  let best = row.dotClockHz
  for (const variant of row.dotClockVariantsHz) {
    if (Math.abs(variant - wanted) < Math.abs(best - wanted)) best = variant
  }
  return best
}

export function weighScanlineRate(measured: MeasuredTiming, row: Standard): Evidence {
  const dotClockHz = nearestDotClockHz(measured, row)
  const nominal = dotClockHz / row.dotsPerScanline
  const relative = measured.hsyncHz.value / nominal - 1
  const sigma = rateSigma(measured, row)
  const label = measured.timeScaleTrusted ? LABEL_ERROR.trusted : LABEL_ERROR.doubted
  const density = (distance: number): number =>
    logSum(
      Math.log(1 - label.share) + logNormalDensity(distance, sigma),
      Math.log(label.share) + logNormalDensity(distance, Math.hypot(sigma, label.relative)),
    )
  const main = dotClockHz === row.dotClockHz
  const share = row.dotClockVariantsHz.length === 0 ? 1 : main ? MAIN_CRYSTAL_SHARE : 1 - MAIN_CRYSTAL_SHARE
  const inTolerances = Math.abs(relative) / sigma
  return {
    logRow: Math.log(share) + density(relative),
    logBest: Math.log(share) + density(0),
    logNone: Math.log(NONE_RATE_DENSITY),
    difference:
      inTolerances > 1
        ? {
            quantity: 'scanline rate',
            measured: measured.hsyncHz.value,
            nominal,
            unit: 'Hz',
            inTolerances,
          }
        : null,
  }
}

/** Weighs a finding that can be `probability` likely against a best case; the equivalent distance goes into `difference`. */
function weighed(
  probability: number,
  best: number,
  none: number,
  difference: Omit<Difference, 'inTolerances'> | null,
): Evidence {
  const logRow = Math.log(probability)
  const logBest = Math.log(best)
  const inTolerances = Math.sqrt(Math.max(0, 2 * (logBest - logRow)))
  // an accepted alternative that is as likely as the row's own value is no difference
  const named = difference && inTolerances > 1e-6 ? { ...difference, inTolerances } : null
  return { logRow, logBest, logNone: Math.log(none), difference: named }
}

/** Scanlines per sweep from the count, else from the two rates; null when neither is there. */
function scanlinesPerSweep(measured: MeasuredTiming): { value: number; uncertainty: number } | null {
  if (measured.scanlinesPerFrame !== null) return { value: measured.scanlinesPerFrame, uncertainty: 0.1 }
  if (measured.vsyncHz === null || measured.vsyncHz.value <= 0) return null
  const value = measured.hsyncHz.value / measured.vsyncHz.value
  const relative = Math.hypot(
    measured.hsyncHz.uncertainty / measured.hsyncHz.value,
    measured.vsyncHz.uncertainty / measured.vsyncHz.value,
  )
  return { value, uncertainty: Math.hypot(0.1, value * relative) }
}

export function weighScanlines(measured: MeasuredTiming, row: Standard): Evidence | null {
  const sweep = scanlinesPerSweep(measured)
  if (sweep === null) return null
  const own = scanlinesPerField(row)
  // a reader may give the frame or the field; the field is what a row's rates are made of
  const value = row.interlaced && sweep.value > own * 1.5 ? sweep.value / 2 : sweep.value
  const reach = 0.2 + 2 * sweep.uncertainty
  const accepted = row.interlaced ? [own] : row.scanlinesAccepted
  const place = accepted.findIndex((scanlines) => Math.abs(scanlines - value) <= reach)
  const first = accepted.length === 1 ? 0.93 : 0.7
  let probability: number
  if (place === 0) probability = first
  else if (place > 0) probability = 0.23 / (accepted.length - 1)
  else if (Math.abs(value - own) <= 1 + reach) probability = 0.02
  else if (Math.abs(value - own) <= own * 0.02) probability = 0.002
  else probability = 0.0002
  const difference =
    place === 0 ? null : { quantity: 'scanlines per frame', measured: value, nominal: own, unit: 'scanlines' }
  return weighed(probability, first, NONE_SCANLINES, difference)
}

/** Says a wrong frame rate outright; it carries no weight of its own, being the quotient of two findings weighed above. */
export function frameRateDifference(measured: MeasuredTiming, row: Standard): Difference | null {
  if (measured.vsyncHz === null) return null
  const counted = measured.scanlinesPerFrame
  const accepted = counted !== null && row.scanlinesAccepted.includes(counted)
  const scanlines = accepted ? counted : scanlinesPerField(row)
  const nominal = nearestDotClockHz(measured, row) / row.dotsPerScanline / scanlines
  const sigma = Math.hypot(rateSigma(measured, row), measured.vsyncHz.uncertainty / measured.vsyncHz.value)
  const inTolerances = Math.abs(measured.vsyncHz.value / nominal - 1) / sigma
  if (inTolerances <= 1) return null
  return { quantity: 'frame rate', measured: measured.vsyncHz.value, nominal, unit: 'Hz', inTolerances }
}

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
  // a false count is possible (the instrument's own grid coheres too), so a miss is dear but not the end
  const probability = times === 1 ? 0.75 : times === 2 ? 0.15 : times === 4 ? 0.03 : 0.0005
  const difference =
    times === 1
      ? null
      : { quantity: 'dots per scanline', measured: dots, nominal: row.dotsPerScanline, unit: 'dots' }
  return weighed(probability, 0.75, NONE_DOTS, difference)
}

export function weighPolarity(
  measured: MeasuredTiming,
  row: Standard,
  which: 'hsync' | 'vsync',
): Evidence | null {
  const found = which === 'hsync' ? measured.hsyncPolarity : measured.vsyncPolarity
  const nominal = which === 'hsync' ? row.hsyncPolarity : row.vsyncPolarity
  if (found === null) return null
  if (nominal === null) return weighed(NONE_POLARITY, NONE_POLARITY, NONE_POLARITY, null)
  // a probe may sit before or after an inverter, and pin lists disagree on vsync more often than on hsync
  const right = which === 'hsync' ? 0.9 : 0.85
  const matches = found === nominal
  const difference = matches ? null : { quantity: `${which} polarity`, measured: found, nominal, unit: '' }
  return weighed(matches ? right : 1 - right, right, NONE_POLARITY, difference)
}

export function weighHsyncWidth(measured: MeasuredTiming, row: Standard): Evidence | null {
  const width = measured.hsyncWidthSeconds
  if (width === null) return null
  // as a share of the scanline, so that a wrong time scale does not matter
  const dots = width.value * measured.hsyncHz.value * row.dotsPerScanline
  const reach = 3 + 3 * width.uncertainty * measured.hsyncHz.value * row.dotsPerScanline
  const fits = row.syncDotsAccepted.some((accepted) => Math.abs(accepted - dots) <= reach)
  const own = Math.abs(row.horizontal.sync - dots) <= reach
  const best = 0.85 / row.syncDotsAccepted.length
  const difference = own
    ? null
    : { quantity: 'hsync width', measured: dots, nominal: row.horizontal.sync, unit: 'dots' }
  return weighed(fits ? best : Math.min(0.03, best / 4), best, NONE_WIDTH, difference)
}

export function weighVsyncWidth(measured: MeasuredTiming, row: Standard): Evidence | null {
  const width = measured.vsyncWidthScanlines
  if (width === null) return null
  const accepted = row.vsyncScanlinesAccepted
  // vsync may begin and end anywhere in a scanline
  const place = accepted.findIndex((scanlines) => Math.abs(scanlines - width) <= 0.6)
  const best = accepted.length === 1 ? 0.9 : 0.8
  const probability = place === 0 ? best : place > 0 ? 0.15 / (accepted.length - 1) : 0.03
  const difference =
    place === 0
      ? null
      : { quantity: 'vsync width', measured: width, nominal: row.vertical.sync, unit: 'scanlines' }
  return weighed(probability, best, NONE_WIDTH, difference)
}

export function weighInterlace(measured: MeasuredTiming, row: Standard): Evidence | null {
  if (measured.scanlinesPerFrame === null) return null
  const matches = measured.interlaced === row.interlaced
  const words = (interlaced: boolean): string => (interlaced ? 'interlaced' : 'progressive')
  const difference = matches
    ? null
    : { quantity: 'scan', measured: words(measured.interlaced), nominal: words(row.interlaced), unit: '' }
  return weighed(matches ? 0.98 : 0.02, 0.98, measured.interlaced ? 0.1 : 0.9, difference)
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
  return weighed(over ? 0.1 : equal ? 0.6 : 0.3, 0.6, 0.3, difference)
}

/** The set of colour wires a capture has, as far as its channel names tell. */
type CapturedWires = 'mono' | 'rgb' | 'rgbi' | 'two bits'

function capturedWires(roles: ReadonlySet<Role>): CapturedWires | null {
  if (roles.has('secondary-red') || roles.has('secondary-green') || roles.has('secondary-blue'))
    return 'two bits'
  const colour = roles.has('red') || roles.has('green') || roles.has('blue')
  if (roles.has('video')) return colour ? null : 'mono'
  if (!colour) return null
  return roles.has('intensity') ? 'rgbi' : 'rgb'
}

/** Probability of a set of captured wires, given the card's; the last column is "nothing listed". Judgement, no source. */
const WIRES: Readonly<Record<CapturedWires, Readonly<Record<ColourWires | 'none', number>>>> = {
  mono: { mono: 0.9, rgb: 0.03, rgbi: 0.03, rgbrgb: 0.03, analog: 0.03, none: 0.25 },
  rgb: { mono: 0.02, rgb: 0.9, rgbi: 0.35, rgbrgb: 0.25, analog: 0.6, none: 0.3 },
  rgbi: { mono: 0.02, rgb: 0.1, rgbi: 0.9, rgbrgb: 0.25, analog: 0.1, none: 0.25 },
  'two bits': { mono: 0.1, rgb: 0.05, rgbi: 0.1, rgbrgb: 0.9, analog: 0.8, none: 0.2 },
}

export function weighWires(measured: MeasuredTiming, row: Standard): Evidence | null {
  const wires = capturedWires(measured.roles)
  if (wires === null) return null
  const chances = WIRES[wires]
  const { none, ...known } = chances
  const probability = chances[row.colour]
  const best = Math.max(...Object.values(known))
  const difference =
    probability < best / 5
      ? { quantity: 'colour wires', measured: wires, nominal: row.colour, unit: '' }
      : null
  return weighed(probability, best, none, difference)
}
