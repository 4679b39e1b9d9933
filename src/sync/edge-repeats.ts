// Edges in bins of time → how many pairs of them lie how far apart, and which of these distances stand out.

import { fourier } from '../transitions/fourier.ts'

/** Bins on either side that tell what chance is, less those next to the one in question. */
export const AROUND_BINS = 30
export const NEAR_BINS = 4
/** Share of what stands out at a distance that none near it may come to. */
const ALONE_SHARE = 0.7

/** How many pairs of edges lie how far apart, in bins. */
export class EdgeRepeats {
  readonly #pairs: Float64Array
  /** Sums of all pairs up to each distance. */
  readonly #sums: Float64Array

  /** @param counts of edges by bin; a power of two of bins, of which the second half is empty: the end meets no beginning */
  constructor(counts: Float64Array) {
    this.#pairs = autocorrelation(counts)
    this.#sums = new Float64Array(this.#pairs.length + 1)
    for (let lag = 0; lag < this.#pairs.length; lag++)
      this.#sums[lag + 1] = this.#sums[lag]! + this.#pairs[lag]!
  }

  /** Pairs in this bin and the next, since a distance ends anywhere in a bin, less what there is all around. */
  excess(lag: number): number {
    return this.#pairs[lag]! + this.#pairs[lag + 1]! - this.around(lag)
  }

  /** Pairs that two bins hold near this distance: how densely a picture is drawn makes them, not where its edges stand. */
  around(lag: number): number {
    const sums = this.#sums
    const left = Math.max(0, lag - AROUND_BINS)
    const right = Math.min(this.#pairs.length, lag + 2 + AROUND_BINS)
    const inner = sums[lag + 2 + NEAR_BINS]! - sums[Math.max(0, lag - NEAR_BINS)]!
    return (2 * (sums[right]! - sums[left]! - inner)) / (right - left - 2 * NEAR_BINS - 2)
  }

  /** The same distance as a number that need not be whole: mean of what exceeds chance in the two bins. */
  distance(lag: number): number {
    const share = (this.#pairs[lag + 1]! - this.around(lag) / 2) / this.excess(lag)
    return lag + Math.min(1, Math.max(0, share))
  }

  /** Whether nothing within `reach` bins comes near it. */
  isAlone(lag: number, reach: number): boolean {
    const most = ALONE_SHARE * this.excess(lag)
    for (let off = NEAR_BINS; off <= reach; off++)
      if (this.excess(lag - off) > most || this.excess(lag + off) > most) return false
    return true
  }

  /** The highest within `reach` bins. */
  peakNear(lag: number, reach: number): number {
    let peak = lag
    for (let at = lag - reach; at <= lag + reach; at++) if (this.excess(at) > this.excess(peak)) peak = at
    return peak
  }
}

/** Wiener and Khinchin: the autocorrelation is the transform of the power spectrum. */
function autocorrelation(counts: Float64Array): Float64Array {
  const re = counts.slice()
  const im = new Float64Array(counts.length)
  fourier(re, im)
  for (let k = 0; k < re.length; k++) {
    re[k] = re[k]! ** 2 + im[k]! ** 2
    im[k] = 0
  }
  fourier(re, im)
  return re.map((pairs) => pairs / re.length)
}
