import { expect, test } from 'vitest'

import { fourier } from '../../src/transitions/fourier.ts'
import { newRandom } from '../support/random.ts'

test.each([1, 2, 8, 64, 512])('equals the sum that defines it, at length %d', (length) => {
  const random = newRandom(length)
  const re = Float64Array.from({ length }, () => random.gaussian())
  const im = Float64Array.from({ length }, () => random.gaussian())
  const [fastRe, fastIm] = [re.slice(), im.slice()]
  fourier(fastRe, fastIm)
  for (let k = 0; k < length; k++) {
    let sumRe = 0
    let sumIm = 0
    for (let n = 0; n < length; n++) {
      const angle = (2 * Math.PI * n * k) / length
      sumRe += re[n]! * Math.cos(angle) - im[n]! * Math.sin(angle)
      sumIm += re[n]! * Math.sin(angle) + im[n]! * Math.cos(angle)
    }
    expect(fastRe[k]).toBeCloseTo(sumRe, 8)
    expect(fastIm[k]).toBeCloseTo(sumIm, 8)
  }
})
