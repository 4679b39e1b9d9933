// A value with its doubt; free to all stages.

/**
 * A measured value and its standard uncertainty (k = 1) in the sense of the GUM (JCGM 100:2008, clause 3.2),
 * both in the unit that the field holding it names.
 */
export interface Measurement {
  value: number
  uncertainty: number
}

/** The level a pulse goes to: `positive` = high pulse on a low idle. */
export type Polarity = 'positive' | 'negative'
