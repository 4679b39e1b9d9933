// Measured raster -> ranked standards with reasons. "None of these" is one of the hypotheses, and can win.

import { compareWith } from './distance.ts'
import { logSum, type Difference } from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import { scanlinesPerField, type Standard } from './standard.ts'
import { STANDARDS } from './standards.ts'

export type { Difference } from './evidence.ts'
export type { MeasuredTiming } from './measured-timing.ts'

/** One row of the catalogue as an answer. */
export interface Candidate {
  id: string
  name: string
  /** Posterior probability, 0 to 1; the candidates and "none of these" add up to 1. */
  confidence: number
  /** Combined distance in standard deviations. */
  distance: number
  standard: Standard
  /** The row's crystal that fits best, hertz: `standard.dotClockHz` or one of its variants. */
  dotClockHz: number
  /** Where measurement and row part, largest first; empty when they agree. */
  differences: readonly Difference[]
}

export interface Classification {
  /** null = none of these. */
  standard: Candidate | null
  /** Runners-up of at least 1 % confidence, best first; the standard itself is not repeated. */
  alternatives: readonly Candidate[]
  /** Row at the smallest distance, also when no row matches. */
  nearest: Candidate
  /**
   * The answer with every row that what was measured does not tell from it, best first: the standard alone where it is
   * told from all others, several where not enough was captured, none where nothing listed matches.
   */
  family: readonly Candidate[]
  /** Probability that one of `family` is right, 0 to 1; 0 without one. */
  familyConfidence: number
  /** Probability of "none of these", 0 to 1. */
  noneConfidence: number
  /** What cannot be told apart, as a sentence; null when the answer is one mode. */
  familyNote: string | null
}

/**
 * Share of captures, before anything is measured, that are of a listed timing; of a relative of one that is not listed;
 * of anything else. Judgements.
 */
const PRIOR = { row: 0.5, kin: 0.33, none: 0.17 } as const

/**
 * How much likelier than a rare timing (weight 1) the common ones are before anything is measured. A judgement:
 * who asks has a 9-pin connector or a small VGA design. `cga-200` stands for the most cards and modes by far.
 */
const WEIGHTS: ReadonlyMap<string, number> = new Map([
  ['mda-350', 4],
  ['mono-348', 4],
  ['cga-200', 8],
  ['ega-200', 2],
  ['ega-350', 4],
  ['vga-350-70', 4],
  ['vga-400-70', 4],
  ['vga-text-400-70', 4],
  ['vga-480-60', 4],
])

const LEAST_CONFIDENCE = 0.01

/** Below this the best row is one guess among several, and not given as the answer. */
const LEAST_ANSWER = 0.3

/** An alternative this close to the best (ratio of confidences) counts as not told apart. */
const RIVAL_RATIO = 0.2

/**
 * Names the timing.
 *
 * Posterior by Bayes' rule over the rows and "none of these"; rows that share another row's timing do not compete.
 *
 * @param standards rows to choose from, at least one that competes
 * @throws {RangeError} when no row competes
 */
export function classify(
  measured: MeasuredTiming,
  standards: readonly Standard[] = STANDARDS,
): Classification {
  const rows = standards.filter((row) => row.sameTimingAs === undefined)
  const weights = rows.map((row) => WEIGHTS.get(row.id) ?? 1)
  const allWeights = weights.reduce((sum, weight) => sum + weight, 0)
  const compared = rows.map((row, i) => {
    const comparison = compareWith(measured, row)
    const logShare = Math.log(weights[i]! / allWeights)
    return {
      row,
      comparison,
      logPosterior: Math.log(PRIOR.row) + logShare + comparison.logRow,
      logKin: Math.log(PRIOR.kin) + logShare + comparison.logKin,
    }
  })
  const [first] = compared
  if (!first) throw new RangeError('classify needs at least one standard that stands for itself')
  const logNone = compared.reduce(
    (sum, { logKin }) => logSum(sum, logKin),
    Math.log(PRIOR.none) + first.comparison.logNone,
  )
  const logTotal = compared.reduce((sum, { logPosterior }) => logSum(sum, logPosterior), logNone)
  const candidates = compared
    .map(({ row, comparison, logPosterior }): Candidate => {
      const { distance, differences, dotClockHz } = comparison
      const confidence = Math.exp(logPosterior - logTotal)
      return { id: row.id, name: row.name, confidence, distance, standard: row, dotClockHz, differences }
    })
    .sort((a, b) => b.confidence - a.confidence)
  const best = candidates[0]!
  const nearest = candidates.reduce((near, candidate) =>
    candidate.distance < near.distance ? candidate : near,
  )
  const noneConfidence = Math.exp(logNone - logTotal)
  const family =
    noneConfidence < 0.5
      ? candidates.filter(({ confidence }) => confidence >= RIVAL_RATIO * best.confidence)
      : []
  const chosen = noneConfidence < 0.5 && best.confidence >= LEAST_ANSWER ? best : null
  const alternatives = candidates.filter(
    (candidate) => candidate !== chosen && candidate.confidence >= LEAST_CONFIDENCE,
  )
  return {
    standard: chosen,
    alternatives,
    nearest,
    family,
    familyConfidence: family.reduce((sum, { confidence }) => sum + confidence, 0),
    noneConfidence,
    familyNote: chosen && familyNote(chosen, family, measured, standards),
  }
}

function familyNote(
  chosen: Candidate,
  family: readonly Candidate[],
  measured: MeasuredTiming,
  standards: readonly Standard[],
): string | null {
  const sentences: string[] = []
  for (const rival of family) {
    if (rival === chosen) continue
    const deciders = whatWouldTell(chosen.standard, rival.standard, measured)
    const help = deciders.length > 0 ? ` ${capital(deciders.join(', or '))} would tell.` : ''
    sentences.push(`What was measured fits ${chosen.name} and ${rival.name} about as well.${help}`)
  }
  // a row with another crystal is a twin only as a variant, and its rate does tell
  const twins = standards.filter(
    ({ sameTimingAs, dotClockHz }) => sameTimingAs === chosen.id && dotClockHz === chosen.standard.dotClockHz,
  )
  if (twins.length > 0) {
    const names = [chosen.standard, ...twins].map(({ name }) => name).join('; ')
    sentences.push(`Timing alone does not tell these apart: ${names}.`)
  }
  return sentences.length > 0 ? sentences.join(' ') : null
}

/** Quantities in which two rows differ and which the capture did not give. */
function whatWouldTell(a: Standard, b: Standard, measured: MeasuredTiming): string[] {
  const deciders: string[] = []
  if (measured.dotsPerScanline === null && a.dotsPerScanline !== b.dotsPerScanline) {
    deciders.push(`dots per scanline (${a.dotsPerScanline} against ${b.dotsPerScanline})`)
  }
  if (
    measured.scanlinesPerFrame === null &&
    measured.vsyncHz === null &&
    scanlinesPerField(a) !== scanlinesPerField(b)
  ) {
    deciders.push(`scanlines per frame (${scanlinesPerField(a)} against ${scanlinesPerField(b)})`)
  }
  if (measured.vsyncWidthScanlines === null && a.vertical.sync !== b.vertical.sync) {
    deciders.push(`the width of vsync (${a.vertical.sync} against ${b.vertical.sync} scanlines)`)
  }
  if (measured.vsyncPolarity === null && a.vsyncPolarity !== b.vsyncPolarity) {
    deciders.push('the polarity of vsync')
  }
  if (measured.hsyncPolarity === null && a.hsyncPolarity !== b.hsyncPolarity) {
    deciders.push('the polarity of hsync')
  }
  return deciders
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}
