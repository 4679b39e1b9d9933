// Preferred numbers for resistors: which values can be bought near a wanted one.

/** IEC 60063:2015 series by name. */
export type SeriesName = 'E12' | 'E24' | 'E48' | 'E96'

export const SERIES_NAMES: readonly SeriesName[] = ['E12', 'E24', 'E48', 'E96']

/** Usual tolerance of parts sold in each series, percent, either way (IEC 60063:2015). */
export const USUAL_TOLERANCE_PERCENT: Readonly<Record<SeriesName, number>> = {
  E12: 10,
  E24: 5,
  E48: 2,
  E96: 1,
}

/** IEC 60063:2015. Tabulated, since eight of its values are not those that rounding 10^(n/24) gives. */
const E24 = [
  10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
] as const

/** E48 and E96 are the rounded geometric series (IEC 60063:2015). */
function geometric(values: number): number[] {
  return Array.from({ length: values }, (_, n) => Math.round(100 * 10 ** (n / values)))
}

/** One decade of each series, three digits, rising: 100 up to below 1000. */
const DECADE: Readonly<Record<SeriesName, readonly number[]>> = {
  E12: E24.filter((_, n) => n % 2 === 0).map((digits) => digits * 10),
  E24: E24.map((digits) => digits * 10),
  E48: geometric(48),
  E96: geometric(96),
}

/** Smallest and largest resistor considered, ohms: below 1 and above 10 M none is of use in a video divider. */
export const SMALLEST_OHMS = 1
export const LARGEST_OHMS = 10e6

/** One decade, 100 to below 1000, rising. */
export function decadeOf(series: SeriesName): readonly number[] {
  return DECADE[series]
}

/** Every value of the series from `minOhms` to `maxOhms`, both included, rising. */
export function valuesBetween(series: SeriesName, minOhms: number, maxOhms: number): number[] {
  const [low, high] = [Math.max(minOhms, SMALLEST_OHMS), Math.min(maxOhms, LARGEST_OHMS)]
  const found: number[] = []
  if (!(low <= high)) return found
  for (let power = Math.floor(Math.log10(low)) - 2; power <= Math.ceil(Math.log10(high)) - 2; power++) {
    for (const digits of DECADE[series]) {
      // dividing keeps 3.3 and 0.47 the doubles that their decimal forms mean; multiplying by 0.1 does not
      const ohms = power < 0 ? digits / 10 ** -power : digits * 10 ** power
      if (ohms >= low && ohms <= high) found.push(ohms)
    }
  }
  return found
}

/** The value nearest by ratio, ohms. */
export function nearestValue(series: SeriesName, ohms: number): number {
  const wanted = Math.min(Math.max(ohms, SMALLEST_OHMS), LARGEST_OHMS)
  const around = valuesBetween(series, wanted / 1.3, wanted * 1.3)
  return around.reduce((best, value) =>
    Math.abs(Math.log(value / wanted)) < Math.abs(Math.log(best / wanted)) ? value : best,
  )
}

/** The smallest value that is not below `ohms`; undefined above the largest. */
export function valueAtOrAbove(series: SeriesName, ohms: number): number | undefined {
  // a hair of slack: a value that is met but for rounding counts as met
  return valuesBetween(series, ohms * (1 - 1e-12), ohms * 1.3)[0]
}
