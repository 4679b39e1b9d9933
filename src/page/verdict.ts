// A measured capture → the one sentence that a reader takes home.

import type { CaptureMeasurement } from '../measure.ts'
import type { PulseMeasurement } from '../measure-pulses.ts'
import { count, percent, plain } from '../report/number-text.ts'
import { allWell } from '../report/pulses-text.ts'
import { FAULT_KINDS, type FaultKind } from '../sync/sync-fault.ts'

/** `This is …, and its sync is clean.` */
export function verdict({ main }: CaptureMeasurement, pulses: PulseMeasurement): string {
  const { nearest, family, familyConfidence } = main.classification
  const { hsync, vsync, raster } = main
  const rates = [
    plain(hsync.frequencyHz.value, 'Hz', 5),
    ...(vsync?.frequencyHz ? [plain(vsync.frequencyHz.value, 'Hz', 4)] : []),
  ].join(' and ')
  const lattice =
    raster.dotsPerScanline !== null && raster.scanlinesPerFrame !== null
      ? `, ${raster.dotsPerScanline} dots by ${raster.scanlinesPerFrame} scanlines`
      : ''
  const names = family.map(({ name, id }) => `${name} (${id})`).join(' or ')
  const what =
    family.length > 0
      ? `This is ${names}, confidence ${percent(familyConfidence)}`
      : `This is none of the known standards: ${rates}${lattice}, nearest to ${nearest.name} (${nearest.id})`
  return `${what}; ${syncVerdict(pulses)}.`
}

/** A kind as it stands before the word `pulses`. */
const KIND_WORD: Readonly<Record<FaultKind, string>> = {
  extra: 'extra',
  missing: 'missing',
  short: 'short',
  early: 'early',
  late: 'late',
  width: 'misshapen',
}

function joined(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}

function syncVerdict(measured: PulseMeasurement): string {
  const { faultCounts, oddFrames } = measured
  const kinds = FAULT_KINDS.filter((kind) => faultCounts[kind] > 0)
  if (kinds.length === 0) {
    return oddFrames === 0
      ? allWell(measured)
      : `${allWell(measured)}, but ${count(oddFrames, 'frame')} differ${oddFrames === 1 ? 's' : ''} in length`
  }
  const list = joined(kinds.map((kind) => `${faultCounts[kind]} ${KIND_WORD[kind]}`))
  const total = kinds.reduce((sum, kind) => sum + faultCounts[kind], 0)
  const pulses = total === 1 ? 'pulse' : 'pulses'
  const misleads = faultCounts.extra + faultCounts.missing > 0
  const effect = misleads
    ? 'so an adapter that counts sync edges miscounts, and its picture jumps'
    : 'though an adapter that counts sync edges is not misled'
  return `its sync has ${list} ${pulses}, ${effect}`
}
