// What a VCD header says in words about time: the text of $timescale, and sample rates in comments.

/** Decimal exponents of the units of IEEE 1364-2005, clause 18: $timescale. */
const EXPONENT_OF_UNIT: ReadonlyMap<string, number> = new Map([
  ['s', 0],
  ['ms', -3],
  ['us', -6],
  ['ns', -9],
  ['ps', -12],
  ['fs', -15],
])

/** The only numbers the standard allows before the unit. */
const STANDARD_NUMBERS: ReadonlySet<string> = new Set(['1', '10', '100'])

interface Timescale {
  secondsPerTick: number
  /** False for numbers other than 1, 10, 100 and for units not written as the standard does. */
  standard: boolean
}

/**
 * Reads the text between `$timescale` and `$end`, white space taken out.
 *
 * @returns undefined when it is not a number above zero with a unit of time
 */
export function readTimescale(text: string): Timescale | undefined {
  const parts = /^(\d*(?:\.\d*)?)([a-zµμ]+)$/i.exec(text)
  if (!parts) return undefined
  const [, number = '', unit = ''] = parts
  const exponent = EXPONENT_OF_UNIT.get(plainUnit(unit))
  // Through decimal text: 100 * 1e-9 is not the float nearest to 1e-7.
  const secondsPerTick = Number(`${number === '' ? '1' : number}e${exponent}`)
  if (exponent === undefined || !Number.isFinite(secondsPerTick) || secondsPerTick <= 0) return undefined
  return { secondsPerTick, standard: STANDARD_NUMBERS.has(number) && EXPONENT_OF_UNIT.has(unit) }
}

/** Seconds in one unit of time, `s` to `fs`; undefined for `samples`, which is no time. */
export function secondsInUnit(unit: string): number | undefined {
  const exponent = EXPONENT_OF_UNIT.get(unit)
  return exponent === undefined ? undefined : Number(`1e${exponent}`)
}

function plainUnit(unit: string): string {
  const lower = unit.toLowerCase().replace(/[µμ]/, 'u')
  return lower === 'sec' ? 's' : lower
}

const EXPONENT_OF_PREFIX: ReadonlyMap<string, number> = new Map([
  ['', 0],
  ['k', 3],
  ['m', 6],
  ['g', 9],
])

/** A sample rate written as `<number> <Hz|kHz|MHz|GHz>` anywhere in a text, in hertz; null when there is none. */
export function statedRateIn(text: string): number | null {
  return rateOf(/(\d{1,15}(?:\.\d{1,15})?)\s*([kmg]?)hz\b/i.exec(text))
}

/** As `statedRateIn`, but also `samplerate: 9545454`, where the hertz go without saying. */
export function sampleRateIn(text: string): number | null {
  const named = /sample\s{0,4}_?rate\s{0,4}[:=]?\s{0,4}(\d{1,15}(?:\.\d{1,15})?)\s{0,4}([kmg]?)(?:hz)?/i.exec(
    text,
  )
  return rateOf(named) ?? statedRateIn(text)
}

function rateOf(parts: RegExpExecArray | null): number | null {
  if (!parts) return null
  const hertz = Number(`${parts[1]}e${EXPONENT_OF_PREFIX.get((parts[2] ?? '').toLowerCase()) ?? 0}`)
  return hertz > 0 ? hertz : null
}
