// Samples beside a boundary between two dots, by their distance from where it was taken to be → where it is, how sharply they
// tell it, and how much the edges jitter about it.

/** Bins over one dot, half a dot on each side of a boundary. */
export const BINS = 128
/** Bins to either side of a crossing that must hold samples for it to be sharp, and how many each. */
const SHARP_BINS = 4
const SAMPLES_PER_BIN = 10
/** How far on each side samples on the wrong side count as jitter, in dots: beyond, they are of something that moves. */
const JITTER_REACH = 0.3

/** Samples by distance to the boundary: all of them, and those that show the dot after it. */
export interface Sides {
  all: Float64Array
  after: Float64Array
}

/** Where samples go from one side to the other. */
export interface Crossing {
  /** In dots from where the boundary was taken to be. */
  place: number
  /** Standard deviation of the edges about it, in dots. */
  jitter: number
  samples: number
  sharp: boolean
}

/** The place with the fewest samples on its wrong side; the middle of several. */
export function crossing({ all, after }: Sides): Crossing {
  // wrong if the boundary lay at the lower end of the bin: what shows the dot after it before, and the other way round
  let cost = 0
  for (let bin = 0; bin < BINS; bin++) cost += all[bin]! - after[bin]!
  let least = Infinity
  let from = 0
  let to = 0
  for (let bin = 0; bin <= BINS; bin++) {
    if (cost < least) {
      least = cost
      from = bin
    }
    if (cost === least) to = bin
    if (bin < BINS) cost += 2 * after[bin]! - all[bin]!
  }
  const centre = (from + to) / 2
  let sharp = to - from < SHARP_BINS
  let samples = 0
  let jitter = 0
  for (let bin = 0; bin < BINS; bin++) {
    samples += all[bin]!
    const distance = bin + 0.5 - centre
    if (Math.abs(distance) < SHARP_BINS && all[bin]! < SAMPLES_PER_BIN) sharp = false
    if (Math.abs(distance) > JITTER_REACH * BINS || all[bin] === 0) continue
    const wrong = distance < 0 ? after[bin]! : all[bin]! - after[bin]!
    // of normal jitter, the shares on the wrong side add up to an area of sigma / sqrt(2 pi) on either side
    jitter += (Math.sqrt(Math.PI / 2) / BINS) * (wrong / all[bin]!)
  }
  return { place: centre / BINS - 0.5, jitter, samples, sharp }
}
