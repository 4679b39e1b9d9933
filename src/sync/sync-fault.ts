// What can be wrong with a sync pulse, as data. A file of its own because trackers make faults and reports read them.

/** Kinds of fault; one cause makes one fault. */
export const FAULT_KINDS = ['extra', 'missing', 'short', 'early', 'late', 'width'] as const
export type FaultKind = (typeof FAULT_KINDS)[number]

/** One false, missing or misplaced pulse. */
export interface SyncFault {
  kind: FaultKind
  channel: 'hsync' | 'vsync' | 'csync'
  /** Leading edge of the pulse, or where it was expected; in ticks. */
  tick: number
  /** Scanline number, counted from the first of the lock; never falls. */
  scanline: number
  /** Leading edge minus where the fit expects it, in ticks. */
  offsetTicks: number
  /** Width of the pulse in ticks; 0 when missing. */
  widthTicks: number
  /** Since the true leading edge before it, in ticks; NaN where none came before, or nothing false is here. */
  sinceTrueTicks: number
  /** Width, in ticks, that a minimum pulse width must exceed to reject it: of a pulse cut in two, the shorter piece's. */
  rejectWidthTicks: number
  /** True where a colour channel changes at the same time; filled in by whoever sees the colours. */
  colourEdgeNear: boolean
  /** Share of the time around the pulse in which that would be so by chance, 0 to 1; NaN where nobody saw. */
  colourShareNear: number
  /** What a counter of leading edges gains (+1) or loses (-1) here. */
  lineCountError: -1 | 0 | 1
}
