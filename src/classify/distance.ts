// How far a measured raster lies from one row of the catalogue, in units of its own uncertainty and the row's tolerance.

import { logSum, type Difference, type Evidence } from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import type { Standard } from './standard.ts'
import { weighDots, weighHsyncWidth, weighLitArea } from './weigh-dots.ts'
import { frameRateDifference, nearestDotClockHz, weighScanlineRate } from './weigh-rate.ts'
import { weighInterlace, weighScanlines, weighVsyncWidth } from './weigh-scanlines.ts'
import { weighPolarity, weighWires } from './weigh-wires.ts'

/** A row held against a measurement. */
export interface Comparison {
  /**
   * Combined distance in standard deviations: the root of the summed squares, where a finding that is a choice
   * (a polarity, a count) counts as the deviation of equal probability.
   */
  distance: number
  /** Natural logarithm of P(findings | row). */
  logRow: number
  /** The same for a relative of the row: a timing like it that differs in at least one of the things that make a timing. */
  logKin: number
  /** The same for what has nothing to do with any row; it does not depend on the row. */
  logNone: number
  /** Largest first. */
  differences: readonly Difference[]
  /** The row's crystal that fits best, hertz. */
  dotClockHz: number
}

/** What makes a timing: the scanline rate; scanlines and their scan; dots, with the hsync that is counted in them. */
const IDENTITY = ['rate', 'scanlines', 'dots'] as const
type Part = (typeof IDENTITY)[number]

/**
 * In what a relative of a row differs from it, and how often: shares, adding up to 1. Judgements. Programs change the
 * vertical most readily; other dots at the same crystal change the rate as well.
 */
const KIN_DIFFERS: readonly (readonly [readonly Part[], number])[] = [
  [['scanlines'], 0.3],
  [['dots'], 0.25],
  [['rate'], 0.12],
  [['rate', 'dots'], 0.13],
  [['rate', 'scanlines'], 0.05],
  [['scanlines', 'dots'], 0.05],
  [['rate', 'scanlines', 'dots'], 0.1],
]

/**
 * Holds one row against the measurement.
 *
 * What was not measured speaks neither for nor against the row; but it is where a relative may differ unseen, so that the
 * row is the less certain the less was measured.
 */
export function compareWith(measured: MeasuredTiming, row: Standard): Comparison {
  const parts: Readonly<Record<Part, (Evidence | null)[]>> = {
    rate: [weighScanlineRate(measured, row)],
    scanlines: [weighScanlines(measured, row), weighInterlace(measured, row)],
    dots: [weighDots(measured, row), weighHsyncWidth(measured, row)],
  }
  const habits = [
    weighPolarity(measured, row, 'hsync'),
    weighPolarity(measured, row, 'vsync'),
    weighVsyncWidth(measured, row),
    weighLitArea(measured, row, 'dots'),
    weighLitArea(measured, row, 'scanlines'),
    weighWires(measured, row),
  ]
  const findings = [...IDENTITY.flatMap((part) => parts[part]), ...habits].filter(
    (finding) => finding !== null,
  )
  const frameRate = frameRateDifference(measured, row)
  const differences = findings.flatMap(({ difference }) => (difference ? [difference] : []))
  if (frameRate) differences.push(frameRate)
  differences.sort((a, b) => b.inTolerances - a.inTolerances)
  // a normal density falls by d^2/2, hence the factor for all
  const squares = 2 * (sumOf(findings, 'logBest') - sumOf(findings, 'logRow'))
  return {
    distance: Math.sqrt(Math.max(0, squares)),
    logRow: sumOf(findings, 'logRow'),
    logKin: logKinOf(parts) + sumOf(habits, 'logKin'),
    logNone: sumOf(findings, 'logNone'),
    differences,
    dotClockHz: nearestDotClockHz(measured, row),
  }
}

function sumOf(
  findings: readonly (Evidence | null)[],
  of: 'logRow' | 'logBest' | 'logKin' | 'logNone',
): number {
  return findings.reduce((sum, finding) => sum + (finding?.[of] ?? 0), 0)
}

/** Sums over all ways in which a relative differs. */
function logKinOf(parts: Readonly<Record<Part, (Evidence | null)[]>>): number {
  let sum = -Infinity
  for (const [differing, share] of KIN_DIFFERS) {
    const ways = IDENTITY.map((part) => sumOf(parts[part], differing.includes(part) ? 'logKin' : 'logRow'))
    sum = logSum(
      sum,
      ways.reduce((all, way) => all + way, Math.log(share)),
    )
  }
  return sum
}
