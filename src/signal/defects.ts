// What goes wrong, as asked for, and where it strikes.

import type { DefectKind } from './choices.ts'
import { impossible } from './impossible.ts'
import type { Random } from './random.ts'

/** A place in the card's count; `dot` counts from hsync's leading edge and matters for spikes only. */
export interface DefectPlace {
  frame: number
  scanline: number
  dot?: number | undefined
}

/** Where a defect strikes: at places, at so many places by chance, or at a share (0 to 1) of all places. */
export type DefectWhere = { at: readonly DefectPlace[] } | { count: number } | { share: number }

/** One request. Channels are named as the capture names them; without a name it is hsync (or csync). */
export type DefectRequest = { where: DefectWhere } & (
  | {
      /** A false pulse some time after an edge of a sync pulse. */
      kind: 'ringing'
      channel?: string | undefined
      edge: 'leading' | 'trailing'
      delaySeconds: number
      widthSeconds: number
    }
  /** A sync pulse that is not there. */
  | { kind: 'missing'; channel?: string | undefined }
  /** The level turned over for a moment. */
  | { kind: 'spike'; channel?: string | undefined; widthSeconds: number }
  /** A scanline that the card leaves out, sync and picture. */
  | { kind: 'dropped-scanline' }
)

/** A defect as it stands in the capture. */
export interface InjectedDefect {
  kind: DefectKind
  /** null where all channels are struck. */
  channel: string | null
  /** From the first sample. */
  timeSeconds: number
  frame: number
  scanline: number
}

/** What can be struck in a capture, numbered from its begin. */
export interface DefectSites {
  /** Scanlines that begin within the capture. */
  scanlines: number
  /** vsync pulses whose leading edge is captured. */
  vsyncs: number
  scanlinesPerFrame: number
  /** Frames that show at least in part: `first` is 0 or -1, `last` is included. */
  frames: { first: number; last: number }
}

/** Chance spares the first and last few: nobody could tell there what is right. */
const SPARED_SCANLINES = 8
/** Places by chance keep this many scanlines from each other, so that each is a defect of its own. */
const SPACING_SCANLINES = 3

/** Tries for each place by chance before it may lie closer to others. */
const MOST_TRIES = 100

/** Decides for one request, site by site in time order. */
export class DefectChooser {
  readonly #where: DefectWhere
  readonly #chosen: ReadonlySet<number>
  readonly #random: Random
  readonly #range: { from: number; to: number }

  /**
   * @param sites how many there are of what the request strikes
   * @param taken scanlines that earlier requests chose; those chosen here are added
   * @throws {CaptureError} SYNTHESIS_IMPOSSIBLE for a place that is not captured, or more of them than there is room for
   */
  constructor(request: DefectRequest, all: DefectSites, taken: Set<number>, random: Random) {
    this.#where = request.where
    this.#random = random
    const strikesVsync = 'channel' in request && request.channel === 'VSYNC' && request.kind !== 'spike'
    const sites = strikesVsync ? all.vsyncs : all.scanlines
    const spared = strikesVsync ? Math.min(1, Math.floor((sites - 1) / 2)) : SPARED_SCANLINES
    this.#range = { from: spared, to: sites - spared }
    const { where } = request
    if ('at' in where) for (const place of where.at) checkPlace(place, all)
    if ('share' in where && !(where.share >= 0 && where.share <= 1)) {
      throw impossible(`a share of ${where.share} is none`, 'give one from 0 to 1')
    }
    this.#chosen = 'count' in where ? this.#choose(where.count, strikesVsync ? new Set() : taken) : new Set()
  }

  #choose(count: number, taken: Set<number>): Set<number> {
    const { from, to } = this.#range
    const spacing = taken.size === 0 && to - from < SPACING_SCANLINES * count ? 1 : SPACING_SCANLINES
    // three quarters: beyond that, places by chance are not found in good time
    if (!Number.isInteger(count) || count < 0 || count * spacing * 4 > 3 * (to - from) + 4 * spacing) {
      throw impossible(
        `${count} defects of a kind do not go into this capture`,
        'give a smaller whole number, or more --frames',
      )
    }
    const chosen = new Set<number>()
    for (let tries = 0; chosen.size < count; tries++) {
      const site = from + this.#random.below(to - from)
      // where earlier requests leave too little room, places may come to lie beside theirs
      const reach = tries < MOST_TRIES * (count + 1) ? spacing - 1 : 0
      if (isNear(chosen, site, reach) || (reach > 0 && isNear(taken, site, reach))) continue
      chosen.add(site)
    }
    for (const site of chosen) taken.add(site)
    return chosen
  }

  /**
   * @param site number of the scanline or vsync within the capture
   * @returns the place where it strikes, undefined where it does not
   */
  strikes(site: number, frame: number, scanline: number): DefectPlace | undefined {
    const where = this.#where
    if ('at' in where) return where.at.find((place) => place.frame === frame && place.scanline === scanline)
    if ('count' in where) return this.#chosen.has(site) ? { frame, scanline } : undefined
    const { from, to } = this.#range
    if (site < from || site >= to) return undefined
    return this.#random.uniform() < where.share ? { frame, scanline } : undefined
  }
}

function isNear(places: ReadonlySet<number>, site: number, reach: number): boolean {
  for (let off = -reach; off <= reach; off++) if (places.has(site + off)) return true
  return false
}

function checkPlace({ frame, scanline }: DefectPlace, { frames, scanlinesPerFrame }: DefectSites): void {
  const sound =
    Number.isInteger(frame) && Number.isInteger(scanline) && scanline >= 0 && scanline < scanlinesPerFrame
  if (sound && frame >= frames.first && frame <= frames.last) return
  throw impossible(
    `there is no scanline ${scanline} of frame ${frame} in this capture`,
    `frames go from ${frames.first} to ${frames.last}, scanlines from 0 to ${scanlinesPerFrame - 1}`,
  )
}
