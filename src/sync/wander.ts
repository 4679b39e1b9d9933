// Slow movement of a clock, as it shows in what a straight line leaves over, and how much of it a line's slope may have
// taken for rate. A slope is the first Legendre polynomial; the higher ones tell what the noise is like down there.

/** Highest degree looked at. */
export const MAX_DEGREE = 24
/** Fewest points per degree: of fewer, sampled polynomials are not orthogonal. */
const POINTS_PER_DEGREE = 6
/** Probability, before anything is seen, that there is no wander: clocks come from crystals (common practice). */
const NO_WANDER = 0.9
/** Corners tried, as (2 degree + 1)^2: 0 is a random walk, the last one noise that is even over all degrees. */
const CORNERS = [0, 15, 60, 250, 1000, 4000, 16_000, 1e6]
/** Of wander, the share that is a walk without a tether. */
const WALK = 0.5
/** Excess tried, in units of the even noise: from, to, and ratio of one to the next. */
const TRIED = { from: 0.1, to: 1e8, ratio: 1.5 }

/** Degrees that so many points show, from 2 on; none where fewer than four. */
export function degreesShown(points: number): number {
  const degree = Math.min(MAX_DEGREE, Math.floor(points / POINTS_PER_DEGREE))
  return degree >= 5 ? degree : 0
}

/**
 * Legendre polynomials of unit mean square over a stretch, by Bonnet's recursion (Abramowitz and Stegun, 1972, 22.7.10).
 *
 * @param number places, rising
 * @returns one list of values per degree, from `lowest` on
 */
export function legendre(number: Float64Array, lowest: number, highest: number): Float64Array[] {
  const count = number.length
  const [from, to] = [number[0]!, number[count - 1]!]
  // places are middles of intervals: the outermost lie half an interval inside
  const half = ((to - from) / 2) * (count / (count - 1))
  const x = number.map((at) => (at - (from + to) / 2) / half)
  let before = new Float64Array(count).fill(1)
  let now = x
  const list: Float64Array[] = []
  for (let degree = 1; degree <= highest; degree++) {
    if (degree >= lowest) list.push(now.map((value) => value * Math.sqrt(2 * degree + 1)))
    const next = now.map(
      (value, i) => ((2 * degree + 1) * x[i]! * value - degree * before[i]!) / (degree + 1),
    )
    before = now
    now = next
  }
  return list
}

/**
 * Expected variance, beyond what is known, of the coefficient of degree 1.
 *
 * A random walk gives degree d a variance in proportion to 1/((2d - 1)(2d + 3)): the mean square of the integral of a
 * Legendre polynomial. A walk with a tether, which forgets, is even below a corner. What corner and how much follows
 * by Bayes' rule from the coefficients seen, and is averaged (JCGM 101:2008, 6.4.9: a variance estimated from few values
 * is taken larger than they say).
 *
 * @param powers squared coefficients of degrees 2 and up
 * @param known variances expected of them without wander
 */
export function wanderVariance(powers: Float64Array, known: Float64Array): number {
  if (powers.length === 0) return 0
  const unit = known.reduce((sum, value) => sum + value, 0) / known.length
  if (!(unit > 0)) return 0
  const likelihood = (excess: number, corner: number): number => {
    let sum = 0
    for (let i = 0; i < powers.length; i++) {
      const variance = known[i]! + (excess * (5 + corner)) / ((2 * i + 3) * (2 * i + 7) + corner)
      sum -= Math.log(variance) + powers[i]! / variance
    }
    return sum / 2
  }
  const none = likelihood(0, 0)
  const steps = Math.ceil(Math.log(TRIED.to / TRIED.from) / Math.log(TRIED.ratio))
  const wander = Math.log((1 - NO_WANDER) / steps)
  const tried: { excess: number; log: number }[] = []
  for (let step = 0; step < steps; step++) {
    const excess = unit * TRIED.from * TRIED.ratio ** step
    for (const corner of CORNERS) {
      const share = corner === 0 ? WALK : (1 - WALK) / (CORNERS.length - 1)
      tried.push({ excess, log: wander + Math.log(share) + likelihood(excess, corner) })
    }
  }
  const highest = tried.reduce((high, { log }) => Math.max(high, log), Math.log(NO_WANDER) + none)
  let total = NO_WANDER * Math.exp(none - highest)
  let sum = 0
  for (const { excess, log } of tried) {
    const probability = Math.exp(log - highest)
    total += probability
    sum += probability * excess
  }
  return sum / total
}
