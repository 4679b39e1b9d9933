// From one edge of a regular line to the next, as samples show it → proof of jitter.

/** Steps between neighbouring edges, in ticks. */
export interface Steps {
  mean: number
  variance: number
  /** The last of them, for where whole numbers of samples lie. */
  last: number
}

/** Share of a sample by which a mean step is longer than a whole number of samples. */
export function stepShare({ mean, last }: Steps, resolutionTicks: number): number {
  const place = (mean - last) / resolutionTicks
  return place - Math.floor(place)
}

/**
 * Steps of a steady line come out as one of two neighbouring whole numbers of samples, and their mean tells the shares f
 * and 1 - f of both, and so their variance f (1 - f), to the last digit.
 * @returns what is left over, in samples²: proof of jitter
 */
export function strayVariance(steps: Steps, resolutionTicks: number): number {
  const share = stepShare(steps, resolutionTicks)
  return Math.max(0, steps.variance / resolutionTicks ** 2 - share * (1 - share))
}
