// Scanlines against a row: how many, in what scan, and for how many of them vsync lasts.

import type { Measurement } from '../measurement.ts'
import { weighed, type Chances, type Evidence } from './evidence.ts'
import type { MeasuredTiming } from './measured-timing.ts'
import { scanlinesPerField, type Standard } from './standard.ts'

/** Sweep rates of unlisted video, hertz. A judgement: 50 to 85 Hz monitors, and programs that are not so exact. */
const SWEEP_RANGE = { low: 45, high: 90 } as const
/** Share of unlisted video that is interlaced. A judgement. */
const INTERLACED_SHARE = 0.2
const NONE_WIDTH = 0.12
/** By how much a relative of a row may differ from it, in scanlines. Judgements. */
const KIN_SCANLINES = { reach: 50, near: 1 / 120, far: 1 / 1500 } as const
/** Half a scanline more or less is how a progressive sweep is made interlaced. */
const KIN_INTERLACED = { half: 0.3, near: 1 / 150, far: 1 / 1500 } as const

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
