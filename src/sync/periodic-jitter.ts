// Residuals of the line fit → their strongest regular component: hum, or a switching supply. The beat between scanline
// and sample grid is regular too, and is not the source's doing.

import { fourier } from '../transitions/fourier.ts'
import { narrowestStrip } from '../transitions/rounded-line.ts'
import { median } from './median.ts'
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
/** Power over the median power that noise reaches once in 10^8 bins, ln(10^8) / ln 2, where a median may be a tenth off. */
const CLEAR_POWER = 30
/** Spectral lines on either side that a line is held against, and those next to it that are its own. */
const BACKGROUND_LINES = 40
const OWN_LINES = 3
/**
 * Edges that come regularly are seen up to one sample late: where all lie within that of a straight line, nothing more
 * is proven, however regular the beat looks. A little more is for what is not known of the sample, and a tick for a file's
 * rounding. The line of least squares is not that line: over a few beats it leans.
 */
const SAMPLING_SPAN = 1.1
const ROUNDING_TICKS = 1
/** Bins next to the beat's lines that are its own. */
const BEAT_WIDTH = 3
/** A line in the beat's place that is so much stronger than the beat is none of it. */
const BEAT_RATIO = 3
const BEAT_HARMONICS = 12
/** Slower than this many cycles over the record is wander, not a component. */
const FIRST_BIN = 4

/** How the instrument looked at the scanlines; of their samples the fraction counts. */
interface PeriodicSampling {
  samplesPerScanline: number
  sampleTicks: number
  /** What the sample interval may be off by, as a share of it. */
  intervalDoubt?: number
}

/** @param sigmaTicks random jitter, which blurs the beat; 0 where there is none */
export function periodicComponent(
  residuals: SeriesResiduals,
  { samplesPerScanline, sampleTicks: resolutionTicks, intervalDoubt = 0 }: PeriodicSampling,
  sigmaTicks = 0,
): PeriodicComponent | null {
  const { count, offset, number, scanlinesPerPoint } = residuals
  const sampling = SAMPLING_SPAN * resolutionTicks * (1 + intervalDoubt) + ROUNDING_TICKS
  if (narrowestStrip(number, offset) < sampling) return null
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
  const beats = beatBins(samplesPerScanline * scanlinesPerPoint, length, sigmaTicks / resolutionTicks)
  // a Hann-windowed sine of amplitude A has a line of A * count / 2 in this scaling
  const amplitudeOf = (k: number): number => (2 * Math.sqrt(power[k]!)) / count
  // a slow wander raises the low end: a line must stand out from its neighbourhood, and the strongest that does is named
  let best = 0
  for (let k = Math.ceil((FIRST_BIN * length) / span); k < bins; k++) {
    if (best > 0 && power[k]! <= power[best]!) continue
    if (power[k]! < power[k - 1]! || power[k]! < (power[k + 1] ?? 0)) continue
    const hidden = beats.some(
      (beat) =>
        Math.abs(k - beat.bin) <= (BEAT_WIDTH * length) / span &&
        amplitudeOf(k) < BEAT_RATIO * beat.amplitudeSamples * resolutionTicks,
    )
    if (hidden) continue
    if (power[k]! > CLEAR_POWER * Math.max(background(power, k, length / span), 1e-30)) best = k
  }
  if (best === 0) return null
  const amplitudeTicks = amplitudeOf(best)
  // the error of sampling is a sawtooth: harmonic k has an amplitude of 1 / (pi k) samples, and folds anywhere
  if (amplitudeTicks < (1.5 * resolutionTicks) / (Math.PI * BEAT_HARMONICS)) return null
  return {
    cyclesPerScanline: best / length / scanlinesPerPoint,
    amplitudeTicks,
    uncertaintyCyclesPerScanline: 1 / (2 * span * scanlinesPerPoint),
  }
}

/** Median power around a bin, where noise that falls with the square of frequency is taken to go on falling so. */
function background(power: Float64Array, bin: number, binsPerLine: number): number {
  const around: number[] = []
  const reach = Math.ceil(BACKGROUND_LINES * binsPerLine)
  for (let k = Math.max(1, bin - reach); k <= Math.min(power.length - 1, bin + reach); k++) {
    if (Math.abs(k - bin) <= OWN_LINES * binsPerLine) continue
    around.push(power[k]! * Math.max(1, (k / bin) ** 2))
  }
  return median(around) ?? Infinity
}

/** Where the sample grid's beat and its harmonics fall, folded into the spectrum. */
function beatBins(
  samplesPerPoint: number,
  length: number,
  sigmaSamples: number,
): { bin: number; amplitudeSamples: number }[] {
  return Array.from({ length: BEAT_HARMONICS }, (_, i) => {
    const harmonic = i + 1
    const cycles = (samplesPerPoint * harmonic) % 1
    // a sawtooth, each harmonic blurred by the characteristic function of a normal distribution
    const blurred = Math.exp(-2 * (Math.PI * harmonic * sigmaSamples) ** 2)
    return { bin: Math.min(cycles, 1 - cycles) * length, amplitudeSamples: blurred / (Math.PI * harmonic) }
  })
}
