// Sync edges → numbered scanlines. Each pulse is given to the scanline whose phase it has, so that an extra edge never
// shifts the count. Lock is taken from a few dozen edges, held through gaps, and given up when the timing really changes.

import { acquireSync, type SyncLock } from './acquire.ts'
import { EdgeQueue } from './edge-queue.ts'
import { BREAK_RUN, OpenScanlines, TimingDoubt } from './open-scanlines.ts'
import {
  AS_BEFORE_SHARE,
  edgesBefore,
  firstAsBefore,
  MOST_AS_BEFORE_SHARE,
  scanlinesBefore,
} from './relock.ts'
import type { ScanlineListener, TrackedTiming } from './scanline-listener.ts'
import { ScanlinePrediction } from './scanline-prediction.ts'
import { isHalfway, ScanlinePulses } from './scanline-pulses.ts'
import type { FaultKind } from './sync-fault.ts'

/** Edges looked at to take lock. */
const ACQUIRE_EDGES = 256
/** Fewest edges that can give a lock at the end of a capture. */
const ACQUIRE_EDGES_MIN = 6
/** Scanlines that a lock found again in the same phase holds, however many disagree. */
const HOLD_SCANLINES = BREAK_RUN + 2
/** Pulses that may be missed before the first or after the last of a capture; where there are more, the source was off. */
const MISSED_AT_ENDS = 2
/** Scanlines without any pulse before sync counts as gone; more than any vsync lasts. */
const MAX_COAST = 800
/** Pulses that last so many usual ones, and a quarter scanline, belong to vsync. */
const BROAD_WIDTHS = 1.5
/** Scanlines after a broad pulse that equalizing pulses last: three (ITU-R BT.470), and one for the half scanline. */
const BROAD_GUARD = 4

/** Follows one hsync or csync channel. */
export class ScanlineTracker {
  readonly #listener: ScanlineListener
  readonly #channel: 'hsync' | 'csync'
  readonly #edges = new EdgeQueue()
  readonly #now: ScanlinePrediction
  /** Of the scanline being collected. */
  readonly #pulses = new ScanlinePulses()
  readonly #open = new OpenScanlines()
  readonly #doubt = new TimingDoubt()
  #locked = false
  #everLocked: TrackedTiming | undefined
  #pulseLevel = NaN
  /** Leading edge of a pulse that has not ended, and its index. */
  #lead = NaN
  #leadIndex = NaN
  /** True where the lock was given up for doubts, and not because sync went away. */
  #gaveUp = false
  #coasting = NaN
  #quietUntil = -1
  /** The scanline in which the last broad pulse ended. */
  #broadUntil = -1
  #lastTrueLead = NaN
  /** Leading edge of the last scanline that was as expected. */
  #confirmedTick = NaN
  readonly #startTick: number
  #endTick = Infinity

  /**
   * @param startTick where the capture begins
   * @param resolutionTicks sample interval: what an edge may be off by without being wrong
   */
  constructor(
    channel: 'hsync' | 'csync',
    startTick: number,
    resolutionTicks: number,
    listener: ScanlineListener,
  ) {
    this.#channel = channel
    this.#startTick = startTick
    this.#listener = listener
    this.#now = new ScanlinePrediction(resolutionTicks)
  }

  /** All before this tick has been told to the listener, or never will be. */
  get settledTick(): number {
    return this.#edges.settledTick
  }

  get periodTicks(): number {
    return this.#now.period
  }

