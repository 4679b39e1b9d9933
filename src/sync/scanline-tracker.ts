// Sync edges → numbered scanlines. Each pulse is given to the scanline whose phase it has, so that an extra edge never
// shifts the count. Lock is taken from a few dozen edges, held through gaps, and given up when the timing really changes.

import type { Polarity } from '../measurement.ts'
import { acquireSync, type SyncLock } from './acquire.ts'
import { SampledLine } from './sampled-line.ts'
import { UsualWidth } from './usual-width.ts'
import type { FaultKind, SyncFault } from './sync-fault.ts'

/** Timing that a lock began with. */
export interface TrackedTiming {
  polarity: Polarity
  periodTicks: number
  widthTicks: number
}

/** What the tracker tells, in time order. */
export interface ScanlineListener {
  /** A new rate, polarity or width: what follows is another segment. */
  timingStarted(timing: TrackedTiming, tick: number): void
  /** The same timing went on, but in another phase, after a gap. */
  phaseBroken(tick: number): void
  /** Sync went away, or stopped being regular, at this tick, which may lie a while back. */
  lockLost(tick: number): void
  /** The lock that was lost goes on as if it had not been. */
  lockResumed(): void
  /**
   * One scanline with its sync pulse. `regular` is false where the pulse is early or late: its tick must not
   * enter the fit. `widthTicks` is NaN where the width tells nothing (a broad pulse of a composite sync).
   * `longestPieceTicks` is what a minimum pulse width meets: less than the width where ringing cut the pulse.
   * `offsetTicks` is how far the leading edge is from where edges of the other scanlines have it.
   */
  scanline(
    number: number,
    tick: number,
    widthTicks: number,
    regular: boolean,
    longestPieceTicks: number,
    offsetTicks: number,
  ): void
  fault(fault: SyncFault): void
  /** Whether scanlines may lack their pulses around this tick, because vsync is about. */
  isVsyncAbout(tick: number, periodTicks: number): boolean
  /** Composite sync only: a pulse so wide that it belongs to vsync. */
  broadPulse(lead: number, trail: number): void
}

/** Edges looked at to take lock. */
const ACQUIRE_EDGES = 256
/** Fewest edges that can give a lock at the end of a capture. */
const ACQUIRE_EDGES_MIN = 6
/** Scanlines in a row that disagree before the timing counts as changed. */
const BREAK_RUN = 6
/** How far off the capture's first pulses may be and still be those of their scanlines. */
const FIRST_OFF_SCANLINES = 0.25
/** Scanlines that a lock found again in the same phase holds, however many disagree. */
const HOLD_SCANLINES = BREAK_RUN + 2
/** Share of the scanlines after a doubt that must be as before it for nothing to have changed. */
const AS_BEFORE_SHARE = 0.5
/** Pulses that may be missed before the first or after the last of a capture; where there are more, the source was off. */
const MISSED_AT_ENDS = 2
/** Scanlines without any pulse before sync counts as gone; more than any vsync lasts. */
const MAX_COAST = 800
/** Pulses looked at in one scanline; further ones are left out. */
const MAX_PULSES_IN_SCANLINE = 256
/** Pieces that a pulse may be cut into. */
const MAX_PIECES = 12
/** Pulses that last so many usual ones, and a quarter scanline, belong to vsync. */
const BROAD_WIDTHS = 1.5
/** Scanlines after a broad pulse that equalizing pulses last: three (ITU-R BT.470), and one for the half scanline. */
const BROAD_GUARD = 4
/** Loop gains: phase 1/8 and period 1/128, critically damped, settle within some twenty scanlines. */
const PHASE_GAIN = 1 / 8
const PERIOD_GAIN = 1 / 128

/** A scanline that is not told yet, because it may turn out to belong to another timing. */
interface OpenScanline {
  scanline: number
  tick: number
  widthTicks: number
  regular: boolean
  longestPieceTicks: number
  offsetTicks: number
}

