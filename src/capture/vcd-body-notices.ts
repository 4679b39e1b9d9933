// Oddities among value changes: counted while scanning, notices at the end.

import type { NoticeCode, NoticeList } from '../notices.ts'

/** One kind of oddity. */
export interface Tally {
  readonly code: NoticeCode
  message: string
  firstAtByte: number
  count: number
}

export class VcdBodyNotices {
  readonly beforeTime: Tally = tally(
    'VCD_VALUES_BEFORE_TIME',
    'value changes stand before the first time stamp',
  )
  readonly fractional: Tally = tally('VCD_TIME_FRACTIONAL', 'time stamps have a fraction; it is kept')
  readonly unknownLevels: Tally = tally(
    'LEVEL_UNKNOWN',
    'levels are x, z or another state that is neither low nor high',
  )
  readonly reals: Tally = tally('VCD_REAL_IGNORED', 'real numbers are no levels and were passed over')
  readonly strings: Tally = tally('VCD_STRING_IGNORED', 'strings are no levels and were passed over')
  readonly undeclared: Tally = tally(
    'VCD_IDENTIFIER_NOT_DECLARED',
    'changes of codes that the header does not declare',
  )
  readonly keywords: Tally = tally('VCD_UNKNOWN_KEYWORD', '')

  /** Hands over what was counted, in a fixed order. */
  report(notices: NoticeList): void {
    const tallies = [
      this.beforeTime,
      this.fractional,
      this.unknownLevels,
      this.reals,
      this.strings,
      this.undeclared,
      this.keywords,
    ]
    for (const { code, message, firstAtByte, count } of tallies) {
      if (count > 0) notices.add(code, () => message, firstAtByte, count)
    }
  }
}

export function count(kind: Tally, atByte: number): void {
  if (kind.count++ === 0) kind.firstAtByte = atByte
}

function tally(code: NoticeCode, message: string): Tally {
  return { code, message, firstAtByte: 0, count: 0 }
}
