// Discrete Fourier transform of a histogram. Thirty lines of our own: the packages for it have stood still for years,
// and all that is wanted is one in-place power-of-two transform.

/**
 * Transforms in place: X[k] = sum over n of x[n] exp(+2 pi i n k / length).
 *
 * Radix-2 decimation in time (Cooley and Tukey, Mathematics of Computation 19, 1965, pp. 297-301).
 *
 * @param re real parts; the length is a power of two
 * @param im imaginary parts; same length
 */
export function fourier(re: Float64Array, im: Float64Array): void {
  const length = re.length
  for (let i = 1, j = 0; i < length; i++) {
    let bit = length >> 1
    for (; j & bit; bit >>= 1) j ^= bit
    j ^= bit
    if (i < j) {
      const r = re[i]!
      const m = im[i]!
      re[i] = re[j]!
      im[i] = im[j]!
      re[j] = r
      im[j] = m
    }
  }
  for (let half = 1; half < length; half *= 2) {
    const stepRe = Math.cos(Math.PI / half)
    const stepIm = Math.sin(Math.PI / half)
    for (let start = 0; start < length; start += 2 * half) {
      let twiddleRe = 1
      let twiddleIm = 0
      for (let k = start; k < start + half; k++) {
        const a = re[k + half]! * twiddleRe - im[k + half]! * twiddleIm
        const b = re[k + half]! * twiddleIm + im[k + half]! * twiddleRe
        re[k + half] = re[k]! - a
        im[k + half] = im[k]! - b
        re[k] = re[k]! + a
        im[k] = im[k]! + b
        const next = twiddleRe * stepRe - twiddleIm * stepIm
        twiddleIm = twiddleRe * stepIm + twiddleIm * stepRe
        twiddleRe = next
      }
    }
  }
}
