// A measured capture → the one sentence that a reader takes home.

import type { CaptureMeasurement } from '../measure.ts'
import type { PulseMeasurement } from '../measure-pulses.ts'
import { count, percent, plain } from '../report/number-text.ts'
import { FAULT_KINDS } from '../sync/sync-fault.ts'

/** `This is …, and its sync is clean.` */
export function verdict({ main }: CaptureMeasurement, pulses: PulseMeasurement): string {
  const { standard, nearest } = main.classification
  const { hsync, vsync, raster } = main
  const rates = [
    plain(hsync.frequencyHz.value, 'Hz', 5),
    ...(vsync?.frequencyHz ? [plain(vsync.frequencyHz.value, 'Hz', 4)] : []),
  ].join(' and ')
  const lattice =
    raster.dotsPerScanline !== null && raster.scanlinesPerFrame !== null
      ? `, ${raster.dotsPerScanline} dots by ${raster.scanlinesPerFrame} scanlines`
      : ''
  const what = standard
    ? `This is ${standard.name} (${standard.id}), confidence ${percent(standard.confidence)}`
    : `This is none of the known standards: ${rates}${lattice}, nearest to ${nearest.name} (${nearest.id})`
  return `${what}; ${syncVerdict(pulses)}.`
}

function syncVerdict({ faultCounts, oddFrames }: PulseMeasurement): string {
  const kinds = FAULT_KINDS.filter((kind) => faultCounts[kind] > 0)
  if (kinds.length === 0) {
    return oddFrames === 0
      ? 'every sync pulse is where it belongs'
      : `every sync pulse is where it belongs, but ${count(oddFrames, 'frame')} differ${oddFrames === 1 ? 's' : ''} in length`
  }
  const list = kinds.map((kind) => `${faultCounts[kind]} ${kind}`).join(', ')
  const total = kinds.reduce((sum, kind) => sum + faultCounts[kind], 0)
  const effect =
    faultCounts.extra + faultCounts.missing > 0
      ? 'whoever counts its sync edges miscounts, and the picture jumps'
      : 'whoever counts its sync edges is not misled'
  return `its sync has ${count(total, 'fault')} (${list}), so ${effect}`
}
