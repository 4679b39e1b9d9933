// What the rows above the table say in words: the sample rate and the unit of time. They are statements, not facts;
// a later stage weighs them.

import { timeUnitExponent } from './csv-time.ts'

/** Statements found in comments and settings rows. */
export interface PreambleStatements {
  rateHz: number | null
  /** Power of ten in seconds of a unit that a row states for the horizontal axis. */
  timeExponent: number | null
}

// `=`, `:`, a delimiter or a closing bracket between the words and the number; a channel's name may precede the number.
// Rows are matched with each run of spaces and quotes made one space: what may stand twice in a row must not be able to
// match one run in many ways, or a long one takes for ever.
const BETWEEN = String.raw` ?(?:\(([a-z/µμ\ufffd]+)\)|\[([a-z/µμ\ufffd]+)\])?[ =:,;|]*(?:ch\w*:)? ?`
const QUANTITY = String.raw`([+-]?\d[\d_]*(?:[.,]\d+)?(?:e[+-]?\d+)?) ?([a-zµμ\ufffd]+(?:\/s)?)?`
const RATE = new RegExp(
  String.raw`(?:sampl(?:e|ing)[ _-]*(?:rate|freq(?:uency)?)|samplerate)${BETWEEN}${QUANTITY}`,
  'i',
)
const INTERVAL = new RegExp(
  String.raw`(?:sampl(?:e|ing)[ _-]*(?:interval|period|time)|x[ _-]?incr(?:ement)?|time[ _-]*(?:step|increment|resolution)|horizontal[ _-]*interval)${BETWEEN}${QUANTITY}`,
  'i',
)
const AXIS_UNIT =
  /(?:horizontal[ _-]*units?|time[ _-]*units?|x[ _-]*units?|units? of time)[ =:,;|]*([a-zµμ\ufffd]+)/i

const RATE_PREFIX: Readonly<Record<string, number>> = { '': 1, k: 1e3, m: 1e6, g: 1e9 }

/** Hertz in one of a unit such as `MHz`, `MS/s`, `MSa/s`, `Msps`; undefined for any other word. */
function hertzPerUnit(word: string): number | undefined {
  const found = /^([kmg]?)(?:hz|hertz|s\/s|sa\/s|sps|samples\/s)?$/i.exec(word)
  return found ? RATE_PREFIX[found[1]!.toLowerCase()] : undefined
}

/** Reads the statements from rows above the table (and beside it); the first of a kind counts. */
export function preambleStatements(rows: Iterable<string>): PreambleStatements {
  let rateHz: number | null = null
  let intervalHz: number | null = null
  let timeExponent: number | null = null
  for (const text of rows) {
    const row = text.replaceAll(/[\s"]+/g, ' ')
    const rate = RATE.exec(row)
    if (rate && rateHz === null) {
      const scale = hertzPerUnit(rate[4] ?? rate[1] ?? rate[2] ?? '')
      if (scale !== undefined) rateHz = positive(Number(plain(rate[3]!)) * scale)
    }
    const interval = INTERVAL.exec(row)
    if (interval && intervalHz === null) {
      // Seconds unless the same cell says otherwise: a separate units row is about the axis and was seen to be false.
      const exponent = timeUnitExponent(interval[4] ?? interval[1] ?? interval[2] ?? 's')
      if (exponent !== undefined) intervalHz = positive(10 ** -exponent / Number(plain(interval[3]!)))
    }
    const unit = AXIS_UNIT.exec(row)
    if (unit && timeExponent === null) timeExponent = timeUnitExponent(unit[1]!) ?? null
  }
  return { rateHz: rateHz ?? intervalHz, timeExponent }
}

/** A number in words with its decimal mark as JavaScript wants it. */
function plain(digits: string): string {
  return digits.replaceAll('_', '').replace(',', '.')
}

function positive(hertz: number): number | null {
  return Number.isFinite(hertz) && hertz > 0 ? hertz : null
}