  /** Standard deviation of real jitter of its edges, in ticks. */
  get jitterTicks(): number {
    return Math.max(this.#now.line.jitterTicks, this.#now.trailLine.jitterTicks)
  }

  /** Scanline number at a tick, with its fraction; extrapolates from the scanline being collected. */
  scanlineAt(tick: number): number {
    return this.#now.scanlineAt(tick)
  }

  /** One edge; levels alternate, ticks never fall. */
  push(tick: number, level: number): void {
    this.#leadIndex -= this.#edges.push(tick, level)
    if (this.#locked) this.#step(this.#edges.count - 1)
    else if (this.#edges.kept >= ACQUIRE_EDGES) this.#acquire(false)
  }

  /** Ends the capture, at this tick: takes what the last edges still give. */
  end(tick: number): void {
    this.#endTick = tick
    // an unlocked tail may hold several changes; each round consumes at least one edge
    while (!this.#locked && this.#edges.kept >= ACQUIRE_EDGES_MIN) this.#acquire(true)
    if (!this.#locked) return
    // a pulse that the end of the capture cuts off has no width to judge
    const isCut = !Number.isNaN(this.#lead) && this.#lead - this.#now.expected < this.#now.period / 2
    if (!isCut) {
      this.#closeScanline()
      this.#noteMissingAtEnd()
    }
    // nothing after them says that they were the beginning of another timing
    if (this.#locked) this.#confirm(this.#confirmedTick)
  }

  /** After the last pulse of the capture there was time for another. */
  #noteMissingAtEnd(): void {
    // one that has begun is there, though the end cuts it off
    if (!this.#locked || !Number.isNaN(this.#lead)) return
    const { centreTick, expected, period } = this.#now
    const left = this.#roomFor(this.#endTick - centreTick + period)
    if (left === 0) return
    if (this.#listener.isVsyncAbout(expected, period)) this.#listener.endNotJudged('last', left)
    else this.#skip(left)
  }

  /** Before the first pulse of the capture there was time for another. */
  #expectFirst(): void {
    const now = this.#now
    const room = this.#roomFor(now.centreTick - this.#startTick)
    if (room === 0) return
    // a composite sync may begin in its vsync
    if (this.#channel === 'csync' || this.#listener.isVsyncAbout(this.#startTick, now.period))
      this.#listener.endNotJudged('first', room)
    else now.expected -= room * now.period
  }

  /** Scanlines that a stretch at either end of the capture should have shown; 0 where there are too many. */
  #roomFor(ticks: number): number {
    const scanlines = Math.max(0, Math.floor((ticks - this.#now.line.tolerance) / this.#now.period))
    return scanlines <= MISSED_AT_ENDS ? scanlines : 0
  }

  #acquire(atEnd: boolean): void {
    const edges = this.#edges
    const from = edges.keepFrom
    const available = Math.min(edges.kept, ACQUIRE_EDGES)
    const gaveUp = this.#gaveUp
    this.#gaveUp = false
    if (gaveUp) {
      const share = this.#doubt.hasLonely ? MOST_AS_BEFORE_SHARE : AS_BEFORE_SHARE
      const resumes = firstAsBefore(edges, from + available, this.#pulseLevel, this.#now, share)
      if (resumes !== undefined) return this.#resume(from, resumes)
    }
    const lock = acquireSync(
      edges.tick.subarray(from, from + available),
      edges.level.subarray(from, from + available),
      available,
      this.#now.resolution,
    )
    if (!lock) {
      edges.keepFrom += atEnd && available < ACQUIRE_EDGES ? available : available >> 1
      return
    }
    // pulses in their place among the doubtful ones: where the new timing is the old one, they were right
    if (gaveUp && this.#doubt.hasLonely && this.#isAsBefore(lock, from))
      this.#resume(from, edges.tick[from + lock.startEdge]!)
    else this.#takeLock(lock, from)
  }

  #isAsBefore(lock: SyncLock, from: number): boolean {
    const now = this.#now
    if (!now.isSameTiming(lock, this.#everLocked!.polarity)) return false
    const scanlines = (this.#edges.tick[from + lock.startEdge]! - now.expected) / now.period
    return Math.abs(scanlines - Math.round(scanlines)) * now.period <= now.line.tolerance
  }

  /** @param from the first of the edges that the lock was taken from */
  #takeLock(lock: SyncLock, from: number): void {
    const edges = this.#edges
    const now = this.#now
    const before = this.#everLocked
    const start = from + lock.startEdge
    const startTick = edges.tick[start]!
    this.#pulseLevel = lock.polarity === 'positive' ? 1 : 0
    const isSameTiming = before !== undefined && now.isSameTiming(lock, before.polarity)
    const gap = before ? Math.max(1, Math.round((startTick - now.expected) / now.period)) : 0
    const earlier = before ? 0 : scanlinesBefore(edges, start, this.#pulseLevel, lock)
    now.start(lock, before ? now.number + gap : 0, lock.startTick - earlier * lock.periodTicks)
    if (!before) this.#expectFirst()
    this.#doubt.count = 0
    this.#coasting = 0
    // where the timing or the phase changes, the last pulses before may be cut or lost: that is the same thing seen twice
    this.#open.dropFaults()
    this.#tellOpen()
    this.#pulses.clear()
    this.#lead = NaN
    this.#locked = true
    this.#confirmedTick = startTick
    edges.keepFrom = start
    // a composite sync may have begun in its vsync, where its pulses are not those of scanlines
    const playFrom = before || this.#channel === 'csync' ? start : edgesBefore(edges, from, now)
    const timing = { polarity: lock.polarity, periodTicks: lock.periodTicks, widthTicks: lock.widthTicks }
    if (isSameTiming) this.#listener.phaseBroken(startTick)
    else this.#listener.timingStarted(timing, startTick)
    this.#everLocked = timing
    // play back what was waiting; a break inside it stops the loop and leaves the rest for the next lock
    for (let i = playFrom; i < edges.count && this.#locked; i++) this.#step(i)
    if (!this.#locked && edges.keepFrom <= from) edges.keepFrom = from + 1
  }

  /** Goes on with the lock that was given up, and takes what went astray for faults. */
  #resume(from: number, startTick: number): void {
    const edges = this.#edges
    this.#now.advance()
    this.#doubt.holdUntil = Math.max(startTick, edges.tick[from]! + HOLD_SCANLINES * this.#now.period)
    this.#doubt.count = 0
    this.#locked = true
    this.#listener.lockResumed()
    for (let i = from; i < edges.count && this.#locked; i++) this.#step(i)
  }

  #step(index: number): void {
    const tick = this.#edges.tick[index]!
    if (this.#edges.level[index] === this.#pulseLevel) {
      this.#lead = tick
      this.#leadIndex = index
      return
    }
    if (Number.isNaN(this.#lead)) return
    const now = this.#now
    const lead = this.#lead
    this.#lead = NaN
    if (this.#channel === 'csync' && tick - lead > Math.max(BROAD_WIDTHS * now.width.mean, now.period / 4))
      this.#broad(lead, tick)
    const ahead = Math.round((lead - now.expected) / now.period)
    if (ahead > 0) {
      this.#closeScanline(lead)
      if (this.#locked && ahead > 1) this.#skip(ahead - 1)
      if (!this.#locked) return
    }
    this.#pulses.push(lead, tick)
  }

  #broad(lead: number, trail: number): void {
    this.#open.dropFaults()
    this.#tellOpen()
    this.#doubt.count = 0
    this.#broadUntil = Math.ceil(this.scanlineAt(trail))
    this.#quietUntil = this.#broadUntil + BROAD_GUARD
    this.#listener.broadPulse(lead, trail)
  }

  /** Scanlines that no pulse fell into. */
  #skip(scanlines: number): void {
    const quiet = this.#now.number <= this.#quietUntil
    this.#coasting += scanlines
    if (this.#coasting > MAX_COAST) return this.#loseLock(this.#now.expected)
    for (let i = 0; i < scanlines; i++) {
      if (!quiet) this.#note('missing', this.#now.expected, 0, -1)
      this.#now.advance()
    }
  }

  #note(
    kind: FaultKind,
    tick: number,
    widthTicks: number,
    lineCountError: -1 | 0 | 1,
    sinceTrueTicks = NaN,
    rejectWidthTicks = widthTicks,
  ): void {
    const { number, centreTick } = this.#now
    // between equalizing pulses, which have their phases, whatever else there is is false
    if (number <= (kind === 'extra' ? this.#broadUntil : this.#quietUntil)) return
    this.#open.push({
      kind,
      channel: this.#channel,
      tick,
      scanline: number,
      offsetTicks: kind === 'missing' ? 0 : tick - centreTick,
      widthTicks,
      lineCountError,
      sinceTrueTicks,
      rejectWidthTicks,
      colourEdgeNear: false,
      colourShareNear: NaN,
    })
  }

  /**
   * Decides which of the pulses in the current scanline is its sync, and what is wrong.
   * @param nextLead leading edge of the pulse that comes after it; NaN where the capture ends
   */
  #closeScanline(nextLead = NaN): void {
    const pulses = this.#pulses
    const now = this.#now
    if (pulses.count === 0 || (this.#channel === 'csync' && pulses.isHalfwayOnly(now))) {
      if (pulses.count > 0) this.#noteExtras(-1, -1)
      pulses.clear()
      this.#coasting++
      this.#noteMissing()
      now.advance()
      return
    }
    let first = 0
    let last = 0
    if (pulses.count > 1) [first, last] = pulses.bestUnion(now)
    const lead = pulses.lead[first]!
    const width = pulses.trail[last]! - lead
    const offset = lead - now.expected
    const isSpike = Math.abs(offset) > now.period / 16 && width < now.width.mean / 2
    if (pulses.count > 1 || isSpike) this.#noteExtras(isSpike ? -1 : first, last)
    if (isSpike) {
      // after a last spike the pulse may still have been to come
      this.#noteMissing()
      this.#coasting++
    } else {
      const piece = first === last ? width : pulses.width(pulses.longest(first, last))
      this.#judge(lead, width, piece, nextLead)
    }
    pulses.clear()
    if (this.#doubt.isChange) return this.#loseLock(this.#doubt.tick)
    if (this.#coasting > MAX_COAST) return this.#loseLock(lead)
    now.advance()
  }

  /** The pulse of this scanline has not come, unless the capture ends before. */
  #noteMissing(): void {
    if (this.#now.latestTick < this.#endTick) this.#note('missing', this.#now.expected, 0, -1)
  }

  /** @param piece the longest of the pieces that it may be cut into */
  #judge(lead: number, width: number, piece: number, nextLead: number): void {
    const now = this.#now
    const offset = lead - now.expected
    const quiet = now.number <= this.#quietUntil
    if (!now.line.isOff(offset))
      this.#accept(lead, width, quiet || this.#isEqualizing(width, nextLead), piece)
    else if (quiet) this.#coasting++
    else {
      this.#doubt.addPhase(now.number, lead)
      this.#note(offset < 0 ? 'early' : 'late', lead, width, 0)
      this.#openScanline(lead, width, false, piece)
      this.#lastTrueLead = lead
    }
  }

  /** All pulses but the true one's first piece: a counter of leading edges counts each of them. */
  #noteExtras(first: number, last: number): void {
    const pulses = this.#pulses
    const trueLead = first < 0 ? Infinity : pulses.lead[first]!
    const longest = first < 0 ? -1 : pulses.longest(first, last)
    for (let i = 0; i < pulses.count; i++) {
      const lead = pulses.lead[i]!
      if (i === first) continue
      const width = pulses.width(i)
      const since = lead - (lead > trueLead ? trueLead : this.#lastTrueLead)
      // where the longest piece of a cut pulse is not its first, a filter rejects the first and keeps this one
      const rejected = i === longest ? pulses.trail[first]! - trueLead : width
      this.#note('extra', lead, width, 1, since, rejected)
    }
  }

  /** Pulses of half the width, each half scanline, stand before and after the vsync of a composite sync. */
  #isEqualizing(width: number, nextLead: number): boolean {
    if (this.#channel === 'hsync') return false
    const now = this.#now
    if (Math.abs(width - now.width.mean / 2) > now.widthReach) return false
    // the capture may have begun among them
    const mayFollowVsync = now.number <= BROAD_GUARD
    return (
      mayFollowVsync || Number.isNaN(nextLead) || isHalfway(nextLead, now) || this.#pulses.hasHalfway(now)
    )
  }

  #accept(lead: number, width: number, quiet: boolean, piece: number): void {
    const now = this.#now
    const isWidthWrong = now.isWidthWrong(width, lead - now.expected + width)
    if (isWidthWrong && !quiet) {
      this.#doubt.addWidth(now.number, lead, width, now.width.tolerance)
      this.#note(width < now.width.mean / 2 ? 'short' : 'width', lead, width, 0)
      if (this.#doubt.isChange) return
      this.#openScanline(lead, NaN, true, piece)
    } else if (now.skipped > 0 && !quiet) {
      this.#doubt.addLonely(now.number, lead)
      if (this.#doubt.isChange) return
      this.#openScanline(lead, width, true, piece)
    } else {
      this.#confirm(lead)
      const told = isWidthWrong ? NaN : width
      this.#listener.scanline(now.number, lead, told, true, piece, lead - now.centreTick)
    }
    this.#lastTrueLead = lead
    now.follow(lead, width, isWidthWrong)
  }

  /** A scanline as expected: what was pending was real, and older edges are not needed again. */
  #confirm(lead: number): void {
    this.#confirmedTick = lead
    this.#tellOpen()
    this.#doubt.count = 0
    this.#coasting = 0
    this.#edges.keepFrom = Math.max(this.#edges.keepFrom, this.#leadIndex)
  }

  #openScanline(tick: number, widthTicks: number, regular: boolean, longestPieceTicks: number): void {
    const { number: scanline, centreTick } = this.#now
    const offsetTicks = tick - centreTick
    this.#open.push({ scanline, tick, widthTicks, regular, longestPieceTicks, offsetTicks })
  }

  /** Tells what is pending. */
  #tellOpen(): void {
    if (this.#open.isEmpty) return
    for (const event of this.#open.take()) {
      if ('kind' in event) this.#listener.fault(event)
      else {
        const { scanline, tick, widthTicks, regular, longestPieceTicks, offsetTicks } = event
        this.#listener.scanline(scanline, tick, widthTicks, regular, longestPieceTicks, offsetTicks)
      }
    }
  }

  /**
   * Goes back to the first edge that did not fit and looks for a new lock from there. Sync was lost earlier where no
   * pulse at all came before that edge.
   */
  #loseLock(tick: number): void {
    const now = this.#now
    this.#locked = false
    this.#gaveUp = this.#doubt.count > 0
    if (this.#gaveUp) {
      // the doubtful scanlines are counted again by the next lock, which also tells whether what came before was wrong
      this.#open.keepBefore(this.#doubt.number)
      now.stepBack(now.number - this.#doubt.number + 1)
    } else this.#open.take()
    this.#pulses.clear()
    this.#listener.lockLost(Math.min(tick, this.#confirmedTick + now.period))
    this.#edges.keepFromTick(tick, this.#pulseLevel)
  }
}
