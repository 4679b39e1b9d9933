// The value of a change, as its digits come: the last 32 are kept, which is as wide as a vector may be.

import { LEVEL_HIGH, LEVEL_UNKNOWN } from './transition-batch.ts'

export class VcdValue {
  /** Levels by bit, the last digit lowest; an unknown one counts as low. */
  value = 0
  /** Which bits are not known. */
  unknown = 0
  digits = 0
  /** Whether the first digit was unknown: a vector that is written short is filled up with it. */
  firstUnknown = false

  clear(): void {
    this.value = 0
    this.unknown = 0
    this.digits = 0
    this.firstUnknown = false
  }

  add(level: number): void {
    const isUnknown = level === LEVEL_UNKNOWN
    if (this.digits === 0) this.firstUnknown = isUnknown
    this.value = (this.value << 1) | (level === LEVEL_HIGH ? 1 : 0)
    this.unknown = (this.unknown << 1) | (isUnknown ? 1 : 0)
    this.digits++
  }

  /** Every digit so far is a 0. */
  get isZero(): boolean {
    return this.value === 0 && this.unknown === 0
  }

  /** Level of a single wire: the last digit. */
  get level(): number {
    return (this.unknown & 1) === 1 ? LEVEL_UNKNOWN : this.value & 1
  }
}
