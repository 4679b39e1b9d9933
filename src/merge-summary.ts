// What several frames together told of a picture, beside the picture itself: data for reports.

import type { DotClockOrigin } from './measure-segment.ts'
import type { Measurement } from './measurement.ts'

/** Merged frames in SI units. */
export interface MergeSummary {
  /** Whole frames that were merged. */
  frames: number
  /** Frames of which a part was captured and merged as well. */
  framesInPart: number
  /** Further frames that would leave no dot between samples; null where no number would. */
  moreFrames: number | null
  /** Dots per scanline that the picture was merged with. */
  dotsPerScanline: number
  dotClockHz: Measurement
  dotClockFrom: Exclude<DotClockOrigin, null>
  /** Other dots per scanline that the frames agree with as well; empty where the count is measured. */
  otherDotsPerScanline: number[]
  samplesPerDot: number
  /** By how much each frame is sampled elsewhere than the one before, in samples, -0.5 to 0.5. */
  frameStepSamples: Measurement
  /** False where the instrument's clock is commensurate with the frame rate: more frames tell nothing new. */
  sampleGridMoves: boolean
  /** Standard deviation of edges about their boundaries. */
  jitterSeconds: number
  /** Samples nearer to a boundary than this were not counted for either dot. */
  guardSeconds: number
  /** Parts of the picture that change, the largest first. */
  parts: MergedPart[]
  partsNotListed: number
}

/** A part of the picture that moves or blinks: the smallest rectangle around it, in pixels of the picture. */
export interface MergedPart {
  kind: 'blinking' | 'changed' | 'moving'
  left: number
  top: number
  dots: number
  scanlines: number
  /** Dots in it about which frames disagree. */
  dotsInDispute: number
  /** Null where no whole blink was seen. */
  blinkHz: Measurement | null
  /** Frames that show it as it is drawn. */
  framesDrawn: number
}
