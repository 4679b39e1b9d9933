// One finding against one row: how probable it is if the row is what was captured, and if nothing listed is.
// Each function here weighs one quantity; distance.ts adds them up.

import type { Role } from '../capture/role.ts'
import type { Measurement } from '../measurement.ts'
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

/** One finding, weighed. Probabilities are natural logarithms; densities are per relative unit of rate or of scanline. */
export interface Evidence {
  logRow: number
  /** What `logRow` would be had the finding been the row's own value. */
  logBest: number
  /** If the capture is of a relative of the row that differs from it in this. */
  logKin: number
  /** If it is of something that has nothing to do with any row; the same for all of them. */
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
  trusted: { share: 0.06, relative: 0.004 },
  doubted: { share: 0.5, relative: 0.015 },
} as const

/** A row's main crystal is this much more likely than all its variants together. */
const MAIN_CRYSTAL_SHARE = 0.75

/** Scanline rates of unlisted video, hertz: nothing between speaks for one more than for another (log-uniform). A judgement. */
const RATE_RANGE = { low: 10e3, high: 75e3 } as const
const NONE_RATE_DENSITY = 1 / Math.log(RATE_RANGE.high / RATE_RANGE.low)
/** Sweep rates of unlisted video, hertz. A judgement: 50 to 85 Hz monitors, and programs that are not so exact. */
const SWEEP_RANGE = { low: 45, high: 90 } as const
/** Share of unlisted video that is interlaced. A judgement. */
const INTERLACED_SHARE = 0.2
/** Counts of dots are mostly multiples of 8 or 9, from some 400 to 1400. */
const NONE_DOTS = 1 / 150
const NONE_WIDTH = 0.12
const NONE_POLARITY = 0.5
/** An hsync takes 4 to 16 % of the scanline, hence the density over the scanline: all rows but two lie within. */
const NONE_HSYNC_DENSITY = 1 / 0.12

/**
 * A relative of a row: a card of the same family with another crystal, another program in its controller, other dots. By
 * how much it may differ, in relative units of rate, scanlines, and as a share of dots. Judgements.
 */
const KIN_RATE = { reach: 0.1, density: 4, beyond: 0.1 } as const
const KIN_SCANLINES = { reach: 50, near: 1 / 120, far: 1 / 1500 } as const
/** Half a scanline more or less is how a progressive sweep is made interlaced. */
const KIN_INTERLACED = { half: 0.3, near: 1 / 150, far: 1 / 1500 } as const
const KIN_DOTS = { reach: 0.25, near: 1 / 120, far: 1 / 1200 } as const
/** What does not make a timing, a relative has as its row has it, this often. */
const KIN_AS_ROW = 0.9
/** Where the dots are others, their hsync has the row's share of the scanline by chance, or because a monitor wants it. */
const KIN_HSYNC_AS_ROW = 0.3

/** GUM (JCGM 100:2008) 4.3.7: limits +-a with nothing known between them have standard uncertainty a / sqrt 3. */
function ofLimits(halfWidth: number): number {
  return halfWidth / Math.sqrt(3)
}

/**
 * Density of a value that is allowed anywhere within +-`halfWidth` and measured with standard uncertainty `sigma`: flat,
 * with the slopes of a normal density at its ends; it integrates to 1.
 */
function logToleranceDensity(distance: number, halfWidth: number, sigma: number): number {
  const beyond = Math.max(0, Math.abs(distance) - halfWidth)
  return -0.5 * (beyond / sigma) ** 2 - Math.log(2 * halfWidth + sigma * Math.sqrt(2 * Math.PI))
}

function logNormalDensity(distance: number, sigma: number): number {
  return -0.5 * (distance / sigma) ** 2 - Math.log(sigma * Math.sqrt(2 * Math.PI))
}

