// What a capture is made from, what is told of it afterwards, and which numbers make sense.

import type { CaptureForm, CompositeKind } from './choices.ts'
import type { DefectRequest, InjectedDefect } from './defects.ts'
import { impossible } from './impossible.ts'
import type { SignalJitter } from './jitter.ts'
import type { SignalChannel } from './signal-channels.ts'
import type { SignalPicture } from './signal-picture.ts'
import { activeScanlinesOf, type SignalTiming } from './signal-timing.ts'

/** What to make. */
export interface SynthesisOptions {
  timing: SignalTiming
  /** As large as the timing's active area. */
  picture: SignalPicture
  sampleRateHz: number
  /** Length of the capture in frames, not necessarily whole. */
  frames: number
  /**
   * How far into a frame the capture begins, 0 to 1 (excluded): DEFAULT_START_PHASE unless given. With 0 it begins together with vsync,
   * whose leading edge is then not seen.
   */
  startPhase?: number | undefined
  /** How much faster than nominal the card's clock runs, against the instrument's. */
  clockErrorPpm?: number | undefined
  /** Delay by name of channel; negative is early. */
  skewSeconds?: Readonly<Record<string, number>> | undefined
  jitter?: SignalJitter | undefined
  defects?: readonly DefectRequest[] | undefined
  /** hsync and vsync on one wire. */
  composite?: CompositeKind | undefined
  form?: CaptureForm | undefined
  /** Whole; 1 unless given. */
  seed?: number | undefined
}

/** What is true of a capture that was made. */
export interface SynthesisSummary {
  channels: readonly SignalChannel[]
  samples: number
  durationSeconds: number
  /** Level changes of single channels. */
  transitions: number
  /** What went wrong within it, in time order. */
  defects: InjectedDefect[]
}

/** Within the picture, and, where interlaced, not where the other field begins. */
export const DEFAULT_START_PHASE = 0.6

const RATE_HZ = { min: 1e3, max: 1e11 } as const
const MAX_FRAMES = 100_000

/**
 * @throws {CaptureError} SYNTHESIS_IMPOSSIBLE for numbers that make no capture
 * @throws {RangeError} where the picture does not fill the timing's active area
 */
export function checkOptions({ timing, picture, ...options }: SynthesisOptions): void {
  const { sampleRateHz, frames, startPhase = 0, clockErrorPpm = 0, seed = 1 } = options
  if (!(sampleRateHz >= RATE_HZ.min && sampleRateHz <= RATE_HZ.max)) {
    throw impossible(`a sample rate of ${sampleRateHz} Hz cannot be made`, 'give one from 1 kHz to 100 GHz')
  }
  if (!(frames > 0 && frames <= MAX_FRAMES)) {
    throw impossible(`${frames} frames cannot be made`, `give more than 0 and at most ${MAX_FRAMES}`)
  }
  if (!(startPhase >= 0 && startPhase < 1)) {
    throw impossible(`a start phase of ${startPhase} is none`, 'give 0 or more and less than 1')
  }
  if (!(Math.abs(clockErrorPpm) <= 1e5)) {
    throw impossible(`a clock error of ${clockErrorPpm} ppm is none`, 'give at most 100000 either way')
  }
  if (!Number.isSafeInteger(seed) || seed < 0) {
    throw impossible(`${seed} is no seed`, 'give a whole number from 0')
  }
  const [width, height] = [timing.horizontal.active, activeScanlinesOf(timing)]
  if (picture.widthDots !== width || picture.heightScanlines !== height) {
    throw new RangeError(
      `a picture of ${picture.widthDots} by ${picture.heightScanlines} does not fill ${width} by ${height}`,
    )
  }
}
