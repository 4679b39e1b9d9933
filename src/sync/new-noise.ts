// What is new with every edge, out of deviations that also hold a beat and a slow wander: both fill only parts of the
// spectrum, so its median is the noise's.

import { fourier } from '../transitions/fourier.ts'

/** Fewer points show no spectrum. */
const MIN_POINTS = 24

/**
 * Variance per scanline of the white part, from the median of a periodogram with a Hann window, which keeps the lines of a
 * beat where they are. Powers of noise are exponentially distributed: their median is ln 2 of their mean.
 *
 * @param offset deviations, each the mean of `weight` scanlines
 * @returns in squared units of `offset`; of few points, their whole variance
 */
export function newNoise(offset: Float64Array, weight: Float64Array): number {
  const count = offset.length
  if (count < MIN_POINTS) {
    let squares = 0
    for (let i = 0; i < count; i++) squares += weight[i]! * offset[i]! ** 2
    // the line took two degrees of freedom
    return count > 2 ? squares / (count - 2) : 0
  }
  let length = 64
  while (length < count) length *= 2
  const re = new Float64Array(length)
  const im = new Float64Array(length)
  let power = 0
  for (let i = 0; i < count; i++) {
    const window = Math.sin((Math.PI * (i + 0.5)) / count) ** 2
    re[i] = window * weight[i]! * offset[i]!
    power += window * window * weight[i]!
  }
  fourier(re, im)
  const powers = new Float64Array(length / 2 - 1)
  for (let k = 1; k < length / 2; k++) powers[k - 1] = re[k]! ** 2 + im[k]! ** 2
  powers.sort()
  return powers[powers.length >> 1]! / Math.LN2 / power
}
