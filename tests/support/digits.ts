// A sample's number → the whole digit that a file writes for its time.

export interface DigitOptions {
  /** Cut off rather than rounded. Default false. */
  cutOff?: boolean
  /** Time of sample 0 in samples: a trigger between two of them is the time 0 of many instruments. Default 0. */
  firstSampleAt?: number
}

/** Digits by which a product that ought to be whole may fall short of it. */
const NUMBERS_ERR = 1e-6

export function digitOf(
  sample: number,
  digitsPerSample: number,
  { cutOff = false, firstSampleAt = 0 }: DigitOptions = {},
): number {
  const digits = (sample + firstSampleAt) * digitsPerSample
  return cutOff ? Math.floor(digits + NUMBERS_ERR) : Math.round(digits)
}
