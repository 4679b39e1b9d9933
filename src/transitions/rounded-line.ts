// Points of a straight line whose heights were rounded to whole numbers → all lines that they may have come from. Rounding
// is no noise: it repeats with the points, but it never exceeds a half, and the lines that keep to that are few.

/** Slopes that rounding leaves open. */
export interface RoundedLine {
  /** Mean of them, and their standard deviation. */
  slope: number
  sigma: number
}

/** More than a half by what numbers are off that were computed from decimals. */
const ROUNDED_BY = 0.5 + 1e-6
/** Halvings of a stretch of slopes until nothing is left of it. */
const HALVINGS = 60
/** Slopes at which lines are weighed. */
const WEIGHED = 64

/**
 * Slopes of the lines that lie within a half of every point, each weighed by how far such lines may be shifted: what a
 * uniform distribution over slopes and heights becomes once the points are known (Bayes' rule).
 *
 * @param x rising
 * @returns undefined where no line lies so near all points: then they were not rounded, or not to whole numbers
 */
export function roundedLine(x: Float64Array, y: Float64Array): RoundedLine | undefined {
  const above = hull(x, y, 1)
  const below = hull(x, y, -1)
  // how far lines of a slope may be shifted; concave, below zero where none lies near all points
  const room = (slope: number): number =>
    2 * ROUNDED_BY - furthest(above, slope, 1) - furthest(below, slope, -1)
  const length = x[x.length - 1]! - x[0]!
  if (!(length > 0)) return undefined
  const middle = (y[y.length - 1]! - y[0]!) / length
  // both ends are off by a half at most
  const [low, high] = [middle - (2 * ROUNDED_BY) / length, middle + (2 * ROUNDED_BY) / length]
  const best = highest(room, low, high)
  if (!(room(best) > 0)) return undefined
  return weighed(room, endOfRoom(room, best, low), endOfRoom(room, best, high))
}

/**
 * Height of the narrowest strip between two parallel lines that holds every point: what is left of them once the best
 * straight line is taken off, if what they are off it is bounded.
 *
 * @param x rising
 */
export function narrowestStrip(x: Float64Array, y: Float64Array): number {
  const above = hull(x, y, 1)
  const below = hull(x, y, -1)
  const height = (slope: number): number => furthest(above, slope, 1) + furthest(below, slope, -1)
  const length = x[x.length - 1]! - x[0]!
  if (!(length > 0)) return height(0)
  // a steeper line leaves its strip within that length
  const steepest = (2 * height(0)) / length
  return height(highest((slope) => -height(slope), -steepest, steepest))
}

/** Points in the order of x. */
interface Points {
  x: Float64Array
  y: Float64Array
}

/** Corners of the hull on one side, 1 above and -1 below (A. M. Andrew, Information Processing Letters 9, 1979, p. 216). */
function hull(x: Float64Array, y: Float64Array, side: 1 | -1): Points {
  const hx = new Float64Array(x.length)
  const hy = new Float64Array(x.length)
  let n = 0
  for (let i = 0; i < x.length; i++) {
    const atX = x[i]!
    const atY = side * y[i]!
    while (n >= 2) {
      const turn =
        (hx[n - 1]! - hx[n - 2]!) * (atY - hy[n - 2]!) - (hy[n - 1]! - hy[n - 2]!) * (atX - hx[n - 2]!)
      if (turn < 0) break
      n--
    }
    hx[n] = atX
    hy[n] = atY
    n++
  }
  return { x: hx.subarray(0, n), y: hy.subarray(0, n) }
}

/** Height of the corner that lies furthest out, over a line of that slope through the origin. */
function furthest({ x, y }: Points, slope: number, side: 1 | -1): number {
  let most = -Infinity
  for (let i = 0; i < x.length; i++) most = Math.max(most, y[i]! - side * slope * x[i]!)
  return most
}

/** Where a concave function is highest. */
function highest(of: (at: number) => number, from: number, to: number): number {
  let [low, high] = [from, to]
  for (let i = 0; i < 2 * HALVINGS; i++) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3]
    if (of(a) < of(b)) low = a
    else high = b
  }
  return (low + high) / 2
}

/** Where there is no room any more, on the way to a place where there is none. */
function endOfRoom(room: (slope: number) => number, from: number, to: number): number {
  let [inside, outside] = [from, to]
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (inside + outside) / 2
    if (room(middle) > 0) inside = middle
    else outside = middle
  }
  return inside
}

function weighed(room: (slope: number) => number, low: number, high: number): RoundedLine {
  let [sum, first, second] = [0, 0, 0]
  for (let i = 0; i < WEIGHED; i++) {
    const share = (i + 0.5) / WEIGHED - 0.5
    const weight = Math.max(0, room(low + (share + 0.5) * (high - low)))
    sum += weight
    first += weight * share
    second += weight * share * share
  }
  const mean = sum > 0 ? first / sum : 0
  const variance = sum > 0 ? second / sum - mean * mean : 1 / 12
  return { slope: low + (mean + 0.5) * (high - low), sigma: Math.sqrt(variance) * (high - low) }
}
