// Rates against a row: its crystals, its tolerance, and what instruments and labels are off by.

import { logSum, type Difference, type Evidence } from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import { scanlinesPerField, type Standard } from './standard.ts'

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
/** By how much a relative of a row may differ from it, in relative units of rate. Judgements. */
const KIN_RATE = { reach: 0.1, density: 4, beyond: 0.1 } as const

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
