// A measured segment -> the signal that sampling plans are made for.

import { SignalError } from '../errors.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import type { SampledSignal } from './sampling-plan.ts'

/** Jitters that were measured or follow from the instrument, seconds RMS; null where nothing is known. */
export interface KnownJitter {
  /** Of hsync's leading edges, beyond what the instrument's sample interval explains. */
  cardRmsSeconds: number | null
  /** What the instrument leaves unsure of where dots lie against hsync: its quantisation over all scanlines kept. */
  instrumentRmsSeconds: number | null
}

/** A signal, with where its parts come from. */
export interface MeasuredSignal {
  signal: SampledSignal & { leadDots: number }
  jitter: KnownJitter
  /** The standard's, since this capture does not show it. */
  dotClockAssumed: boolean
  activeAssumed: boolean
}

/** @throws {SignalError} DOT_CLOCK_UNKNOWN */
export function measuredSignal(segment: SegmentMeasurement): MeasuredSignal {
  const { raster, active, picture, hsync } = segment
  if (raster.dotClockHz === null || active === null)
    throw new SignalError(
      'DOT_CLOCK_UNKNOWN',
      'the dots cannot be told apart in this capture, and no standard says how many there are',
      {},
      { hint: 'give the numbers by hand: --dot-clock HZ --active DOTS' },
    )
  const jitter = jitterOf(segment)
  const jitters = [jitter.cardRmsSeconds, jitter.instrumentRmsSeconds].filter((rms) => rms !== null)
  const leadDots = picture
    ? picture.area.left + firstBoundary(picture.raster.phase.commonDots)
    : hsync.widthSeconds.value * raster.dotClockHz.value + active.hBackPorchDots
  return {
    signal: { dotClockHz: raster.dotClockHz, activeDots: active.dots, leadDots, jitterRmsSeconds: jitters },
    jitter,
    dotClockAssumed: raster.dotClockFrom === 'standard',
    activeAssumed: active.from === 'standard',
  }
}

/** Where dot 0 begins, in dots from the scanline's start: within half a dot of it, as dots are read. */
export function firstBoundary(commonDots: number): number {
  return commonDots > 0.5 ? commonDots - 1 : commonDots
}

function jitterOf({ signal }: SegmentMeasurement): KnownJitter {
  if (!signal) return { cardRmsSeconds: null, instrumentRmsSeconds: null }
  const { grid, sampleIntervalTicks } = signal.source
  const scanlines = grid.start.length - 1
  return {
    cardRmsSeconds: grid.jitterTicks * signal.secondsPerTick,
    // a rectangle of one interval has a variance of 1/12 (GUM, JCGM 100:2008, 4.3.7); the mean of n has 1/n of it
    instrumentRmsSeconds: (sampleIntervalTicks * signal.secondsPerTick) / Math.sqrt(12 * scanlines),
  }
}
