// Voltages, row by row → edges at the time at which the threshold was crossed, between two samples. The first rows are held
// back until the levels are known; after that an edge waits only while a crossing before it is undecided.

import { thresholdsOf, type AnalogThreshold } from './analog-threshold.ts'
import { LEVEL_HIGH, LEVEL_LOW, LEVEL_UNKNOWN, NO_LEVEL } from './transition-batch.ts'

/** One column of voltages. */
export interface AnalogChannel {
  channel: number
  voltsPerUnit: number
  isVolts: boolean
}

/** Rows held back: some milliseconds at the rates of oscilloscopes, and so dozens of scanlines. */
const HELD_ROWS = 200_000
/** Voltages held back at most, however many columns there are: 32 MB. */
const HELD_VALUES = 4_000_000
/** Edges that wait for an undecided crossing before it is taken to stay undecided. */
const MAX_WAITING = 256

export class AnalogEdges {
  /** By column; undefined until the levels are known. */
  thresholds: readonly AnalogThreshold[] | undefined
  readonly #columns: readonly AnalogChannel[]
  readonly #placesEdges: boolean
  readonly #emit: (tick: number, channel: number, level: number) => void
  readonly #maxHeld: number
  #heldTicks: number[] = []
  #heldVolts: number[] = []
  /** Edges of other columns, and the row that they came with. */
  #heldEdges: { row: number; tick: number; channel: number; level: number }[] = []
  #waiting: { tick: number; channel: number; level: number }[] = []
  readonly #level: Uint8Array
  readonly #volts: Float64Array
  /** Where each column last crossed its middle, while it has not yet reached the other level; else Infinity. */
  readonly #crossing: Float64Array
  #tick = -Infinity
  #emitted = -Infinity

  /** @param placesEdges false where rows state changes, which hold from their own time on */
  constructor(
    columns: readonly AnalogChannel[],
    placesEdges: boolean,
    emit: (tick: number, channel: number, level: number) => void,
  ) {
    this.#columns = columns
    this.#placesEdges = placesEdges
    this.#emit = emit
    this.#maxHeld = Math.min(HELD_ROWS, Math.floor(HELD_VALUES / columns.length))
    this.#level = new Uint8Array(columns.length).fill(NO_LEVEL)
    this.#volts = new Float64Array(columns.length).fill(NaN)
    this.#crossing = new Float64Array(columns.length).fill(Infinity)
  }

  /** An edge of a column that is no voltage, at the row that is read next. */
  other(tick: number, channel: number, level: number): void {
    if (this.thresholds) this.#waiting.push({ tick, channel, level })
    else this.#heldEdges.push({ row: this.#heldTicks.length, tick, channel, level })
  }

  /** @param volts one number per column, NaN where the level is not known; copied */
  row(tick: number, volts: Float64Array): void {
    if (this.thresholds) {
      this.#take(tick, volts, this.thresholds)
      return
    }
    this.#heldTicks.push(tick)
    for (const value of volts) this.#heldVolts.push(value)
    if (this.#heldTicks.length >= this.#maxHeld) this.#settle()
  }

  /** Hands on what is held back and what waits. */
  end(): void {
    if (!this.thresholds) this.#settle()
    this.#release(Infinity)
  }

  #settle(): void {
    const width = this.#columns.length
    const held = this.#heldVolts
    const thresholds = thresholdsOf(
      this.#columns.map((column, n) => ({
        ...column,
        values: Float64Array.from({ length: held.length / width }, (_, row) => held[row * width + n]!).filter(
          (value) => !Number.isNaN(value),
        ),
      })),
    )
    this.thresholds = thresholds
    const volts = new Float64Array(width)
    let edge = 0
    this.#heldTicks.forEach((tick, row) => {
      for (; this.#heldEdges[edge]?.row === row; edge++) this.#waiting.push(this.#heldEdges[edge]!)
      for (let n = 0; n < width; n++) volts[n] = held[row * width + n]!
      this.#take(tick, volts, thresholds)
    })
    this.#heldTicks = []
    this.#heldVolts = []
    this.#heldEdges = []
  }

  #take(tick: number, volts: Float64Array, thresholds: readonly AnalogThreshold[]): void {
    let decided = tick
    for (let n = 0; n < volts.length; n++) {
      const now = volts[n]!
      const before = this.#volts[n]!
      const level = this.#level[n]!
      const { low, middle, high } = thresholds[n]!
      this.#volts[n] = now
      if (Number.isNaN(now)) {
        this.#crossing[n] = Infinity
        if (level !== LEVEL_UNKNOWN) this.#edge(n, tick, LEVEL_UNKNOWN)
        continue
      }
      if (Number.isNaN(before)) {
        this.#edge(n, tick, now >= middle ? LEVEL_HIGH : LEVEL_LOW)
        continue
      }
      const isAcross = level === LEVEL_LOW ? now >= middle : now < middle
      if (!isAcross) this.#crossing[n] = Infinity
      else if (this.#crossing[n] === Infinity) {
        // straight from sample to sample
        const from = this.#placesEdges ? this.#tick : tick
        this.#crossing[n] = from + ((middle - before) / (now - before)) * (tick - from)
      }
      if (level === LEVEL_LOW ? now >= high : now <= low) {
        this.#edge(n, this.#crossing[n]!, level === LEVEL_LOW ? LEVEL_HIGH : LEVEL_LOW)
        this.#crossing[n] = Infinity
      } else decided = Math.min(decided, this.#crossing[n]!)
    }
    this.#tick = tick
    if (this.#waiting.length > 0) this.#release(this.#waiting.length > MAX_WAITING ? tick : decided)
  }

  #edge(column: number, tick: number, level: number): void {
    this.#level[column] = level
    this.#waiting.push({ tick: Math.round(tick), channel: this.#columns[column]!.channel, level })
  }

  /** Hands on what waits up to a time, in order; what comes too late for that takes the time of the last. */
  #release(until: number): void {
    const waiting = this.#waiting
    if (waiting.length > 1) waiting.sort((a, b) => a.tick - b.tick)
    let n = 0
    for (; n < waiting.length && waiting[n]!.tick <= until; n++) {
      const { tick, channel, level } = waiting[n]!
      this.#emitted = Math.max(this.#emitted, tick)
      this.#emit(this.#emitted, channel, level)
    }
    if (n > 0) waiting.splice(0, n)
  }
}
