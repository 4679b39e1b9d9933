// The last value of every vector: a change of a vector is a transition only of the wires that differ from it.

import type { VcdWire } from './vcd-channels.ts'

/** Columns over the vectors of a capture, by vector number; bit 0 of each mask is the last wire of the vector. */
export class VcdVectors {
  /** Ones for all bits of the vector. */
  readonly mask: Int32Array
  /** Channel number of bit 0; bit n is n channels before it. */
  readonly lastChannel: Int32Array
  /** Bits that are to be emitted. */
  readonly wanted: Int32Array
  /** Bits that are high; 0 where unknown. */
  readonly value: Int32Array
  /** Bits that are unknown; stale where `unsettled` has 0. */
  readonly unknown: Int32Array
  /** Bits whose next 0 or 1 is a change whatever `value` says: not told yet, or unknown. */
  readonly unsettled: Int32Array

  /** @param wires of more than one bit, in the order of their numbers */
  constructor(wires: readonly VcdWire[]) {
    this.mask = Int32Array.from(wires, ({ widthBits }) => (widthBits === 32 ? -1 : (1 << widthBits) - 1))
    this.lastChannel = Int32Array.from(wires, ({ firstChannel, widthBits }) => firstChannel + widthBits - 1)
    this.wanted = this.mask.slice()
    this.value = new Int32Array(wires.length)
    this.unknown = new Int32Array(wires.length)
    this.unsettled = this.mask.slice()
  }

  /**
   * Takes a change; afterwards `value` and `unknown` hold what it says.
   *
   * @param value,unknown the last 32 digits, the last one in bit 0
   * @param digits digits the change had; the wires left of them are filled after the first digit
   * @returns the wanted bits that differ from before
   */
  change(vector: number, value: number, unknown: number, digits: number, firstUnknown: boolean): number {
    const all = this.mask[vector]!
    // IEEE 1364-2005, table 18-1: 0 and 1 are extended by 0, x by x, z by z.
    const extended = digits < 32 && firstUnknown ? unknown | (-1 << digits) : unknown
    const nowUnknown = extended & all
    const nowValue = value & all & ~nowUnknown
    const unsettled = this.unsettled[vector]!
    const wasUnknown = this.unknown[vector]! & unsettled
    const changed = (nowValue ^ this.value[vector]!) | (nowUnknown ^ wasUnknown) | (unsettled & ~wasUnknown)
    this.value[vector] = nowValue
    this.unknown[vector] = nowUnknown
    this.unsettled[vector] = nowUnknown
    return changed & this.wanted[vector]!
  }
}
