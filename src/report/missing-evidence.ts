// A measured segment → what its capture does not show, so that nobody takes an assumption for a measurement.

import type { CaptureMeasurement } from '../measure.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import { count } from './number-text.ts'

/** One thing that a capture leaves open. */
export interface MissingEvidence {
  what: 'vsync' | 'frame' | 'polarity' | 'dots' | 'picture' | 'active-area' | 'active-height'
  /** A sentence: what is missing, and what is therefore not known or assumed. */
  message: string
}

const DOTS_MISSING: Readonly<Record<NonNullable<SegmentMeasurement['raster']['dotsNotMeasured']>, string>> = {
  'no-edges': 'no colour changes often enough to count dots',
  'few-places': 'what is lit has edges at too few places in the scanline to count dots',
  'sample-rate-too-low': 'the samples are too far apart to count dots',
  'not-periodic': 'the edges of the picture fit no count of dots',
}

/** @param measurement what `segment` is part of */
export function missingEvidence(
  segment: SegmentMeasurement,
  { channels, notices }: Pick<CaptureMeasurement, 'channels' | 'notices'>,
): MissingEvidence[] {
  const isComposite = notices.some(({ code }) => code === 'SYNC_COMPOSITE')
  const hasVsync = isComposite || channels.some(({ role }) => role === 'vsync')
  return [
    ...frameMissing(segment, hasVsync),
    ...(isComposite ? [POLARITY_MISSING] : []),
    ...dotsMissing(segment),
    ...areaMissing(segment),
  ]
}

const POLARITY_MISSING: MissingEvidence = {
  what: 'polarity',
  message: 'both syncs share a wire: the polarities that they had before are not known',
}

function frameMissing(
  { vsync, raster, scanlines }: SegmentMeasurement,
  hasVsync: boolean,
): MissingEvidence[] {
  if (raster.scanlinesPerFrame !== null) return []
  const unknown = 'frame rate, scanlines per frame and interlace are not known'
  if (vsync) return [{ what: 'frame', message: `no two vsyncs in this capture: ${unknown}` }]
  const message = hasVsync
    ? `no vsync in ${count(scanlines, 'scanline')}: ${unknown}, but that a sweep has more of them`
    : `no channel carries vsync: ${unknown}, nor are vsync's polarity and width`
  return [{ what: 'vsync', message }]
}

function dotsMissing({ raster, classification }: SegmentMeasurement): MissingEvidence[] {
  const { dotsNotMeasured: reason, dotsPerScanline, dotClockFrom } = raster
  if (reason === null) return []
  const { standard } = classification
  const instead =
    dotClockFrom === 'standard' && standard
      ? `${dotsPerScanline} per scanline and the dot clock are those of ${standard.name}`
      : 'dots per scanline and dot clock are not known'
  return [{ what: 'dots', message: `${DOTS_MISSING[reason]}: ${instead}` }]
}

function areaMissing({ active, picture, raster, classification }: SegmentMeasurement): MissingEvidence[] {
  const { standard } = classification
  if (!active) {
    return [{ what: 'active-area', message: 'size and place of the picture are not known' }]
  }
  if (active.from === 'standard' && standard) {
    const why = picture ? 'what is lit does not reach the edges of the picture' : 'no picture is captured'
    return [
      {
        what: picture ? 'active-area' : 'picture',
        message: `${why}: its size and place are those of ${standard.name}`,
      },
    ]
  }
  if (raster.scanlinesPerFrame === null && !standard) {
    const message =
      `without a whole frame or a standard, the height of ${active.scanlines} scanlines is that of what was ` +
      "captured, not the picture's"
    return [{ what: 'active-height', message }]
  }
  return []
}
