// Survivable oddities, kept as data: one entry per code, with where it was first met and how often. Free to all stages.

/** One kind of oddity that was met and survived. */
export interface Notice {
  code: NoticeCode
  /** One plain sentence about the first case. */
  message: string
  /** Byte offset of the first case in the unpacked text, where it has one. */
  firstAtByte: number | null
  count: number
}

/** Every code a notice can carry; DEVELOPERS.md explains each. */
export type NoticeCode =
  // any capture
  | 'CAPTURE_GZIP_CUT_SHORT'
  // VCD
  | 'VCD_REAL_IGNORED'
  | 'VCD_STRING_IGNORED'
  | 'VCD_NO_TIMESCALE'
  | 'VCD_TIMESCALE_NOT_STANDARD'
  | 'VCD_NO_ENDDEFINITIONS'
  | 'VCD_UNKNOWN_KEYWORD'
  | 'VCD_VALUES_BEFORE_TIME'
  | 'VCD_TIME_FRACTIONAL'
  | 'VCD_IDENTIFIER_NOT_DECLARED'
  | 'VCD_CUT_SHORT'
  | 'VCD_LINE_BEFORE_HEADER'
  | 'CHANNELS_IGNORED'
  | 'LEVEL_UNKNOWN'
  // CSV
  | 'CSV_NO_HEADER'
  | 'CSV_ANALOG_THRESHOLD'
  | 'CSV_TIME_REPEATED'
  | 'CSV_TIME_ROUNDED'
  | 'CSV_TIME_UNIT_ASSUMED'
  | 'CSV_ROW_CUT_SHORT'
  | 'CSV_CELL_EMPTY'
  | 'CSV_COLUMN_IGNORED'
  | 'CSV_TIME_FROM_ROW_NUMBER'
  // timebase
  | 'TIME_UNIT_WRONG'
  | 'TIME_STEP_TRUNCATED'
  | 'TIME_RATE_DIFFERS'
  | 'TIME_ROUNDED_COARSELY'
  | 'TIMEBASE_ASSUMED'
  // channels and signal
  | 'CHANNEL_FOUND_BY_BEHAVIOUR'
  | 'CHANNEL_NAMES_SWAPPED'
  | 'CHANNEL_NAME_DOUBTED'
  | 'CHANNEL_AMBIGUOUS'
  | 'MONO_PAIR_FOUND'
  | 'COLOUR_UNNAMED'
  | 'COLOUR_BITS_IGNORED'
  | 'SYNC_COMPOSITE'
  | 'HSYNC_STOPS_IN_VSYNC'
  | 'STRETCH_WITHOUT_SYNC'
  | 'SEGMENTS_NOT_LISTED'
  | 'FRAMES_NOT_LISTED'
  | 'FAULTS_NOT_LISTED'
  | 'DOT_CLOCK_NOT_MEASURABLE'
  | 'SAMPLE_GRID_COHERES'
  | 'RATE_OFF_STANDARD'
  | 'FRAME_NOT_WHOLE'
  | 'STOPPED_EARLY'

/** Collects notices, one entry per code. */
export class NoticeList {
  readonly #byCode = new Map<NoticeCode, Notice>()

  /** Counts one case; the message is built only for the first. */
  add(code: NoticeCode, message: () => string, atByte: number | null = null, count = 1): void {
    const known = this.#byCode.get(code)
    if (known) known.count += count
    else this.#byCode.set(code, { code, message: message(), firstAtByte: atByte, count })
  }

  /** Adds what another list holds; what both met is counted together. */
  addAll(other: readonly Notice[]): void {
    for (const { code, message, firstAtByte, count } of other) {
      this.add(code, () => message, firstAtByte, count)
    }
  }

  has(code: NoticeCode): boolean {
    return this.#byCode.has(code)
  }

  list(): Notice[] {
    return [...this.#byCode.values()]
  }
}
