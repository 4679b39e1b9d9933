// What the classifier is given: the raster as measured, each part null where the capture does not show it.

import type { Role } from '../capture/role.ts'
import type { Measurement, Polarity } from '../measurement.ts'

export interface MeasuredTiming {
  hsyncHz: Measurement
  /** Rate of vsync: fields, if interlaced. */
  vsyncHz: Measurement | null
  /** Of one sweep or of the whole frame: where interlaced, 408.5 and 817 mean the same. */
  scanlinesPerFrame: number | null
  interlaced: boolean
  /** Dots as the picture shows them; a card that repeats each dot has twice as many. */
  dotsPerScanline: number | null
  hsyncPolarity: Polarity | null
  vsyncPolarity: Polarity | null
  hsyncWidthSeconds: Measurement | null
  vsyncWidthScanlines: number | null
  /** Outermost dots ever lit, counted as `dotsPerScanline`: a lower bound of the active width, unless a border is lit. */
  litDots: number | null
  litScanlines: number | null
  /** Roles of the captured channels; only the colour wires among them are looked at. */
  roles: ReadonlySet<Role>
  /** False where the file's statements about its own time contradict each other. */
  timeScaleTrusted: boolean
}
