// Repeatable chance: one seed and one purpose give one sequence, on every machine.

/** A sequence. */
export interface Random {
  /** 0 <= x < 1. */
  uniform(): number
  /** Whole, 0 <= n < limit. */
  below(limit: number): number
  /** Mean 0, standard deviation 1; never beyond MOST_SIGMAS. */
  gaussian(): number
}

/** Normal deviates are cut off here, so that what an edge may be off by has a bound. */
export const MOST_SIGMAS = 5

/** Fractional parts of the square roots of 2, 3, 5 and 7: constants that nobody chose. */
const START: readonly number[] = [2, 3, 5, 7].map((n) => Math.floor((Math.sqrt(n) % 1) * 2 ** 32) | 0)

/**
 * Three 32-bit words of chaos and a counter ("small fast counting" generator of the PractRand collection: shifts 9, 3,
 * rotation 21), at least 2^32 numbers before any sequence repeats.
 *
 * @param purpose keeps what is drawn for one purpose from shifting what is drawn for another
 */
export function seededRandom(seed: number, purpose: string): Random {
  let [a, b, c, counter] = START as [number, number, number, number]
  // each word goes through the generator, so that neighbouring seeds part at once
  const words = [
    seed | 0,
    Math.floor(seed / 2 ** 32) | 0,
    ...Array.from(purpose, (char) => char.codePointAt(0)!),
  ]
  const next = (): number => {
    const out = (a + b + counter) | 0
    counter = (counter + 1) | 0
    a = b ^ (b >>> 9)
    b = (c + (c << 3)) | 0
    c = (((c << 21) | (c >>> 11)) + out) | 0
    return out >>> 0
  }
  for (const word of words) {
    a ^= word
    for (let round = 0; round < 12; round++) next()
  }
  const uniform = (): number => next() / 2 ** 32
  // G. E. P. Box and M. E. Muller, "A note on the generation of random normal deviates", 1958
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform())
  return {
    uniform,
    below: (limit) => Math.floor(uniform() * limit),
    gaussian: () => Math.max(-MOST_SIGMAS, Math.min(MOST_SIGMAS, normal())),
  }
}
