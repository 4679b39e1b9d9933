// One row of the catalogue: a published raster timing with where it was published. The rows themselves sit in
// the standards-*.ts files, one per family.

import type { Polarity } from '../measurement.ts'

/** How sure a row is. `published, derived` = arithmetic on published registers and crystal, nobody's measurement. */
export type Mark = 'published' | 'published, derived' | 'common practice' | 'from memory'

/**
 * Wires that carry the picture: `mono` = video + intensity; `rgbi` = one intensity wire for all three colours;
 * `rgbrgb` = two wires per colour; `analog` = levels between 0 and 0.7 V, digital only before the converter.
 */
export type ColourWires = 'mono' | 'rgb' | 'rgbi' | 'rgbrgb' | 'analog'

/** Blanked part of a scanline (dots) or of a field (scanlines). */
export interface Blanking {
  frontPorch: number
  sync: number
  backPorch: number
}

/**
 * A published timing.
 *
 * Porches are counted from the end of the displayed picture and include any border, so that
 * `active + frontPorch + sync + backPorch = total`. They are the controller's: a card's pipeline may shift sync against
 * the picture by about one character, so no porch is ever required to match.
 * "Dots" are periods of `dotClockHz`; modes that repeat each dot (320 across) still count 640.
 */
export interface Standard {
  /** Stable name, part of the tool's contract. */
  id: string
  name: string
  dotClockHz: number
  /** Other crystals that boards of this kind carry, hertz. */
  dotClockVariantsHz: readonly number[]
  dotsPerScanline: number
  /** Whole frame: an interlaced row counts both fields. */
  scanlinesPerFrame: number
  /** Totals to accept, the preferred one first, where sources or cards disagree. */
  scanlinesAccepted: readonly number[]
  activeDots: number
  /** Whole frame, as `scanlinesPerFrame`. */
  activeScanlines: number
  /** Dots. */
  horizontal: Blanking
  /** Scanlines of one field; an interlaced row states the first field, with its half scanline. */
  vertical: Blanking
  /** Widths of hsync to accept, in dots, the row's own first. */
  syncDotsAccepted: readonly number[]
  /** Widths of vsync to accept, in scanlines, the row's own first. */
  vsyncScanlinesAccepted: readonly number[]
  /** null = no source states it. */
  hsyncPolarity: Polarity | null
  vsyncPolarity: Polarity | null
  interlaced: boolean
  colour: ColourWires
  /** Relative half-width within which the scanline rate may lie. */
  rateTolerance: number
  /** Width over height of the displayed picture on its monitor. */
  displayAspect: number
  /** Id of the row that stands for this one when classifying: timing cannot tell the two apart. */
  sameTimingAs?: string
  note?: string
  source: string
  mark: Mark
}

/** 100 ppm make tolerance plus temperature and ageing of a cheap crystal (common practice), relative. */
export const CRYSTAL_TOLERANCE = 150e-6

/** 4 times the NTSC colour subcarrier, 315/88 MHz (SMPTE 170M): exactly 157.5/11 MHz. */
export const NTSC_TIMES_4_HZ: number = 157.5e6 / 11

/** What a row must state; everything else has a usual value. */
type Stated = Pick<
  Standard,
  | 'id'
  | 'name'
  | 'dotClockHz'
  | 'dotsPerScanline'
  | 'scanlinesPerFrame'
  | 'activeDots'
  | 'activeScanlines'
  | 'colour'
  | 'source'
  | 'mark'
> & {
  /** Dots: front porch, sync, back porch. */
  h: readonly [number, number, number]
  /** Scanlines: front porch, sync, back porch. */
  v: readonly [number, number, number]
  /** Polarity of hsync and vsync, as tables print it; `?` = no source states it. */
  polarity: `${'+' | '-' | '?'}${'+' | '-' | '?'}`
}

const POLARITIES: Readonly<Record<string, Polarity>> = { '+': 'positive', '-': 'negative' }

/** Completes a row: what it does not state is the row's own value, a plain crystal, progressive, 4:3. */
export function standard(row: Stated & Partial<Omit<Standard, keyof Stated>>): Standard {
  const { h, v, polarity, ...stated } = row
  return {
    dotClockVariantsHz: [],
    scanlinesAccepted: [row.scanlinesPerFrame],
    horizontal: { frontPorch: h[0], sync: h[1], backPorch: h[2] },
    vertical: { frontPorch: v[0], sync: v[1], backPorch: v[2] },
    syncDotsAccepted: [h[1]],
    vsyncScanlinesAccepted: [v[1]],
    hsyncPolarity: POLARITIES[polarity.charAt(0)] ?? null,
    vsyncPolarity: POLARITIES[polarity.charAt(1)] ?? null,
    interlaced: false,
    rateTolerance: CRYSTAL_TOLERANCE,
    displayAspect: 4 / 3,
    ...stated,
  }
}

/** Scanlines in one sweep: half the frame's, and with a half, where interlaced. */
export function scanlinesPerField(row: Standard): number {
  return row.interlaced ? row.scanlinesPerFrame / 2 : row.scanlinesPerFrame
}

/** Nominal scanline rate, hertz. */
export function scanlineRateHz(row: Standard, dotClockHz: number = row.dotClockHz): number {
  return dotClockHz / row.dotsPerScanline
}

/** Nominal rate of vsync (fields, if interlaced), hertz. */
export function fieldRateHz(row: Standard): number {
  return scanlineRateHz(row) / scanlinesPerField(row)
}
