// Rates at which instruments sample, and whether an interval is one of theirs.

/**
 * Rates that instruments offer, in MHz and tenths, hundreds of it (common practice). Sync alone has no short gaps:
 * there a grid can only be tried out.
 */
export const USUAL_RATES: readonly number[] = [
  1, 1.2, 1.25, 1.5, 1.6, 2, 2.4, 2.5, 3, 3.2, 4, 4.8, 5, 6, 6.25, 6.4, 7.5, 8, 9.6,
]
/** Agreement of a grid with a rate: the file's times say it to a part in 10^6 or better. */
export const RATE_AGREES = 2e-5

/**
 * The interval, in ticks, of the rate that instruments offer next to this one: a whole number of MHz, or a usual rate below.
 * @param agreement share of it that the interval may be off by, 2e-5 at most
 * @returns null where it is off by more, or a tick means nothing
 */
export function usualInterval(
  intervalTicks: number,
  secondsPerTick: number | null,
  agreement: number = RATE_AGREES,
): number | null {
  if (secondsPerTick === null) return null
  const megahertz = 1e-6 / (intervalTicks * secondsPerTick)
  const agrees = (rate: number): boolean => Math.abs(megahertz / rate - 1) < Math.min(agreement, RATE_AGREES)
  const decade = 10 ** Math.floor(Math.log10(megahertz) + 1e-6)
  const rate = [Math.round(megahertz), ...USUAL_RATES.map((usual) => usual * decade)].find(agrees)
  return rate === undefined ? null : 1e-6 / (rate * secondsPerTick)
}

/** Whether an interval is one that instruments offer; parameters as for `usualInterval`. */
export function isUsualRate(
  intervalTicks: number,
  secondsPerTick: number | null,
  agreement: number = RATE_AGREES,
): boolean {
  return usualInterval(intervalTicks, secondsPerTick, agreement) !== null
}
