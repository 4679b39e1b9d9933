// Residuals of the line fit → their strongest regular component: hum, or a switching supply. The beat between scanline
// and sample grid is regular too, and is not the source's doing.

import { fourier } from '../transitions/fourier.ts'
import type { SeriesResiduals } from './line-series.ts'

/** One sine in the time interval error. */
export interface PeriodicComponent {
  /** Cycles per scanline, below 0.5: what is faster appears folded. */
  cyclesPerScanline: number
  /** Peak deviation, in ticks. */
  amplitudeTicks: number
  /** Standard uncertainty of the frequency: half the width of a spectral line. */
  uncertaintyCyclesPerScanline: number
}

/** Fewer points show no spectrum. */
export const PERIODIC_MIN_POINTS = 128
/** Power over the median power that noise reaches about once in 10^6 bins: ln(10^6) / ln 2, rounded up. */
const CLEAR_POWER = 22
/** Bins next to the beat's lines that are its own. */
const BEAT_WIDTH = 3
const BEAT_HARMONICS = 12
/** Slower than this many cycles over the record is wander, not a component. */
const FIRST_BIN = 4

export function periodicComponent(
  residuals: SeriesResiduals,
  samplesPerScanline: number,
  resolutionTicks: number,
): PeriodicComponent | null {
  const { count, offset, number, scanlinesPerPoint } = residuals
  const span = Math.round((number[count - 1]! - number[0]!) / scanlinesPerPoint) + 1
  const length = 2 ** Math.ceil(Math.log2(span))
  const re = new Float64Array(length)
  const im = new Float64Array(length)
  for (let i = 0; i < count; i++) {
    const at = Math.round((number[i]! - number[0]!) / scanlinesPerPoint)
    // a Hann window keeps a strong line from spilling into its neighbours
    re[at] = offset[i]! * (1 - Math.cos((2 * Math.PI * (at + 0.5)) / span))
  }
  fourier(re, im)
  const bins = length / 2
  const power = Float64Array.from({ length: bins }, (_, k) => re[k]! ** 2 + im[k]! ** 2)
  const beats = beatBins(samplesPerScanline * scanlinesPerPoint, length)
  let best = 0
  for (let k = Math.ceil((FIRST_BIN * length) / span); k < bins; k++) {
    if (beats.some((beat) => Math.abs(k - beat) <= (BEAT_WIDTH * length) / span)) continue
    if (power[k]! > power[best]! || best === 0) best = k
  }
  const median = Float64Array.from(power).sort()[bins >> 1]!
  // a Hann-windowed sine of amplitude A has a line of A * count / 2 in this scaling
  const amplitudeTicks = (2 * Math.sqrt(power[best]!)) / count
  if (best === 0 || !(power[best]! > CLEAR_POWER * Math.max(median, 1e-30))) return null
  // the error of sampling is a sawtooth: harmonic k has an amplitude of 1 / (pi k) samples, and folds anywhere
  if (amplitudeTicks < (1.5 * resolutionTicks) / (Math.PI * BEAT_HARMONICS)) return null
  return {
    cyclesPerScanline: best / length / scanlinesPerPoint,
    amplitudeTicks,
    uncertaintyCyclesPerScanline: 1 / (2 * span * scanlinesPerPoint),
  }
}

/** Where the sample grid's beat and its harmonics fall, folded into the spectrum. */
function beatBins(samplesPerPoint: number, length: number): number[] {
  return Array.from({ length: BEAT_HARMONICS }, (_, i) => {
    const cycles = (samplesPerPoint * (i + 1)) % 1
    return Math.min(cycles, 1 - cycles) * length
  })
}
