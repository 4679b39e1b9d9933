// Where in a rising list of times a moment falls, by halving.

/** Index in `from` to `to` of the first time that is not before `tick`; `to` without one. */
export function firstFrom(tick: number, ticks: Float64Array, from = 0, to: number = ticks.length): number {
  let low = from
  let high = to
  while (low < high) {
    const middle = (low + high) >> 1
    if (ticks[middle]! < tick) low = middle + 1
    else high = middle
  }
  return low
}

/** Index of the first time beyond `tick`; `to` without one. */
export function firstAfter(tick: number, ticks: Float64Array, from = 0, to: number = ticks.length): number {
  let low = from
  let high = to
  while (low < high) {
    const middle = (low + high) >> 1
    if (ticks[middle]! <= tick) low = middle + 1
    else high = middle
  }
  return low
}
