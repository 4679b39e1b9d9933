// Repeatable chance for the test signals: one seed, one sequence, on every machine.

export interface Random {
  /** Uniform in 0 ≤ x < 1. */
  uniform: () => number
  /** Whole number in 0 ≤ n < limit. */
  below: (limit: number) => number
  /** Normal deviate, mean 0, standard deviation 1. */
  gaussian: () => number
}

/**
 * 32-bit xorshift generator with the shift triple 13, 17, 5 (period 2^32 - 1).
 * Source: "Xorshift RNGs", Journal of Statistical Software 8 (14), 2003, section 3.
 */
export function newRandom(seed: number): Random {
  // State 0 would stay 0; the odd multiplier keeps small neighbouring seeds from giving look-alike starts.
  let state = Math.imul(seed ^ 0x5bd1e995, 0x9e3779b1) | 0 || 1
  const uniform = (): number => {
    state ^= state << 13
    state ^= state >>> 17
    state ^= state << 5
    return (state >>> 0) / 2 ** 32
  }
  for (let warmUp = 0; warmUp < 8; warmUp++) uniform()
  return {
    uniform,
    below: (limit) => Math.floor(uniform() * limit),
    // Box-Muller transform; the state is never 0, so the logarithm stays finite.
    gaussian: () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform()),
  }
}

/** One of a list, all alike. */
export function pick<T>(random: Random, list: readonly T[]): T {
  return list[random.below(list.length)]!
}

/** One of a list, as often as the number beside it says. */
export function pickWeighted<T>(random: Random, list: readonly (readonly [T, number])[]): T {
  let left = random.uniform() * list.reduce((sum, [, share]) => sum + share, 0)
  for (const [entry, share] of list) if ((left -= share) < 0) return entry
  return list.at(-1)![0]
}

/** Evenly between two numbers. */
export function between(random: Random, low: number, high: number): number {
  return low + (high - low) * random.uniform()
}

/** Evenly on a scale of logarithms: as often between 1 and 2 as between 2 and 4. */
export function betweenLogs(random: Random, low: number, high: number): number {
  return low * (high / low) ** random.uniform()
}

/** True as often as the share says. */
export function chance(random: Random, share: number): boolean {
  return random.uniform() < share
}
