// The sync faults of one segment: counted by kind, the first of them listed, false edges reduced to those that decide what
// a filter must do. Pulses missing within vsync are kept apart: with some sources that is a habit.

import { LOOK_BACK } from './edge-counter.ts'
import { FalseEdgeFront } from './remedy.ts'
import { FAULT_KINDS, type FaultKind, type SyncFault } from './sync-fault.ts'

/** Faults kept one by one; further ones are counted. */
export const MAX_FAULTS_LISTED = 10_000

/** Time in which pulses count as missing within vsync, in ticks. */
export interface VsyncTime {
  fromTick: number
  toTick: number
}

/** False edges of one wire. */
export interface FalseEdges {
  edges: FalseEdgeFront
  /** How late after its leading edge the longest piece of a cut pulse begins, in ticks. */
  latestPieceTicks: number
}

export class FaultList {
  readonly counts: Record<FaultKind, number> = { extra: 0, missing: 0, short: 0, early: 0, late: 0, width: 0 }
  /** In order of time once the segment is over. */
  listed: SyncFault[] = []
  /** Scanlines that a counter of leading edges gains and loses in all. */
  readonly miscounted: { gained: number; lost: number } = { gained: 0, lost: 0 }
  /** Of hsync or csync, and of vsync. */
  readonly falseEdges: FalseEdges = { edges: new FalseEdgeFront(), latestPieceTicks: 0 }
  readonly falseVsyncs: FalseEdges = { edges: new FalseEdgeFront(), latestPieceTicks: 0 }
  readonly missingInVsync: { count: number; listed: SyncFault[] } = { count: 0, listed: [] }
  /** Missing pulses that may yet turn out to lie within vsync. */
  #recentMissing: SyncFault[] = []

  get total(): number {
    return FAULT_KINDS.reduce((sum, kind) => sum + this.counts[kind], 0)
  }

  /** @param lastVsync where missing pulses belong to vsync, as far as is known */
  add(fault: SyncFault, lastVsync: VsyncTime | undefined): void {
    this.#total(fault, 1)
    if (fault.kind === 'extra') this.#addFalseEdge(fault)
    if (fault.kind === 'missing') {
      this.#recentMissing.push(fault)
      if (this.#recentMissing.length >= LOOK_BACK) this.placeMissing(Infinity, lastVsync)
    } else this.#list(fault)
  }

  /** One that judging vsync found: it misleads no counter of scanlines. */
  addVsync(fault: SyncFault): void {
    this.counts[fault.kind]++
    if (fault.kind === 'extra') this.falseVsyncs.edges.add(fault)
    this.#list(fault)
  }

  /** Missing pulses before the tick: within the vsync before it, or not. */
  placeMissing(untilTick: number, lastVsync: VsyncTime | undefined): void {
    const { listed } = this.missingInVsync
    this.#recentMissing = this.#recentMissing.filter((fault) => {
      if (fault.tick >= untilTick) return true
      if (isWithin(fault, lastVsync)) {
        this.missingInVsync.count++
        if (listed.length < MAX_FAULTS_LISTED) listed.push(fault)
      } else this.#list(fault)
      return false
    })
  }

  /** Whether pulses are missing in this vsync. */
  lacksPulsesIn(vsync: VsyncTime): boolean {
    return this.#recentMissing.some((fault) => isWithin(fault, vsync))
  }

  /** Pulses missing within vsync turned out to be no faults. */
  forgiveMissingInVsync(): void {
    this.counts.missing -= this.missingInVsync.count
    this.miscounted.lost -= this.missingInVsync.count
    this.missingInVsync.count = 0
    const { listed } = this.missingInVsync
    this.listed = this.listed.filter((fault) => !listed.includes(fault))
  }

  /** Nothing more comes: puts all in order. */
  finish(): void {
    this.listed.push(...this.missingInVsync.listed.slice(0, MAX_FAULTS_LISTED - this.listed.length))
    this.listed.sort((a, b) => a.tick - b.tick)
  }

  /** Hands those from a tick on to another list. */
  handOver(to: FaultList, tick: number): void {
    const later = (list: SyncFault[]): SyncFault[] => {
      const moved = list.filter((fault) => fault.tick >= tick)
      const kept = list.filter((fault) => fault.tick < tick)
      list.length = 0
      list.push(...kept)
      for (const fault of moved) {
        this.#total(fault, -1)
        to.#total(fault, 1)
        if (fault.kind === 'extra') to.#addFalseEdge(fault)
      }
      return moved
    }
    to.listed.push(...later(this.listed))
    to.#recentMissing.push(...later(this.#recentMissing))
    const inVsync = later(this.missingInVsync.listed)
    to.missingInVsync.listed.push(...inVsync)
    this.missingInVsync.count -= inVsync.length
    to.missingInVsync.count += inVsync.length
  }

  #total(fault: SyncFault, times: 1 | -1): void {
    this.counts[fault.kind] += times
    if (fault.lineCountError > 0) this.miscounted.gained += times
    if (fault.lineCountError < 0) this.miscounted.lost += times
  }

  #addFalseEdge(fault: SyncFault): void {
    const front = fault.channel === 'vsync' ? this.falseVsyncs : this.falseEdges
    front.edges.add(fault)
    // a filter lets this piece pass in place of the true pulse's first
    if (fault.rejectWidthTicks < fault.widthTicks)
      front.latestPieceTicks = Math.max(front.latestPieceTicks, fault.sinceTrueTicks)
  }

  #list(fault: SyncFault): void {
    if (this.listed.length < MAX_FAULTS_LISTED) this.listed.push(fault)
  }
}

function isWithin({ tick }: SyncFault, vsync: VsyncTime | undefined): boolean {
  return vsync !== undefined && tick >= vsync.fromTick && tick < vsync.toTick
}
