// Defects put into a drawn signal at known places, and what ought to be found of them: what the tests of sync faults share.

import type { FaultKind } from '../src/sync/sync-fault.ts'
import type { ScanlinePlace } from './support/card-scanlines.ts'
import type { DrawOptions } from './support/draw-signal.ts'
import type { Random } from './support/random.ts'
import { TIMINGS, type TimingKey } from './support/timings.ts'

/** The capture begins here, so that frame 0 of the measurement is the card's frame 1. */
export const BEGIN = { startFrames: 0.4, frames: 3.2 }

/** A defect of one scanline, in seconds; where it comes after or before the leading edge it is meant for. */
export type Defect =
  | { kind: 'spike'; place: ScanlinePlace; after: number; width: number }
  | { kind: 'cut'; place: ScanlinePlace; after: number; width: number }
  | { kind: 'missing'; place: ScanlinePlace }
  | { kind: 'shift'; place: ScanlinePlace; seconds: number }
  | { kind: 'resize'; place: ScanlinePlace; seconds: number }

/** What ought to be found, by the time it ought to be found at. */
export interface Expected {
  kind: FaultKind
  seconds: number
  place: ScanlinePlace
  lineCountError: number
}

export function defectOptions(card: TimingKey, defects: readonly Defect[]): DrawOptions {
  const { dotClockHz, h } = TIMINGS[card]
  const of = <Kind extends Defect['kind']>(kind: Kind): Extract<Defect, { kind: Kind }>[] =>
    defects.filter((defect): defect is Extract<Defect, { kind: Kind }> => defect.kind === kind)
  // a cut is a spike within the pulse: what it inverts goes to the idle level
  const spikes = [...of('spike'), ...of('cut')].map(({ place, after, width }) => ({
    channel: 'H',
    at: { ...place, dot: after * dotClockHz },
    widthSeconds: width,
  }))
  if (spikes.some(({ at }) => at.dot < 0 || at.dot >= h.total)) throw new Error('beyond the scanline')
  return {
    ...BEGIN,
    spikes,
    missingHsync: of('missing').map(({ place }) => place),
    shiftedHsync: of('shift').map(({ place, seconds }) => ({ ...place, seconds })),
    resizedHsync: of('resize').map(({ place, seconds }) => ({ ...place, seconds })),
  }
}

/** Begin of a scanline from the capture's begin. */
function beginOf(card: TimingKey, { frame, scanline }: ScanlinePlace, startFrames: number): number {
  const { dotClockHz, h, v } = TIMINGS[card]
  return (((frame - startFrames) * v.total + scanline) * h.total) / dotClockHz
}

export function expectedOf(
  card: TimingKey,
  defects: readonly Defect[],
  startFrames: number = BEGIN.startFrames,
): Expected[] {
  const width = TIMINGS[card].h.sync / TIMINGS[card].dotClockHz
  const list = defects.map((defect): Expected => {
    const { place } = defect
    const begin = beginOf(card, place, startFrames)
    const found = (kind: FaultKind, seconds: number, lineCountError = 0): Expected => ({
      kind,
      seconds,
      place,
      lineCountError,
    })
    switch (defect.kind) {
      case 'spike':
        return found('extra', begin + defect.after, 1)
      // the pulse goes on where the cut ends: that is the edge too many
      case 'cut':
        return found('extra', begin + defect.after + defect.width, 1)
      case 'missing':
        return found('missing', begin, -1)
      case 'shift':
        return found(defect.seconds < 0 ? 'early' : 'late', begin + defect.seconds)
      case 'resize':
        return found(width + defect.seconds < width / 2 ? 'short' : 'width', begin)
    }
  })
  return list.sort((a, b) => a.seconds - b.seconds)
}

/** The card's frame 1 is the measurement's frame 0; before it, scanlines count from the capture's first pulse. */
export function placeOf({ frame, scanline }: ScanlinePlace, perFrame: number): ScanlinePlace {
  const first = Math.floor(BEGIN.startFrames * perFrame) + 1
  return frame === 0 ? { frame: -1, scanline: scanline - first } : { frame: frame - 1, scanline }
}

/** Some fifty defects of all kinds, at most one a scanline, many of them in neighbouring scanlines. */
export function randomDefects(random: Random, perFrame: number, sample: number): Defect[] {
  const defects: Defect[] = []
  const size = (): number => (2.02 + 12 * random.uniform() ** 2) * sample
  const moved = (): number => (random.below(2) === 0 ? 1 : -1) * (2.02 + 20 * random.uniform() ** 2) * sample
  for (let at = Math.ceil(0.45 * perFrame); at < 3.55 * perFrame; at += 1 + random.below(40)) {
    const place = { frame: Math.floor(at / perFrame), scanline: at % perFrame }
    for (let run = 1 + (random.below(3) === 0 ? random.below(4) : 0); run > 0; run--, at++) {
      const here = { ...place, scanline: place.scanline + run - 1 }
      if (here.scanline >= perFrame) continue
      const kind = (['spike', 'cut', 'missing', 'shift', 'resize', 'spike'] as const)[random.below(6)]!
      if (kind === 'spike')
        defects.push({ kind, place: here, after: 8.5e-6 + 19e-6 * random.uniform(), width: size() })
      else if (kind === 'cut') {
        const width = Math.min(size(), 1e-6)
        defects.push({ kind, place: here, after: 2.02 * sample + 1.5e-6 * random.uniform(), width })
      } else if (kind === 'missing') defects.push({ kind, place: here })
      else defects.push({ kind, place: here, seconds: moved() })
    }
  }
  return defects
}
