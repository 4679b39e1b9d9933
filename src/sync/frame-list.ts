// The frames of one segment as its vsyncs make them: listed, measured in scanlines, with what a counter counts in each.

import type { FrameSync } from './frame-sync.ts'
import type { EdgesBeside } from './vertical-faults.ts'

/** Frames kept one by one; a segment's further frames only enter the totals. */
export const MAX_FRAMES_LISTED = 100_000
/** Frames that are at hand whether they are listed or not: a new timing shows two frames late. */
const NEWEST_FRAMES = 3
/** How far from a scanline's leading edge vsync may fall and still coincide with it, in scanlines. */
const COINCIDENT_SCANLINES = 0.02

export class FrameList {
  readonly listed: FrameSync[] = []
  /** The last few, in order. */
  readonly newest: FrameSync[] = []
  /** Frames from vsync to vsync, also those not listed. */
  whole = 0
  readonly #lengths = new Map<number, number>()
  #corrections: EdgesBeside[] = []
  /** Scanlines by which vsyncs of a composite sync begin later than they seem to. */
  readonly #shifts = new Map<FrameSync, number>()

  /** Lengths in scanlines (to the half), with how often each was seen. */
  get lengths(): ReadonlyMap<number, number> {
    return this.#lengths
  }

  get areAllListed(): boolean {
    return this.listed.length < MAX_FRAMES_LISTED
  }

  /** The commonest length, to the half scanline; null without a whole frame. */
  get usualLength(): number | null {
    let best: number | null = null
    let most = 0
    for (const [length, times] of this.#lengths) {
      if (times > most) {
        most = times
        best = length
      }
    }
    return best
  }

  /**
   * A vsync begins another frame.
   * @param before scanlines of the frame that it ends, NaN where that is no whole one
   * @param edgesBetween leading edges from one scanline to another
   */
  add(frame: FrameSync, before: number, edgesBetween: (from: number, to: number) => number): void {
    const previous = this.newest.at(-1)
    if (!Number.isNaN(before)) {
      this.#count(before, 1)
      if (previous) {
        previous.scanlines = before
        previous.countedEdges += edgesBetween(previous.firstScanline, frame.firstScanline)
      }
    }
    this.#applyCorrections(frame.firstScanline)
    if (this.areAllListed) this.listed.push(frame)
    this.newest.push(frame)
    if (this.newest.length > NEWEST_FRAMES) this.newest.shift()
  }

  /** A counter counts one edge more or less in a scanline that lies behind. */
  correctCount(edges: EdgesBeside): void {
    this.#corrections.push(edges)
  }

  shiftVsync(frame: FrameSync, scanlines: number): void {
    this.#shifts.set(frame, scanlines)
  }

  /** Takes the last frames out, for the segment that turned out to begin with them. */
  takeLast(count: number): FrameSync[] {
    const taken = this.newest.splice(-count)
    while (taken.includes(this.listed.at(-1)!)) this.listed.pop()
    for (const frame of taken) if (!Number.isNaN(frame.scanlines)) this.#count(frame.scanlines, -1)
    return taken
  }

  /** Adds a frame that was first taken for one of another segment. */
  adopt(frame: FrameSync): void {
    this.listed.push(frame)
    this.newest.push(frame)
    if (!Number.isNaN(frame.scanlines)) this.#count(frame.scanlines, 1)
  }

  /** Nothing more comes: what was found out later is put right. */
  finish(periodTicks: number): void {
    this.#applyCorrections(Infinity)
    this.listed.forEach((frame, index) => {
      const shift = this.#shifts.get(frame)
      if (shift === undefined) return
      const place = frame.firstScanline + frame.phase + shift
      frame.startTick += shift * periodTicks
      frame.firstScanline = wholeScanline(place)
      frame.phase = place - frame.firstScanline
      frame.scanlines -= shift
      const before = this.listed[index - 1]
      if (before) before.scanlines += shift
    })
  }

  /** Corrects frames up to a scanline; in which frame later ones are is not known yet. */
  #applyCorrections(untilScanline: number): void {
    this.#corrections = this.#corrections.filter(({ scanline, edges }) => {
      if (scanline >= untilScanline) return true
      const begins = ({ firstScanline }: FrameSync): boolean => firstScanline <= scanline
      const frame = this.newest.findLast(begins) ?? this.listed.findLast(begins)
      // past the last that is listed are others
      if (frame && !(scanline >= frame.firstScanline + frame.scanlines)) frame.countedEdges += edges
      return false
    })
  }

  #count(scanlines: number, times: 1 | -1): void {
    this.whole += times
    const key = Math.round(scanlines * 2) / 2
    this.#lengths.set(key, (this.#lengths.get(key) ?? 0) + times)
  }
}

/** The scanline of a place; vsync that falls with an hsync edge must not be pushed to the one before by a sample's delay. */
export function wholeScanline(place: number): number {
  const nearest = Math.round(place)
  return Math.abs(place - nearest) < COINCIDENT_SCANLINES ? nearest : Math.floor(place)
}
