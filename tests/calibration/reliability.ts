// Answers held against what was captured → a reliability table: how often an answer of a given confidence is right.

import type { Classification } from '../../src/classify/classify.ts'

/** One answer, judged. */
export interface JudgedAnswer {
  /** 0 to 1. */
  confidence: number
  right: boolean
}

/** What a classification claims, as its reader takes it: a name, one name of several, or "none of these". */
export function answersOf(
  { standard, family, familyConfidence, noneConfidence }: Classification,
  /** The row that stands for what was captured; null where it is in no catalogue. */
  truth: string | null,
): { named: JudgedAnswer | null; family: JudgedAnswer | null; none: JudgedAnswer | null } {
  return {
    named: standard && { confidence: standard.confidence, right: standard.id === truth },
    family:
      family.length === 0
        ? null
        : { confidence: familyConfidence, right: family.some(({ id }) => id === truth) },
    none: family.length > 0 ? null : { confidence: noneConfidence, right: truth === null },
  }
}

export interface ReliabilityBin {
  /** Confidence from (included) and to (excluded, but for 1). */
  from: number
  to: number
  count: number
  right: number
  /** Sum of the confidences: what `right` would be, were they exact. */
  expected: number
}

const EDGES = [0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 0.999, 1] as const

export function reliability(answers: readonly JudgedAnswer[]): ReliabilityBin[] {
  return EDGES.slice(1).map((to, place) => {
    const from = EDGES[place]!
    const inside = answers.filter(({ confidence }) => confidence >= from && (confidence < to || to === 1))
    return {
      from,
      to,
      count: inside.length,
      right: inside.filter(({ right }) => right).length,
      expected: inside.reduce((sum, { confidence }) => sum + confidence, 0),
    }
  })
}

/** Share of right ones among the answers of at least that confidence, with how many there are; 1 of none. */
export function shareRight(
  answers: readonly JudgedAnswer[],
  confidence: number,
): { count: number; share: number } {
  const sure = answers.filter((answer) => answer.confidence >= confidence)
  const right = sure.filter((answer) => answer.right).length
  return { count: sure.length, share: sure.length === 0 ? 1 : right / sure.length }
}

/** The table as text, a title above it. */
export function reliabilityText(title: string, answers: readonly JudgedAnswer[]): string {
  const rows = reliability(answers)
    .filter(({ count }) => count > 0)
    .map(({ from, to, count, right, expected }) => {
      const share = `${((100 * right) / count).toFixed(1)} %`
      const claimed = `${((100 * expected) / count).toFixed(1)} %`
      return [`${from} to ${to}`.padEnd(14), count, right, share, claimed]
        .map((cell, place) => (place === 0 ? cell : String(cell).padStart(10)))
        .join('')
    })
  const { count, share } = shareRight(answers, 0.9)
  return [
    title,
    `confidence    ${['count', 'right', 'share', 'claimed'].map((word) => word.padStart(10)).join('')}`,
    ...rows,
    `0.9 or more: ${(100 * share).toFixed(1)} % of ${count} right`,
  ].join('\n')
}
