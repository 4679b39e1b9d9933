// One frame as sync shows it.

/** One frame, from vsync leading edge to vsync leading edge. */
export interface FrameSync {
  startTick: number
  /** The scanline in which vsync's leading edge falls. */
  firstScanline: number
  /** Where in that scanline, 0 to 1. */
  phase: number
  /** Scanlines to the next vsync, not rounded; NaN while the frame is not over. */
  scanlines: number
  /** Sync pulses that a counter of leading edges counts in the frame. */
  countedEdges: number
  /** Scanlines of its segment told before this frame was. */
  scanlinesBefore: number
  /** Width of its vsync, and of the longest piece where that is cut; in ticks. */
  widthTicks: number
  longestPieceTicks: number
}
