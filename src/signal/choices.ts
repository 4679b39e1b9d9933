// Words to choose from. They stand apart from what does the work, so that --help need not load it.

/** Test charts and what each shows. */
export const CHART_PURPOSES = {
  card: 'a bit of everything',
  bars: 'every colour of the mode',
  grid: 'lines one dot thick',
  text: 'letters in every colour',
  steps: 'brightness in leaning steps',
  alternation: 'one dot on, one off; one scanline on, one off',
  border: 'a grid in a lit border',
} as const
export type ChartName = keyof typeof CHART_PURPOSES

/**
 * Ways to put hsync and vsync on one wire. `xor` is one gate: hsync goes on through vsync, upside down. `or` is one
 * gate as well: hsync vanishes in one long pulse. `serrated` keeps a leading edge on every scanline; interlaced it has
 * equalizing pulses around vsync.
 */
export const COMPOSITE_KINDS = ['xor', 'or', 'serrated'] as const
export type CompositeKind = (typeof COMPOSITE_KINDS)[number]

/**
 * Forms of a capture file. `vcd` is a value change dump. `csv` is a table with a row per change, time in seconds with
 * nine decimals; `csv-ns` the same in whole nanoseconds; `csv-samples` has a row per sample and no time, a comment tells
 * the rate.
 */
export const CAPTURE_FORMS = ['vcd', 'csv', 'csv-samples', 'csv-ns'] as const
export type CaptureForm = (typeof CAPTURE_FORMS)[number]

/** Kinds of defects that can be put into a capture. */
export const DEFECT_KINDS = ['ringing', 'missing', 'spike', 'dropped-scanline'] as const
export type DefectKind = (typeof DEFECT_KINDS)[number]
