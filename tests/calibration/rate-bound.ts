// How near a scanline rate can come to the true one, and how near it came.

/** One capture's rate. */
export interface BoundCase {
  errorHz: number
  samplesPerScanline: number
  sampleRateHz: number
  /** Standard deviation of one edge, sampling left out. */
  jitterSamples: number
  /** What the file rounds times to, in samples; 0 where to nothing coarser than a sample. */
  digitSamples: number
  scanlines: number
}

/** Beats over the capture below which sampling tilts a line instead of scattering its points. */
const FEW_BEATS = 2
/** Places between two samples that scanlines may return to. */
const MOST_PLACES = 24
/** Jitter that shakes edges across those places. */
const DITHERING_SAMPLES = 0.2

/**
 * Standard deviation of the slope of a line through N points with errors of variance v: sqrt(12 v / (N (N^2 - 1))), the
 * Cramer-Rao bound for normal errors (Kay, Fundamentals of Statistical Signal Processing: Estimation Theory, 1993,
 * example 3.7; from memory). v is that of an error even over a sample, 1/12, of one even over the
 * file's last digit, and of the jitter.
 *
 * @returns hertz
 */
export function rateBoundHz(found: BoundCase): number {
  const { samplesPerScanline, sampleRateHz, jitterSamples, digitSamples, scanlines: n } = found
  const slope = Math.sqrt((12 * ((1 + digitSamples ** 2) / 12 + jitterSamples ** 2)) / (n * (n * n - 1)))
  return (sampleRateHz / samplesPerScanline) * (slope / samplesPerScanline)
}

/** Whether the places of edges between two samples hardly move over the capture, and nothing else moves them. */
export function hardlyBeats({ samplesPerScanline, jitterSamples, scanlines }: BoundCase): boolean {
  for (let places = 1; places <= MOST_PLACES; places++) {
    const samples = places * samplesPerScanline
    const beats = Math.abs(samples - Math.round(samples)) * scanlines
    if (beats < FEW_BEATS && jitterSamples * places < DITHERING_SAMPLES) return true
  }
  return false
}

/** RMS of error over bound, for captures that beat and for those that do not; NaN of none. */
export function boundRatio(cases: readonly BoundCase[]): {
  beating: number
  beatingCaptures: number
  slow: number
  slowCaptures: number
} {
  const slow = cases.filter(hardlyBeats)
  const beating = cases.filter((entry) => !hardlyBeats(entry))
  return {
    beating: rms(beating),
    beatingCaptures: beating.length,
    slow: rms(slow),
    slowCaptures: slow.length,
  }
}

function rms(cases: readonly BoundCase[]): number {
  const squares = cases.reduce((sum, entry) => sum + (entry.errorHz / rateBoundHz(entry)) ** 2, 0)
  return Math.sqrt(squares / cases.length)
}