/** ln(e^a + e^b), where e^a alone may be beyond floating point. */
export function logSum(a: number, b: number): number {
  const high = Math.max(a, b)
  return high === -Infinity ? high : high + Math.log(Math.exp(a - high) + Math.exp(b - high))
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
  const own = measured.hsyncHz.uncertainty / measured.hsyncHz.value
  const measuring = Math.hypot(own, ofLimits(INSTRUMENT_TOLERANCE))
  const label = measured.timeScaleTrusted ? LABEL_ERROR.trusted : LABEL_ERROR.doubted
  const density = (distance: number): number =>
    logSum(
      Math.log(1 - label.share) + logToleranceDensity(distance, row.rateTolerance, measuring),
      Math.log(label.share) + logNormalDensity(distance, Math.hypot(sigma, label.relative)),
    )
  const main = dotClockHz === row.dotClockHz
  const share = row.dotClockVariantsHz.length === 0 ? 1 : main ? MAIN_CRYSTAL_SHARE : 1 - MAIN_CRYSTAL_SHARE
  const inTolerances = Math.abs(relative) / sigma
  return {
    logRow: Math.log(share) + density(relative),
    logBest: Math.log(share) + density(0),
    logKin: Math.log(Math.abs(relative) < KIN_RATE.reach ? KIN_RATE.density : KIN_RATE.beyond),
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

/** The probabilities of one finding. */
interface Chances {
  row: number
  /** Had it been the row's own. */
  best: number
  /** Default: mostly as the row, else as anything. */
  kin?: number
  none: number
}

/** Weighs a finding by its chances; the equivalent distance goes into `difference`. */
function weighed(chances: Chances, difference: Omit<Difference, 'inTolerances'> | null): Evidence {
  const { row, best, none, kin = KIN_AS_ROW * row + (1 - KIN_AS_ROW) * none } = chances
  const logRow = Math.log(row)
  const logBest = Math.log(best)
  const inTolerances = Math.sqrt(Math.max(0, 2 * (logBest - logRow)))
  // an accepted alternative that is as likely as the row's own value is no difference
  const named = difference && inTolerances > 1e-6 ? { ...difference, inTolerances } : null
  return { logRow, logBest, logKin: Math.log(kin), logNone: Math.log(none), difference: named }
}

/** Scanlines per sweep from the count, else from the two rates; null when neither is there. */
function scanlinesPerSweep(measured: MeasuredTiming): Measurement | null {
  const counted = measured.scanlinesPerFrame
  if (counted !== null) {
    // a sweep of an interlaced frame ends in half a scanline: what is whole is the frame's
    const value = measured.interlaced && counted % 1 === 0 ? counted / 2 : counted
    return { value, uncertainty: 0.1 }
  }
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
  const { value } = sweep
  const own = scanlinesPerField(row)
  const reach = 0.2 + 2 * sweep.uncertainty
  const accepted = row.interlaced ? [own] : row.scanlinesAccepted
  const place = accepted.findIndex((scanlines) => Math.abs(scanlines - value) <= reach)
  const first = accepted.length === 1 ? 0.93 : 0.7
  const off = Math.abs(value - own)
  let probability: number
  if (place === 0) probability = first
  else if (place > 0) probability = 0.23 / (accepted.length - 1)
  // scanlines are counted, not estimated: only the one in which vsync falls, and a wrong pulse, leave room for error
  else if (off <= 1 + reach) probability = 0.002
  else probability = 0.00002
  const difference =
    place === 0 ? null : { quantity: 'scanlines per frame', measured: value, nominal: own, unit: 'scanlines' }
  return weighed({ row: probability, best: first, ...otherScanlines(measured, value, off) }, difference)
}

/** Probability of a count of scanlines for what is not the row. */
function otherScanlines(
  { hsyncHz, interlaced }: MeasuredTiming,
  sweep: number,
  off: number,
): Pick<Chances, 'kin' | 'none'> {
  const rate = hsyncHz.value / sweep
  const likely = rate > SWEEP_RANGE.low && rate < SWEEP_RANGE.high
  const counts = hsyncHz.value / SWEEP_RANGE.low - hsyncHz.value / SWEEP_RANGE.high
  const isNear = off <= KIN_SCANLINES.reach
  const { half, near, far } = KIN_INTERLACED
  const kin = !interlaced
    ? (1 - INTERLACED_SHARE) * (isNear ? KIN_SCANLINES.near : KIN_SCANLINES.far)
    : INTERLACED_SHARE * (off < 0.75 ? half : isNear ? near : far)
  const scan = interlaced ? INTERLACED_SHARE : 1 - INTERLACED_SHARE
  return { kin, none: (scan * (likely ? 0.9 : 0.02)) / counts }
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

export function weighPolarity(
  measured: MeasuredTiming,
  row: Standard,
  which: 'hsync' | 'vsync',
): Evidence | null {
  const found = which === 'hsync' ? measured.hsyncPolarity : measured.vsyncPolarity
  const nominal = which === 'hsync' ? row.hsyncPolarity : row.vsyncPolarity
  if (found === null) return null
  if (nominal === null) return weighed({ row: NONE_POLARITY, best: NONE_POLARITY, none: NONE_POLARITY }, null)
  // a probe may sit before or after an inverter, and pin lists disagree on vsync more often than on hsync
  const right = which === 'hsync' ? 0.9 : 0.85
  const matches = found === nominal
  const difference = matches ? null : { quantity: `${which} polarity`, measured: found, nominal, unit: '' }
  return weighed({ row: matches ? right : 1 - right, best: right, none: NONE_POLARITY }, difference)
}

export function weighHsyncWidth(measured: MeasuredTiming, row: Standard): Evidence | null {
  const width = measured.hsyncWidthSeconds
  if (width === null) return null
  // as a share of the scanline, so that a wrong time scale does not matter
  const dots = width.value * measured.hsyncHz.value * row.dotsPerScanline
  const reach = 2 + 3 * width.uncertainty * measured.hsyncHz.value * row.dotsPerScanline
  const fits = row.syncDotsAccepted.some((accepted) => Math.abs(accepted - dots) <= reach)
  const own = Math.abs(row.horizontal.sync - dots) <= reach
  // a density over the scanline: the surer the width, the more a match says
  const best = ((0.9 / row.syncDotsAccepted.length) * row.dotsPerScanline) / (2 * reach)
  const difference = own
    ? null
    : { quantity: 'hsync width', measured: dots, nominal: row.horizontal.sync, unit: 'dots' }
  // cards of one kind have been met with widths of their own
  const density = fits ? best : Math.min(0.07 * NONE_HSYNC_DENSITY, best / 4)
  const kin = KIN_HSYNC_AS_ROW * density + (1 - KIN_HSYNC_AS_ROW) * NONE_HSYNC_DENSITY
  return weighed({ row: density, best, kin, none: NONE_HSYNC_DENSITY }, difference)
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
  return weighed({ row: probability, best, none: NONE_WIDTH }, difference)
}

export function weighInterlace(measured: MeasuredTiming, row: Standard): Evidence | null {
  if (measured.scanlinesPerFrame === null) return null
  const matches = measured.interlaced === row.interlaced
  const words = (interlaced: boolean): string => (interlaced ? 'interlaced' : 'progressive')
  const difference = matches
    ? null
    : { quantity: 'scan', measured: words(measured.interlaced), nominal: words(row.interlaced), unit: '' }
  // what else is interlaced is told by the count of scanlines, which ends in a half
  return weighed({ row: matches ? 0.98 : 0.02, best: 0.98, kin: 1, none: 1 }, difference)
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
  return weighed({ row: probability, best, none }, difference)
}
