// How far a measured raster lies from one row of the catalogue, in units of its own uncertainty and the row's tolerance.

import {
  frameRateDifference,
  nearestDotClockHz,
  weighDots,
  weighHsyncWidth,
  weighInterlace,
  weighLitArea,
  weighPolarity,
  weighScanlineRate,
  weighScanlines,
  weighVsyncWidth,
  weighWires,
  type Difference,
  type Evidence,
} from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import type { Standard } from './standard.ts'

/** A row held against a measurement. */
export interface Comparison {
  /**
   * Combined distance in standard deviations: the root of the summed squares, where a finding that is a choice
   * (a polarity, a count) counts as the deviation of equal probability.
   */
  distance: number
  /** Natural logarithm of P(findings | row) / P(findings | nothing listed). */
  logEvidence: number
  /** Largest first. */
  differences: readonly Difference[]
  /** The row's crystal that fits best, hertz. */
  dotClockHz: number
}

/** Holds one row against the measurement; what was not measured speaks neither for nor against. */
export function compareWith(measured: MeasuredTiming, row: Standard): Comparison {
  const findings: (Evidence | null)[] = [
    weighScanlineRate(measured, row),
    weighScanlines(measured, row),
    weighInterlace(measured, row),
    weighDots(measured, row),
    weighPolarity(measured, row, 'hsync'),
    weighPolarity(measured, row, 'vsync'),
    weighHsyncWidth(measured, row),
    weighVsyncWidth(measured, row),
    weighLitArea(measured, row, 'dots'),
    weighLitArea(measured, row, 'scanlines'),
    weighWires(measured, row),
  ]
  let squares = 0
  let logEvidence = 0
  const differences: Difference[] = []
  for (const finding of findings) {
    if (finding === null) continue
    // a normal density falls by d^2/2, hence the factor for all
    squares += 2 * (finding.logBest - finding.logRow)
    logEvidence += finding.logRow - finding.logNone
    if (finding.difference) differences.push(finding.difference)
  }
  const frameRate = frameRateDifference(measured, row)
  if (frameRate) differences.push(frameRate)
  differences.sort((a, b) => b.inTolerances - a.inTolerances)
  return {
    distance: Math.sqrt(Math.max(0, squares)),
    logEvidence,
    differences,
    dotClockHz: nearestDotClockHz(measured, row),
  }
}
