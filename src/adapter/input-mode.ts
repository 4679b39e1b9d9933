// A measured segment or a row of the catalogue -> what an adapter is fed with, and what its output was measured as.

import { fieldRateHz, scanlineRateHz, scanlinesPerField, type Standard } from '../classify/standard.ts'
import { SignalError } from '../errors.ts'
import type { SegmentMeasurement } from '../measure-segment.ts'
import type { MeasuredOutput } from './output-check.ts'
import type { InputMode } from './output-modes.ts'

/** An input, with what of it the capture did not show. */
export interface MeasuredInput {
  input: InputMode
  /** Id of the standard; null where none fits. */
  standard: string | null
  name: string
  /** Taken from the standard: dots, picture or frame rate. */
  assumed: string[]
}

/** Of one field, if interlaced: an adapter with a line buffer sees fields. */
export function inputOfStandard(row: Standard): MeasuredInput {
  return {
    input: {
      hsyncHz: scanlineRateHz(row),
      vsyncHz: fieldRateHz(row),
      dotsPerScanline: row.dotsPerScanline,
      scanlinesPerFrame: scanlinesPerField(row),
      activeDots: row.activeDots,
      activeScanlines: row.interlaced ? row.activeScanlines / 2 : row.activeScanlines,
      dotClockHz: row.dotClockHz,
    },
    standard: row.id,
    name: row.name,
    assumed: [],
  }
}

/** @throws {SignalError} DOT_CLOCK_UNKNOWN, where neither the capture nor a standard tells the picture's size or rate */
export function inputOfSegment(segment: SegmentMeasurement): MeasuredInput {
  const { hsync, vsync, raster, active, classification } = segment
  const row = classification.standard?.standard ?? null
  const nominal = row ? inputOfStandard(row).input : null
  const hsyncHz = hsync.frequencyHz.value
  const sweeps = (raster.scanlinesPerFrame === null ? row?.interlaced : raster.interlaced) ? 2 : 1
  const scanlines =
    raster.scanlinesPerFrame === null ? nominal?.scanlinesPerFrame : raster.scanlinesPerFrame / sweeps
  if (raster.dotsPerScanline === null || active === null || scanlines === undefined)
    throw new SignalError(
      'DOT_CLOCK_UNKNOWN',
      'the capture does not show how large the picture is, and no standard tells',
      {},
      { hint: 'name what the card sends with --mode ID; `rastertap modes` lists the known ones' },
    )
  return {
    input: {
      hsyncHz,
      vsyncHz: vsync?.frequencyHz?.value ?? hsyncHz / scanlines,
      dotsPerScanline: raster.dotsPerScanline,
      scanlinesPerFrame: scanlines,
      activeDots: active.dots,
      activeScanlines: active.scanlines / sweeps,
      dotClockHz: raster.dotsPerScanline * hsyncHz,
    },
    standard: row?.id ?? null,
    name: row?.name ?? 'no known standard',
    assumed: [
      ...(raster.dotClockFrom === 'standard' ? ['dots per scanline'] : []),
      ...(active.from === 'standard' ? ['active area'] : []),
      ...(vsync?.frequencyHz ? [] : ['frame rate']),
    ],
  }
}

/** What a capture of an adapter's own output shows. */
export function outputOfSegment(segment: SegmentMeasurement): MeasuredOutput {
  const { hsync, vsync, raster } = segment
  return {
    hsyncHz: hsync.frequencyHz,
    vsyncHz: vsync?.frequencyHz ?? null,
    scanlinesPerFrame:
      raster.scanlinesPerFrame === null ? null : raster.scanlinesPerFrame / (raster.interlaced ? 2 : 1),
    hsyncPolarity: hsync.polarity,
    vsyncPolarity: vsync?.polarity ?? null,
    hsyncWidthSeconds: hsync.widthSeconds,
    vsyncWidthScanlines: vsync?.widthScanlines ?? null,
    dotsPerScanline: raster.dotClockFrom === 'measured' ? raster.dotsPerScanline : null,
  }
}
