// Where a false pulse falls, and in whose company → its likely cause, with the remedy in words.

import type { SyncFault } from './sync-fault.ts'

/** Likely causes; `none` for a fault that place and company say nothing about. */
export const FAULT_CAUSES = [
  'ringing',
  'bounce',
  'crosstalk',
  'noise',
  'lost',
  'displaced',
  'misshapen',
] as const
export type FaultCause = (typeof FAULT_CAUSES)[number]

/** What to do about each cause, in words. Common practice. */
export const CAUSE_REMEDIES: Readonly<Record<FaultCause, string>> = {
  ringing:
    'the edge overshoots or creeps through the threshold: a series resistor of 22 to 100 ohm at the source, a shorter ground lead, a Schmitt-trigger input',
  bounce:
    'the trailing edge rings: a series resistor of 22 to 100 ohm at the source, a shorter ground lead, a Schmitt-trigger input',
  crosstalk:
    'a colour edge couples into the sync wire: keep sync away from the colours, a ground wire beside each',
  noise:
    'nothing else happens at that moment: join the grounds close to the connector, keep away from power supplies',
  lost: 'a pulse never crossed the threshold: check the level at the input, the threshold and the contact',
  displaced:
    'the pulse came at another time: look at what the source does there, or at a slow edge near the threshold',
  misshapen:
    'the pulse had another width: a slow edge near the threshold, or the source changes it on purpose',
}

/** Share of the pulse's width, from its leading edge, that counts as at the edge. */
const NEAR_LEAD_SHARE = 0.4
/** After the trailing edge, pulse widths that count as still at it. */
const NEAR_TRAIL_SHARE = 0.5

/** Whether colour edges explain mid-scanline pulses better than chance. */
export interface CrosstalkEvidence {
  /** Extra pulses away from the sync's own edges. */
  pulses: number
  /** Those with a colour edge at the same time. */
  withColourEdge: number
  /** Probability that as many coincide by chance; 1 where nothing is to be judged. */
  chance: number
}

/** Probability below which coincidence is no accident. */
export const CROSSTALK_CHANCE = 0.01

/** What places are measured by, in ticks. */
export interface PulseShape {
  hsyncWidthTicks: number
  /** NaN without a vsync. */
  vsyncWidthTicks: number
  /** What counts as simultaneous. */
  nearTicks: number
}

/** Place of an extra pulse: at the leading edge of its sync, at the trailing edge, or neither. */
export function placeOf(fault: SyncFault, shape: PulseShape): 'lead' | 'trail' | 'away' {
  const { offsetTicks, channel } = fault
  const { hsyncWidthTicks, vsyncWidthTicks, nearTicks } = shape
  const leadReach = Math.max(NEAR_LEAD_SHARE * hsyncWidthTicks, nearTicks)
  const trailReach = NEAR_TRAIL_SHARE * hsyncWidthTicks + nearTicks
  if (offsetTicks > -leadReach && offsetTicks < leadReach) return 'lead'
  // edges of vsync ring no longer than those of hsync, and between them there is room
  const [from, width] =
    channel === 'vsync' ? [vsyncWidthTicks - trailReach, vsyncWidthTicks] : [leadReach, hsyncWidthTicks]
  return offsetTicks >= from && offsetTicks <= width + trailReach ? 'trail' : 'away'
}

/**
 * Probability of at least `hits`, where each trial has a probability of its own: the Poisson binomial distribution, one
 * trial after the other (Y. H. Wang, "On the number of successes in independent trials", Statistica Sinica 3, 1993; cited from memory).
 */
export function chanceOfEach(hits: number, shares: readonly number[]): number {
  if (hits <= 0) return 1
  if (hits > shares.length) return 0
  const of = Float64Array.from({ length: shares.length + 1 }, (_, k) => (k === 0 ? 1 : 0))
  shares.forEach((share, trial) => {
    for (let k = trial + 1; k > 0; k--) of[k] = of[k]! * (1 - share) + of[k - 1]! * share
    of[0]! *= 1 - share
  })
  // from the far end, where terms are small
  let sum = 0
  for (let k = shares.length; k >= hits; k--) sum += of[k]!
  return Math.min(1, sum)
}

/** @param colourShare of all time that lies near a colour edge: for pulses of which nobody saw how much of theirs does */
export function crosstalkEvidence(
  faults: readonly SyncFault[],
  shape: PulseShape,
  colourShare: number,
): CrosstalkEvidence {
  const shares: number[] = []
  let withColourEdge = 0
  for (const fault of faults) {
    if (fault.kind !== 'extra' || placeOf(fault, shape) !== 'away') continue
    shares.push(Number.isNaN(fault.colourShareNear) ? colourShare : fault.colourShareNear)
    if (fault.colourEdgeNear) withColourEdge++
  }
  return { pulses: shares.length, withColourEdge, chance: chanceOfEach(withColourEdge, shares) }
}

export function causeOf(fault: SyncFault, shape: PulseShape, crosstalk: CrosstalkEvidence): FaultCause {
  switch (fault.kind) {
    case 'missing':
      return 'lost'
    case 'early':
    case 'late':
      return 'displaced'
    case 'short':
    case 'width':
      return 'misshapen'
    case 'extra': {
      const place = placeOf(fault, shape)
      if (place === 'lead') return 'ringing'
      if (place === 'trail') return 'bounce'
      return fault.colourEdgeNear && crosstalk.chance < CROSSTALK_CHANCE ? 'crosstalk' : 'noise'
    }
  }
}