/** How near to the half scanline an equalizing pulse is. */
const HALFWAY_SCANLINES = 0.05
/** Gain of the period that the samples' line is held against: slow, so that their beat with the scanlines averages out. */
const SLOW_GAIN = 1 / 256
/** Share of a scanline that a leading edge may be off in any case. */
const FLOOR_SHARE = 1 / 8000

/** Follows one hsync or csync channel. */
export class ScanlineTracker {
  readonly #listener: ScanlineListener
  readonly #channel: 'hsync' | 'csync'
  readonly #resolution: number

  // edges not yet settled: all since the last confirmed scanline, for taking lock again from there
  #tick = new Float64Array(1024)
  #level = new Uint8Array(1024)
  #count = 0
  #keepFrom = 0
  #locked = false
  #everLocked: TrackedTiming | undefined

  // lock
  #pulseLevel = 1
  #period = 0
  #slowPeriod = 0
  readonly #line: SampledLine
  /** The same of the trailing edges, from the same prediction. */
  readonly #trailLine: SampledLine
  readonly #width: UsualWidth
  /** Scanline being collected, and where its leading edge is expected. */
  #number = 0
  #expected = 0
  #lead = NaN
  readonly #slotLead: number[] = []
  readonly #slotTrail: number[] = []
  /** In order of time; told when a scanline as expected confirms the lock. */
  #open: (SyncFault | OpenScanline)[] = []
  #openEdge = 0
  #doubtful = 0
  #doubtfulKind: 'phase' | 'width' = 'phase'
  #doubtfulWidth = 0
  #doubtfulTick = NaN
  #doubtfulNumber = 0
  /** True where the lock was given up for doubts, and not because sync went away. */
  #gaveUp = false
  #holdUntil = -Infinity
  #coasting = 0
  #quietUntil = -1
  /** The scanline in which the last broad pulse ended. */
  #broadUntil = -1
  #lastTrueLead = NaN
  /** Leading edge of the last scanline that was as expected. */
  #confirmedTick = NaN
  /** The last scanline that was in its place, and its edges; no trailing one where that was not. */
  #acceptedNumber = NaN
  #acceptedLead = NaN
  #acceptedTrail = NaN
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
    this.#resolution = resolutionTicks
    this.#listener = listener
    this.#line = new SampledLine(resolutionTicks)
    this.#trailLine = new SampledLine(resolutionTicks)
    this.#width = new UsualWidth(resolutionTicks)
  }

  /** All before this tick has been told to the listener, or never will be. */
  get settledTick(): number {
    if (this.#count <= this.#keepFrom) return this.#count > 0 ? this.#tick[this.#count - 1]! : -Infinity
    return this.#tick[this.#keepFrom]!
  }

  get periodTicks(): number {
    return this.#period
  }

  /** Scanline number at a tick, with its fraction; extrapolates from the scanline being collected. */
  scanlineAt(tick: number): number {
    return this.#number + (tick - this.#expected) / this.#period
  }

  /** One edge; levels alternate, ticks never fall. */
  push(tick: number, level: number): void {
    if (this.#count === this.#tick.length) this.#makeRoom()
    this.#tick[this.#count] = tick
    this.#level[this.#count] = level
    this.#count++
    if (this.#locked) this.#step(this.#count - 1)
    else if (this.#count - this.#keepFrom >= ACQUIRE_EDGES) this.#acquire(false)
  }

  /** Ends the capture, at this tick: takes what the last edges still give. */
  end(tick: number): void {
    this.#endTick = tick
    // an unlocked tail may hold several changes; each round consumes at least one edge
    while (!this.#locked && this.#count - this.#keepFrom >= ACQUIRE_EDGES_MIN) this.#acquire(true)
    if (!this.#locked) return
    // a pulse that the end of the capture cuts off has no width to judge
    const isCut = !Number.isNaN(this.#lead) && this.#lead - this.#expected < this.#period / 2
    if (!isCut) {
      this.#closeSlot()
      this.#noteMissingAtEnd()
    }
    // nothing after them says that they were the beginning of another timing
    if (this.#locked) this.#confirm(this.#confirmedTick)
  }

  /** After the last pulse of the capture there was time for another. */
  #noteMissingAtEnd(): void {
    // one that has begun is there, though the end cuts it off
    if (!this.#locked || !Number.isNaN(this.#lead)) return
    const left = this.#roomFor(this.#endTick - this.#expected - this.#line.centre + this.#period)
    if (left === 0 || this.#listener.isVsyncAbout(this.#expected, this.#period)) return
    this.#skip(left)
  }

  /** Scanlines that a stretch at either end of the capture should have shown; 0 where there are too many. */
  #roomFor(ticks: number): number {
    const scanlines = Math.max(0, Math.floor((ticks - this.#line.tolerance) / this.#period))
    return scanlines <= MISSED_AT_ENDS ? scanlines : 0
  }

  #makeRoom(): void {
    if (this.#keepFrom > 0) {
      this.#tick.copyWithin(0, this.#keepFrom, this.#count)
      this.#level.copyWithin(0, this.#keepFrom, this.#count)
      this.#openEdge -= this.#keepFrom
      this.#count -= this.#keepFrom
      this.#keepFrom = 0
    }
    if (this.#count < this.#tick.length / 2) return
    const tick = new Float64Array(this.#tick.length * 2)
    const level = new Uint8Array(this.#level.length * 2)
    tick.set(this.#tick)
    level.set(this.#level)
    this.#tick = tick
    this.#level = level
  }

  #acquire(atEnd: boolean): void {
    const from = this.#keepFrom
    const available = Math.min(this.#count - from, ACQUIRE_EDGES)
    if (this.#gaveUp) {
      this.#gaveUp = false
      const resumes = this.#firstAsBefore(from, from + available)
      if (resumes !== undefined) return this.#resume(from, resumes)
    }
    const lock = acquireSync(
      this.#tick.subarray(from, from + available),
      this.#level.subarray(from, from + available),
      available,
      this.#resolution,
    )
    if (!lock) {
      this.#keepFrom += atEnd && available < ACQUIRE_EDGES ? available : available >> 1
      return
    }
    const start = from + lock.startEdge
    const startTick = this.#tick[start]!
    this.#pulseLevel = lock.polarity === 'positive' ? 1 : 0
    const isFirst = !this.#everLocked
    const earlier = isFirst ? this.#scanlinesBefore(from, start, lock) : 0
    const before = this.#everLocked
    const sameTiming =
      before !== undefined &&
      before.polarity === lock.polarity &&
      Math.abs(lock.periodTicks / this.#period - 1) < 0.002 &&
      Math.abs(lock.widthTicks - this.#width.mean) < Math.max(2.5 * this.#resolution, this.#width.mean / 10)
    const gap = before ? (startTick - this.#expected) / this.#period : 0
    this.#number = before ? this.#number + Math.max(1, Math.round(gap)) : 0
    this.#period = lock.periodTicks
    this.#expected = lock.startTick - earlier * lock.periodTicks
    this.#slowPeriod = lock.periodTicks
    this.#acceptedNumber = NaN
    const floor = FLOOR_SHARE * lock.periodTicks
    this.#line.start(lock.leads, floor)
    this.#trailLine.start(lock.trails, floor)
    this.#width.start(lock.widthTicks, lock.widthScatterTicks)
    if (isFirst && this.#channel === 'hsync' && !this.#listener.isVsyncAbout(this.#startTick, this.#period))
      this.#expected -= this.#roomFor(this.#expected + this.#line.centre - this.#startTick) * this.#period
    this.#doubtful = 0
    this.#coasting = 0
    // where the timing or the phase changes, the last pulses before may be cut or lost: that is the same thing seen twice
    this.#open = this.#open.filter((event) => !('kind' in event))
    this.#tellOpen()
    this.#slotLead.length = 0
    this.#slotTrail.length = 0
    this.#lead = NaN
    this.#locked = true
    this.#confirmedTick = startTick
    this.#keepFrom = start
    // a composite sync may have begun in its vsync, where its pulses are not those of scanlines
    const playFrom = before || this.#channel === 'csync' ? start : this.#edgesBefore(from)
    const timing = { polarity: lock.polarity, periodTicks: lock.periodTicks, widthTicks: lock.widthTicks }
    if (sameTiming) this.#listener.phaseBroken(startTick)
    else this.#listener.timingStarted(timing, startTick)
    this.#everLocked = timing
    // play back what was waiting; a break inside it stops the loop and leaves the rest for the next lock
    for (let i = playFrom; i < this.#count && this.#locked; i++) this.#step(i)
    if (!this.#locked && this.#keepFrom <= from) this.#keepFrom = from + 1
  }

  /**
   * Was the lock given up for a few scanlines that went astray, while the rest went on as before?
   * @returns the first leading edge that is as before; undefined where most are not
   */
  #firstAsBefore(from: number, end: number): number | undefined {
    let expected = this.#expected
    let period = this.#period
    let first: number | undefined
    let hits = 0
    let scanlines = 0
    for (let i = from; i + 1 < end; i++) {
      if (this.#level[i] !== this.#pulseLevel) continue
      const lead = this.#tick[i]!
      const ahead = Math.round((lead - expected) / period)
      expected += ahead * period
      scanlines += ahead
      const off = lead - expected
      if (Math.abs(off) > 2 * this.#line.tolerance) continue
      if (this.#width.isWrong(this.#tick[i + 1]! - lead, false)) continue
      hits++
      first ??= lead
      expected += off * PHASE_GAIN
      period += off * PERIOD_GAIN
    }
    return hits >= scanlines * AS_BEFORE_SHARE ? first : undefined
  }

  /** Goes on with the lock that was given up, and takes what went astray for faults. */
  #resume(from: number, startTick: number): void {
    this.#advance()
    this.#holdUntil = Math.max(startTick, this.#tick[from]! + HOLD_SCANLINES * this.#period)
    this.#doubtful = 0
    this.#locked = true
    this.#listener.lockResumed()
    for (let i = from; i < this.#count && this.#locked; i++) this.#step(i)
  }

  /** The capture may begin with pulses that are too far off to lead to a lock: scanlines that these make, up to a few. */
  #scanlinesBefore(from: number, start: number, lock: SyncLock): number {
    let scanlines = 0
    for (let edge = start - 1; edge >= from && scanlines < BREAK_RUN; edge--) {
      if (this.#level[edge] !== this.#pulseLevel) continue
      const width = this.#tick[edge + 1]! - this.#tick[edge]!
      const before = (lock.startTick - this.#tick[edge]!) / lock.periodTicks
      if (Math.abs(width - lock.widthTicks) > lock.widthTicks / 4) continue
      if (Math.abs(before - scanlines - 1) < FIRST_OFF_SCANLINES) scanlines++
    }
    return scanlines
  }

  /** Of the edges that the capture begins with, the first that is less than a scanline before the first pulse. */
  #edgesBefore(from: number): number {
    let first = from
    while (this.#tick[first]! <= this.#expected - this.#period) first++
    return first
  }

  #step(index: number): void {
    const tick = this.#tick[index]!
    if (this.#level[index] === this.#pulseLevel) {
      this.#lead = tick
      this.#openEdge = index
      return
    }
    if (Number.isNaN(this.#lead)) return
    const lead = this.#lead
    this.#lead = NaN
    if (
      this.#channel === 'csync' &&
      tick - lead > Math.max(BROAD_WIDTHS * this.#width.mean, this.#period / 4)
    ) {
      this.#broad(lead, tick)
    }
    const ahead = Math.round((lead - this.#expected) / this.#period)
    if (ahead > 0) {
      this.#closeSlot(lead)
      if (this.#locked && ahead > 1) this.#skip(ahead - 1)
      if (!this.#locked) return
    }
    if (this.#slotLead.length < MAX_PULSES_IN_SCANLINE) {
      this.#slotLead.push(lead)
      this.#slotTrail.push(tick)
    }
  }

  #broad(lead: number, trail: number): void {
    this.#open = this.#open.filter((event) => !('kind' in event))
    this.#tellOpen()
    this.#doubtful = 0
    this.#broadUntil = Math.ceil(this.scanlineAt(trail))
    this.#quietUntil = this.#broadUntil + BROAD_GUARD
    this.#listener.broadPulse(lead, trail)
  }

  /** Scanlines that no pulse fell into. */
  #skip(scanlines: number): void {
    const quiet = this.#number <= this.#quietUntil
    this.#coasting += scanlines
    if (this.#coasting > MAX_COAST) return this.#loseLock(this.#expected)
    for (let i = 0; i < scanlines; i++) {
      if (!quiet) this.#note('missing', this.#expected, 0, -1)
      this.#advance()
    }
  }

  #advance(): void {
    this.#expected += this.#period
    this.#number++
    this.#line.advance(this.#period - this.#slowPeriod)
    this.#trailLine.advance(this.#period - this.#slowPeriod)
  }

  /** The prediction alone moves. */
  #shiftLines(ticks: number): void {
    this.#line.shift(ticks)
    this.#trailLine.shift(ticks)
  }

  #note(
    kind: FaultKind,
    tick: number,
    widthTicks: number,
    lineCountError: -1 | 0 | 1,
    sinceTrueTicks = NaN,
    rejectWidthTicks = widthTicks,
  ): void {
    // between equalizing pulses, which have their phases, whatever else there is is false
    if (this.#number <= (kind === 'extra' ? this.#broadUntil : this.#quietUntil)) return
    this.#open.push({
      kind,
      channel: this.#channel,
      tick,
      scanline: this.#number,
      offsetTicks: kind === 'missing' ? 0 : tick - this.#expected - this.#line.centre,
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
  #closeSlot(nextLead = NaN): void {
    const leads = this.#slotLead
    const trails = this.#slotTrail
    const isEmpty = this.#channel === 'csync' && leads.every((lead) => this.#isHalfway(lead))
    if (leads.length === 0 || isEmpty) {
      leads.length = 0
      trails.length = 0
      this.#coasting++
      if (this.#expected + this.#line.tolerance < this.#endTick) this.#note('missing', this.#expected, 0, -1)
      this.#advance()
      return
    }
    let first = 0
    let last = 0
    if (leads.length > 1) [first, last] = this.#bestUnion()
    const lead = leads[first]!
    const width = trails[last]! - lead
    const piece = this.#pieceTicks(this.#longestPiece(first, last))
    const offset = lead - this.#expected
    const quiet = this.#number <= this.#quietUntil
    const isSpike = Math.abs(offset) > this.#period / 16 && width < this.#width.mean / 2
    if (leads.length > 1 || isSpike) this.#noteExtras(isSpike ? -1 : first, last)
    if (isSpike) {
      // after a last spike the pulse may still have been to come
      if (this.#expected + this.#line.tolerance < this.#endTick) this.#note('missing', this.#expected, 0, -1)
      this.#coasting++
    } else if (!this.#line.isOff(offset)) {
      this.#accept(lead, width, offset, quiet || this.#isEqualizing(width, nextLead), piece)
    } else if (quiet) {
      this.#coasting++
    } else {
      this.#doubt('phase', lead, width)
      this.#note(offset < 0 ? 'early' : 'late', lead, width, 0)
      this.#openScanline(lead, width, false, piece, offset - this.#line.centre)
      this.#lastTrueLead = lead
    }
    leads.length = 0
    trails.length = 0
    if (this.#doubtful >= BREAK_RUN) return this.#loseLock(this.#doubtfulTick)
    if (this.#coasting > MAX_COAST) return this.#loseLock(lead)
    this.#advance()
  }

  /**
   * Cheapest explanation: from which pulse to which the sync lasts. The width tells the pieces of a pulse from a pulse
   * with something beside it, so it is held against a few samples, not against what a width may be off by; of equal
   * explanations the one with fewer pieces is the simpler.
   */
  #bestUnion(): [number, number] {
    let best: [number, number] = [0, 0]
    let lowest = Infinity
    const sharp = 2.5 * this.#resolution
    const centre = this.#expected + this.#line.centre
    for (let first = 0; first < this.#slotLead.length; first++) {
      const off = Math.abs(this.#slotLead[first]! - centre) / this.#line.tolerance
      const end = Math.min(this.#slotLead.length, first + MAX_PIECES)
      for (let last = first; last < end; last++) {
        const wrong = Math.abs(this.#slotTrail[last]! - this.#slotLead[first]! - this.#width.mean) / sharp
        const cost = off * off + wrong * wrong + 0.01 * (last - first)
        if (cost < lowest) {
          lowest = cost
          best = [first, last]
        }
      }
    }
    return best
  }

  /** All pulses but the true one's first piece: a counter of leading edges counts each of them. */
  #noteExtras(first: number, last: number): void {
    const trueLead = first < 0 ? Infinity : this.#slotLead[first]!
    const longest = first < 0 ? -1 : this.#longestPiece(first, last)
    this.#slotLead.forEach((lead, i) => {
      if (i === first) return
      // a csync carries equalizing pulses at the half scanline: they are not faults
      if (this.#channel === 'csync' && this.#isHalfway(lead)) return
      const width = this.#slotTrail[i]! - lead
      const since = lead - (lead > trueLead ? trueLead : this.#lastTrueLead)
      // where the longest piece of a cut pulse is not its first, a filter rejects the first and keeps this one
      const rejected = i === longest ? this.#slotTrail[first]! - trueLead : width
      this.#note('extra', lead, width, 1, since, rejected)
    })
  }

  /** Index of the longest of the pieces that make the scanline's sync. */
  #longestPiece(first: number, last: number): number {
    let longest = first
    for (let i = first + 1; i <= last; i++) {
      if (this.#pieceTicks(i) > this.#pieceTicks(longest)) longest = i
    }
    return longest
  }

  #pieceTicks(index: number): number {
    return this.#slotTrail[index]! - this.#slotLead[index]!
  }

  /** Pulses of half the width, each half scanline, stand before and after the vsync of a composite sync. */
  #isEqualizing(width: number, nextLead: number): boolean {
    if (this.#channel === 'hsync') return false
    if (Math.abs(width - this.#width.mean / 2) > Math.max(2.5 * this.#resolution, this.#width.mean / 10))
      return false
    // the capture may have begun among them
    const mayFollowVsync = this.#number <= BROAD_GUARD
    return (
      mayFollowVsync ||
      Number.isNaN(nextLead) ||
      this.#isHalfway(nextLead) ||
      this.#slotLead.some((at) => this.#isHalfway(at))
    )
  }

  #isHalfway(lead: number): boolean {
    const phase = (lead - this.#expected) / this.#period
    return Math.abs(Math.abs(phase) - 0.5) < HALFWAY_SCANLINES
  }

  #accept(lead: number, width: number, offset: number, quiet: boolean, piece: number): void {
    const trailOffset = offset + width
    const wrongWidth = this.#width.isWrong(width, this.#trailLine.isOff(trailOffset))
    if (wrongWidth && !quiet) {
      this.#doubt('width', lead, width)
      this.#note(width < this.#width.mean / 2 ? 'short' : 'width', lead, width, 0)
      if (this.#doubtful >= BREAK_RUN) return
      this.#openScanline(lead, NaN, true, piece, offset - this.#line.centre)
    } else {
      this.#confirm(lead)
      const off = offset - this.#line.centre
      this.#listener.scanline(this.#number, lead, wrongWidth ? NaN : width, true, piece, off)
    }
    this.#lastTrueLead = lead
    this.#expected += offset * PHASE_GAIN
    this.#period += offset * PERIOD_GAIN
    this.#slowPeriod += (this.#period - this.#slowPeriod) * SLOW_GAIN
    const isNext = this.#number === this.#acceptedNumber + 1
    this.#line.add(offset, isNext ? lead - this.#acceptedLead : NaN)
    if (!wrongWidth) {
      this.#trailLine.add(trailOffset, isNext ? lead + width - this.#acceptedTrail : NaN)
      this.#width.add(width)
    }
    this.#acceptedNumber = this.#number
    this.#acceptedLead = lead
    this.#acceptedTrail = wrongWidth ? NaN : lead + width
    this.#shiftLines(offset * PHASE_GAIN)
  }

  /** A scanline as expected: what was pending was real, and older edges are not needed again. */
  #confirm(lead: number): void {
    this.#confirmedTick = lead
    this.#tellOpen()
    this.#doubtful = 0
    this.#coasting = 0
    this.#keepFrom = Math.max(this.#keepFrom, this.#openEdge)
  }

  #openScanline(
    tick: number,
    widthTicks: number,
    regular: boolean,
    longestPieceTicks: number,
    offsetTicks: number,
  ): void {
    this.#open.push({ scanline: this.#number, tick, widthTicks, regular, longestPieceTicks, offsetTicks })
  }

  /** Tells what is pending. */
  #tellOpen(): void {
    for (const event of this.#open) {
      if ('kind' in event) this.#listener.fault(event)
      else {
        const { scanline, tick, widthTicks, regular, longestPieceTicks, offsetTicks } = event
        this.#listener.scanline(scanline, tick, widthTicks, regular, longestPieceTicks, offsetTicks)
      }
    }
    this.#open.length = 0
  }

  #doubt(kind: 'phase' | 'width', lead: number, width: number): void {
    if (lead <= this.#holdUntil) return
    const sameKind = kind === this.#doubtfulKind
    const sameWidth = Math.abs(width - this.#doubtfulWidth) <= this.#width.tolerance
    if (this.#doubtful === 0 || !sameKind || (kind === 'width' && !sameWidth)) {
      this.#doubtful = 0
      this.#doubtfulTick = lead
      this.#doubtfulNumber = this.#number
    }
    this.#doubtfulKind = kind
    this.#doubtfulWidth = width
    this.#doubtful++
  }

  /**
   * Goes back to the first edge that did not fit and looks for a new lock from there. Sync was lost earlier where no
   * pulse at all came before that edge.
   */
  #loseLock(tick: number): void {
    this.#locked = false
    this.#gaveUp = this.#doubtful > 0
    if (this.#gaveUp) {
      // the doubtful scanlines are counted again by the next lock, which also tells whether what came before was wrong
      this.#open = this.#open.filter(({ scanline }) => scanline < this.#doubtfulNumber)
      const back = this.#number - this.#doubtfulNumber + 1
      this.#expected -= back * this.#period
      this.#shiftLines(back * (this.#slowPeriod - this.#period))
      this.#number = this.#doubtfulNumber - 1
    } else this.#open = []
    this.#slotLead.length = 0
    this.#slotTrail.length = 0
    this.#listener.lockLost(Math.min(tick, this.#confirmedTick + this.#period))
    let from = this.#keepFrom
    while (from < this.#count && (this.#tick[from]! < tick || this.#level[from] !== this.#pulseLevel)) from++
    this.#keepFrom = from
  }
}
