// Value changes of a VCD → transition batches: the whole grammar, byte by byte. One file: the states of a byte scanner
// belong together.
//
// `#step` can stop and go on after any byte. Between tokens the fast scanners of vcd-scan.ts read what they know. Fed
// with one byte at a time, only `#step` works: the tests hold one against the other.

import { MalformedCaptureError, type CaptureError, type ErrorCode } from '../errors.ts'
import type { NoticeCode, NoticeList } from '../notices.ts'
import type { CaptureExtent, ReaderOptions } from './capture-header.ts'
import { BATCH_ROWS, LEVEL_HIGH, LEVEL_UNKNOWN } from './transition-batch.ts'
import type { VcdWire } from './vcd-channels.ts'
import { excerptOf } from './vcd-excerpt.ts'
import {
  CODE_BASE,
  FIRST_CODE_BYTE,
  IdentifierTable,
  LAST_CODE_BYTE,
  MAX_IDENTIFIER_BYTES,
  SHORT_IDENTIFIER_BYTES,
  SLOT_FIRST_VECTOR,
  SLOT_IGNORED,
  SLOT_UNDECLARED,
  spellShortCode,
} from './vcd-identifier.ts'
import { VcdRows } from './vcd-rows.ts'
import { MAX_NUMBER_DIGITS, scanLines, scanTokens } from './vcd-scan.ts'
import { LEVEL_OF_DIGIT, LEVEL_OF_PORT_STATE, NO_LEVEL } from './vcd-levels.ts'
import { VcdVectors } from './vcd-vectors.ts'

const TAB = 0x09
const LINE_FEED = 0x0a
const SPACE = 0x20
const HASH = 0x23
const DOLLAR = 0x24
const MINUS = 0x2d
const DOT = 0x2e
const ZERO = 0x30
const SEVEN = 0x37
const UPPER_B = 0x42
const UPPER_R = 0x52
const UPPER_S = 0x53
const LOWER_B = 0x62
const LOWER_P = 0x70
const LOWER_R = 0x72
const LOWER_S = 0x73
const END_WORD = [0x24, 0x65, 0x6e, 0x64]

/** Longest keyword that is told from others. */
const MAX_KEYWORD_BYTES = 32
/** Digits after the point of a time that still count: a float64 holds no more. */
const MAX_FRACTION_SCALE = 1e15
/** Keywords whose contents are value changes, or which stand alone. IEEE 1364-2005, clauses 18.2 and 18.3. */
const TRANSPARENT_KEYWORDS: ReadonlySet<string> = new Set([
  '$end',
  '$dumpvars',
  '$dumpall',
  '$dumpon',
  '$dumpoff',
  '$dumpports',
  '$dumpportsall',
  '$dumpportson',
  '$dumpportsoff',
  '$vcdclose',
])
/** Keywords of a header: in the body they mean that another capture was appended. */
const HEADER_KEYWORDS: ReadonlySet<string> = new Set(['$var', '$enddefinitions'])

// What comes next.
const AT_TOKEN = 0
const IN_TIME = 1
const IN_TIME_FRACTION = 2
/** A value is read, its code comes after white space or at once. */
const BEFORE_CODE = 3
const IN_CODE = 4
const IN_LONG_CODE = 5
const IN_VECTOR = 6
/** In the text of a real or a string. */
const IN_TEXT = 7
const IN_PORT_STATE = 8
const BEFORE_STRENGTH = 9
const IN_STRENGTH = 10
const IN_KEYWORD = 11
/** Up to the next `$end`. */
const IN_SKIPPED_SECTION = 12

// Kinds of value.
const SCALAR = 0
const VECTOR = 1
const REAL = 2
const STRING = 3

/** Counts one kind of oddity while scanning; becomes a notice at the end. */
interface Tally {
  readonly code: NoticeCode
  message: string
  firstAtByte: number
  count: number
}

export class VcdBody {
  readonly #notices: NoticeList
  readonly #wires: readonly VcdWire[]
  readonly #table = new IdentifierTable()
  readonly #rows: VcdRows
  /** Level of each channel before the first time stamp; NO_LEVEL = not told yet. */
  readonly #initial: Uint8Array

  readonly #vectors: VcdVectors

  #base: number
  #state = AT_TOKEN

  // The token being read. Where a code stands apart from its value, it is the token and the value began the change.
  #tokenAt = 0
  #changeAt = 0
  #kind = SCALAR
  #time = 0
  #timeDigits = 0
  #negative = false
  #fraction = 0
  #fractionScale = 1
  #value = 0
  #unknown = 0
  #digits = 0
  #firstUnknown = false
  #strengths = 0
  #codeNumber = 0
  #codeLength = 0
  readonly #code = new Uint8Array(MAX_IDENTIFIER_BYTES)
  #keywordLength = 0
  readonly #keyword = new Uint8Array(MAX_KEYWORD_BYTES)
  #endMatched = 0

  readonly #beforeTime = tally('VCD_VALUES_BEFORE_TIME', 'value changes stand before the first time stamp')
  readonly #fractional = tally('VCD_TIME_FRACTIONAL', 'time stamps have a fraction; it is kept')
  readonly #unknownLevels = tally(
    'LEVEL_UNKNOWN',
    'levels are x, z or another state that is neither low nor high',
  )
  readonly #reals = tally('VCD_REAL_IGNORED', 'real numbers are no levels and were passed over')
  readonly #strings = tally('VCD_STRING_IGNORED', 'strings are no levels and were passed over')
  readonly #undeclared = tally(
    'VCD_IDENTIFIER_NOT_DECLARED',
    'changes of codes that the header does not declare',
  )
  readonly #keywords = tally('VCD_UNKNOWN_KEYWORD', '')

  /**
   * @param baseByte position in the capture of the first byte that `write` will get
   * @param channelCount channels in all; `wires` says which belong to which code
   * @param ignoredCodes declared codes whose changes are passed over
   */
  constructor(
    options: Pick<ReaderOptions, 'sink' | 'nextBatch' | 'notices'>,
    baseByte: number,
    channelCount: number,
    wires: readonly VcdWire[],
    ignoredCodes: readonly string[],
  ) {
    this.#rows = new VcdRows(options)
    this.#notices = options.notices
    this.#base = baseByte
    this.#wires = wires
    this.#initial = new Uint8Array(channelCount).fill(NO_LEVEL)
    this.#vectors = new VcdVectors(wires.filter((wire) => wire.widthBits > 1))
    for (const code of ignoredCodes) this.#table.set(code, SLOT_IGNORED)
    this.select(new Uint8Array(channelCount).fill(1))
  }

  /** @param wanted one entry per channel; channels with 0 are not emitted from here on */
  select(wanted: Uint8Array): void {
    let vector = 0
    for (const { code, widthBits, firstChannel } of this.#wires) {
      let slot = SLOT_IGNORED
      if (widthBits === 1) {
        if (wanted[firstChannel] !== 0) slot = firstChannel
      } else {
        let mask = 0
        for (let i = 0; i < widthBits; i++) {
          if (wanted[firstChannel + i] !== 0) mask |= 1 << (widthBits - 1 - i)
        }
        this.#vectors.wanted[vector] = mask
        if (mask !== 0) slot = SLOT_FIRST_VECTOR - vector
        vector++
      }
      this.#table.set(code, slot)
    }
    for (let channel = 0; channel < this.#initial.length; channel++) {
      if (wanted[channel] === 0) this.#initial[channel] = NO_LEVEL
    }
  }

  /**
   * Takes the next bytes; any cut gives the same.
   *
   * @throws {CaptureError} VCD_TOKEN_UNEXPECTED, VCD_VALUE_MALFORMED, VCD_IDENTIFIER_TOO_LONG,
   * VCD_TIME_MALFORMED, VCD_TIME_BACKWARD, VCD_TIME_TOO_LARGE
   */
  write(chunk: Uint8Array): void {
    const base = this.#base
    const length = chunk.length
    const rows = this.#rows
    const view = new DataView(chunk.buffer, chunk.byteOffset, length)
    let at = 0
    while (at < length) {
      if (rows.started && this.#state === AT_TOKEN) {
        for (;;) {
          at = scanLines(chunk, view, at, this.#table, rows)
          if (rows.count < BATCH_ROWS) break
          rows.flush()
        }
        at = scanTokens(chunk, at, this.#table, this.#vectors, rows)
        if (at === length) break
      }
      // Everything else, and what the chunk's end cuts.
      do this.#step(chunk[at]!, base + at++)
      while (at < length && this.#state !== AT_TOKEN)
    }
    this.#base = base + length
  }

  /**
   * Ends the capture: the last token counts when it can be whole.
   *
   * @throws {CaptureError} as `write`, and VCD_IDENTIFIER_UNKNOWN when no change is of a declared code
   */
  end(): CaptureExtent {
    this.#endLastToken()
    const rows = this.#rows
    if (!rows.started) this.#start(0)
    const { count, firstAtByte } = this.#undeclared
    if (count > 0 && !rows.sawDeclared && rows.count === 0) {
      throw this.#malformed(
        'VCD_IDENTIFIER_UNKNOWN',
        'no value change has an identifier code of the header',
        {
          atByte: firstAtByte,
          hint: 'header and values may come from different files',
        },
      )
    }
    rows.flush()
    this.reportNotices()
    return rows.extent()
  }

  /** Hands over what was counted, in a fixed order; once, at the end or before an error is thrown on. */
  reportNotices(): void {
    const tallies = [
      this.#beforeTime,
      this.#fractional,
      this.#unknownLevels,
      this.#reals,
      this.#strings,
      this.#undeclared,
      this.#keywords,
    ]
    for (const { code, message, firstAtByte, count } of tallies) {
      if (count > 0) this.#notices.add(code, () => message, firstAtByte, count)
    }
  }

  /** The whole grammar, one byte at a time. */
  #step(byte: number, at: number): void {
    switch (this.#state) {
      case AT_TOKEN:
        if (byte > SPACE) this.#beginToken(byte, at)
        return
      case IN_TIME:
        this.#stepTime(byte)
        return
      case IN_TIME_FRACTION:
        this.#stepFraction(byte)
        return
      case BEFORE_CODE:
        this.#stepBeforeCode(byte, at)
        return
      case IN_CODE:
      case IN_LONG_CODE:
        this.#stepCode(byte)
        return
      case IN_VECTOR:
        this.#stepVector(byte)
        return
      case IN_TEXT:
        if (byte <= SPACE) this.#endValue(byte)
        return
      case IN_PORT_STATE:
        this.#stepPortState(byte)
        return
      case BEFORE_STRENGTH:
      case IN_STRENGTH:
        this.#stepStrength(byte)
        return
      case IN_KEYWORD:
        if (byte <= SPACE) this.#endKeyword()
        else if (this.#keywordLength < MAX_KEYWORD_BYTES) this.#keyword[this.#keywordLength++] = byte
        return
      default:
        this.#stepSkippedSection(byte)
    }
  }

  #beginToken(byte: number, at: number): void {
    this.#tokenAt = at
    this.#changeAt = at
    this.#codeLength = 0
    this.#value = 0
    this.#unknown = 0
    this.#digits = 0
    this.#firstUnknown = false
    const level = LEVEL_OF_DIGIT[byte]!
    if (level !== NO_LEVEL) {
      this.#kind = SCALAR
      this.#addDigit(level)
      this.#state = BEFORE_CODE
    } else if (byte === HASH) {
      this.#time = 0
      this.#timeDigits = 0
      this.#negative = false
      this.#fraction = 0
      this.#fractionScale = 1
      this.#state = IN_TIME
    } else if (byte === DOLLAR) {
      this.#keyword[0] = byte
      this.#keywordLength = 1
      this.#state = IN_KEYWORD
    } else if (byte === LOWER_B || byte === UPPER_B) {
      this.#kind = VECTOR
      this.#state = IN_VECTOR
    } else if (byte === LOWER_R || byte === UPPER_R) {
      this.#kind = REAL
      this.#state = IN_TEXT
    } else if (byte === LOWER_S || byte === UPPER_S) {
      this.#kind = STRING
      this.#state = IN_TEXT
    } else if (byte === LOWER_P) {
      this.#kind = VECTOR
      this.#state = IN_PORT_STATE
    } else {
      throw this.#malformed(
        'VCD_TOKEN_UNEXPECTED',
        `expected a time stamp, a value change or a keyword, found ${excerptOf(String.fromCharCode(byte))}`,
        { hint: 'the file may be damaged here; cut it above this line' },
      )
    }
  }

  #stepTime(byte: number): void {
    const digit = byte - ZERO
    if (digit >= 0 && digit <= 9) {
      this.#time = this.#time * 10 + digit
      if (++this.#timeDigits > MAX_NUMBER_DIGITS) throw this.#timeTooLong()
    } else if (byte <= SPACE && this.#timeDigits > 0) {
      this.#endTime()
    } else if (byte === DOT && this.#timeDigits > 0) {
      this.#state = IN_TIME_FRACTION
    } else if (byte === MINUS && this.#timeDigits === 0 && !this.#negative) {
      this.#negative = true
    } else {
      throw this.#timeMalformed(byte)
    }
  }

  #stepFraction(byte: number): void {
    const digit = byte - ZERO
    if (digit >= 0 && digit <= 9) {
      if (++this.#timeDigits > MAX_NUMBER_DIGITS) throw this.#timeTooLong()
      if (this.#fractionScale === MAX_FRACTION_SCALE) return
      this.#fraction = this.#fraction * 10 + digit
      this.#fractionScale *= 10
    } else if (byte <= SPACE) {
      this.#endTime()
    } else {
      throw this.#timeMalformed(byte)
    }
  }

  #endTime(): void {
    this.#countFraction()
    this.#state = AT_TOKEN
    const time = this.#tokenTime()
    if (time > Number.MAX_SAFE_INTEGER || time < Number.MIN_SAFE_INTEGER) throw this.#timeTooLarge()
    const rows = this.#rows
    if (!rows.started) this.#start(time)
    else if (time < rows.now) throw this.#timeBackward(time)
    else rows.now = time
  }

  #tokenTime(): number {
    const time = this.#time + this.#fraction / this.#fractionScale
    return this.#negative ? -time : time
  }

  #countFraction(): void {
    if (this.#state === IN_TIME_FRACTION) count(this.#fractional, this.#tokenAt)
  }

  /** The first time stamp: the levels told before it hold from here on. */
  #start(time: number): void {
    this.#rows.start(time)
    for (let channel = 0; channel < this.#initial.length; channel++) {
      const level = this.#initial[channel]!
      if (level !== NO_LEVEL) this.#addRow(channel, level)
    }
  }

  #stepBeforeCode(byte: number, at: number): void {
    if (byte === SPACE || byte === TAB) {
      // A space between a scalar's value and its code is against the standard, and met in the field.
      this.#codeLength = -1
      return
    }
    if (byte <= SPACE) throw this.#valueWithoutCode()
    // Value and code touch: one token. Else the code is a token of its own.
    if (this.#codeLength < 0) this.#tokenAt = at
    this.#checkCodeByte(byte)
    this.#codeNumber = byte - FIRST_CODE_BYTE + 1
    this.#codeLength = 1
    this.#state = IN_CODE
  }

  #stepCode(byte: number): void {
    if (byte <= SPACE) {
      this.#endChange(byte)
      return
    }
    this.#checkCodeByte(byte)
    if (this.#codeLength === MAX_IDENTIFIER_BYTES) throw this.#codeTooLong()
    if (this.#codeLength < SHORT_IDENTIFIER_BYTES) {
      this.#codeNumber = this.#codeNumber * CODE_BASE + byte - FIRST_CODE_BYTE + 1
    } else {
      if (this.#state === IN_CODE) {
        spellShortCode(this.#codeNumber, SHORT_IDENTIFIER_BYTES, this.#code)
        this.#state = IN_LONG_CODE
      }
      this.#code[this.#codeLength] = byte
    }
    this.#codeLength++
  }

  #codeText(): string {
    if (this.#state === IN_CODE) spellShortCode(this.#codeNumber, this.#codeLength, this.#code)
    return String.fromCharCode(...this.#code.subarray(0, this.#codeLength))
  }

  #slotOfCode(): number {
    return this.#state === IN_CODE
      ? this.#table.slotOfShort(this.#codeNumber)
      : this.#table.slotOfLong(this.#codeText())
  }

  /** Value and code are read. */
  #endChange(byte: number): void {
    if (this.#kind === REAL || this.#kind === STRING) {
      count(this.#kind === REAL ? this.#reals : this.#strings, this.#changeAt)
      this.#state = AT_TOKEN
      return
    }
    const slot = this.#slotOfCode()
    if (slot === SLOT_UNDECLARED) {
      if ((byte === SPACE || byte === TAB) && this.#reReadAsVector()) return
      count(this.#undeclared, this.#tokenAt)
    } else if (slot === SLOT_IGNORED) {
      this.#rows.sawDeclared = true
    } else if (this.#digits === 0) {
      throw this.#malformed('VCD_VALUE_MALFORMED', 'a vector change without a digit')
    } else if (slot >= 0) {
      this.#emit(slot, (this.#unknown & 1) === 1 ? LEVEL_UNKNOWN : this.#value & 1)
    } else {
      this.#emitVector(SLOT_FIRST_VECTOR - slot)
    }
    this.#state = AT_TOKEN
  }

  /** Some writers start vectors with `0b` in place of `b`: what looked like a code is the value. */
  #reReadAsVector(): boolean {
    if (this.#kind !== SCALAR || this.#value !== 0 || this.#unknown !== 0) return false
    const text = this.#codeText()
    if (!/^b[01xz]+$/i.test(text)) return false
    this.#kind = VECTOR
    this.#digits = 0
    for (let i = 1; i < text.length; i++) this.#addDigit(LEVEL_OF_DIGIT[text.charCodeAt(i)]!)
    this.#codeLength = -1
    this.#state = BEFORE_CODE
    return true
  }

  #addDigit(level: number): void {
    const isUnknown = level === LEVEL_UNKNOWN
    if (this.#digits === 0) this.#firstUnknown = isUnknown
    this.#value = (this.#value << 1) | (level === LEVEL_HIGH ? 1 : 0)
    this.#unknown = (this.#unknown << 1) | (isUnknown ? 1 : 0)
    if (++this.#digits > MAX_NUMBER_DIGITS) throw this.#tooManyDigits()
  }

  #stepVector(byte: number): void {
    const level = LEVEL_OF_DIGIT[byte]!
    if (level !== NO_LEVEL) {
      this.#addDigit(level)
    } else if (byte <= SPACE) {
      this.#endValue(byte)
    } else if (
      (byte === LOWER_B || byte === UPPER_B) &&
      this.#digits === 1 &&
      this.#value + this.#unknown === 0
    ) {
      this.#digits = 0
    } else {
      const found = excerptOf(String.fromCharCode(byte))
      throw this.#malformed(
        'VCD_VALUE_MALFORMED',
        `expected binary digits, x or z in a vector, found ${found}`,
      )
    }
  }

  #endValue(byte: number): void {
    if (byte !== SPACE && byte !== TAB) throw this.#valueWithoutCode()
    this.#codeLength = -1
    this.#state = BEFORE_CODE
  }

  #stepPortState(byte: number): void {
    const level = LEVEL_OF_PORT_STATE[byte]!
    if (level !== NO_LEVEL) {
      this.#addDigit(level)
    } else if ((byte === SPACE || byte === TAB) && this.#digits > 0) {
      this.#strengths = 0
      this.#state = BEFORE_STRENGTH
    } else if (byte <= SPACE) {
      throw this.#valueWithoutCode()
    } else {
      const found = excerptOf(String.fromCharCode(byte))
      throw this.#malformed('VCD_VALUE_MALFORMED', `expected a port state such as D or U, found ${found}`)
    }
  }

  /** IEEE 1364-2005, clause 18.3: two strengths, one digit for each bit; a level analyzer has no use for them. */
  #stepStrength(byte: number): void {
    if (byte >= ZERO && byte <= SEVEN) {
      this.#state = IN_STRENGTH
    } else if (byte === SPACE || byte === TAB) {
      if (this.#state === IN_STRENGTH && ++this.#strengths === 2) this.#endValue(byte)
      else this.#state = BEFORE_STRENGTH
    } else if (byte <= SPACE) {
      throw this.#valueWithoutCode()
    } else {
      const found = excerptOf(String.fromCharCode(byte))
      throw this.#malformed(
        'VCD_VALUE_MALFORMED',
        `expected a port strength of digits 0 to 7, found ${found}`,
      )
    }
  }

  #keywordText(): string {
    return String.fromCharCode(...this.#keyword.subarray(0, this.#keywordLength))
  }

  #endKeyword(): void {
    const keyword = this.#keywordText()
    this.#state = AT_TOKEN
    if (TRANSPARENT_KEYWORDS.has(keyword)) return
    if (HEADER_KEYWORDS.has(keyword)) {
      throw this.#malformed('VCD_TOKEN_UNEXPECTED', `${keyword} stands among the value changes`, {
        hint: 'two captures may be joined here; cut the file above this line',
      })
    }
    if (keyword !== '$comment') {
      this.#keywords.message ||= `${excerptOf(keyword)} is not known among value changes; it was passed over up to its $end`
      count(this.#keywords, this.#tokenAt)
    }
    this.#endMatched = 0
    this.#state = IN_SKIPPED_SECTION
  }

  #stepSkippedSection(byte: number): void {
    if (byte <= SPACE) {
      if (this.#endMatched === END_WORD.length) this.#state = AT_TOKEN
      this.#endMatched = 0
    } else if (this.#endMatched >= 0 && byte === END_WORD[this.#endMatched]) {
      this.#endMatched++
    } else {
      this.#endMatched = -1
    }
  }

  #emit(channel: number, level: number): void {
    if (this.#rows.started) {
      this.#addRow(channel, level)
    } else {
      this.#initial[channel] = level
      count(this.#beforeTime, this.#changeAt)
    }
  }

  #addRow(channel: number, level: number): void {
    if (level === LEVEL_UNKNOWN) count(this.#unknownLevels, this.#changeAt)
    this.#rows.add(channel, level)
  }

  /** Emits the wires of a vector that changed; `#value` and the rest hold the change. */
  #emitVector(vector: number): void {
    const vectors = this.#vectors
    let changed = vectors.change(vector, this.#value, this.#unknown, this.#digits, this.#firstUnknown)
    const value = vectors.value[vector]!
    const unknown = vectors.unknown[vector]!
    const channelOfBit0 = vectors.lastChannel[vector]!
    this.#rows.sawDeclared = true
    while (changed !== 0) {
      const position = 31 - Math.clz32(changed)
      changed ^= 1 << position
      const isUnknown = ((unknown >>> position) & 1) === 1
      this.#emit(channelOfBit0 - position, isUnknown ? LEVEL_UNKNOWN : (value >>> position) & 1)
    }
  }

  /** The capture ended; half a token is dropped where it can be told that it is half. */
  #endLastToken(): void {
    const state = this.#state
    let whole = state === AT_TOKEN
    if ((state === IN_TIME && this.#timeDigits > 0) || state === IN_TIME_FRACTION) {
      whole = !this.#rows.started || this.#tokenTime() >= this.#rows.now
      if (whole) this.#endTime()
    } else if (state === IN_CODE || state === IN_LONG_CODE) {
      whole = this.#kind === REAL || this.#kind === STRING || this.#slotOfCode() !== SLOT_UNDECLARED
      if (whole) this.#endChange(LINE_FEED)
    } else if (state === IN_KEYWORD) {
      whole = TRANSPARENT_KEYWORDS.has(this.#keywordText())
    } else if (state === IN_SKIPPED_SECTION) {
      whole = this.#endMatched === END_WORD.length
    }
    this.#state = AT_TOKEN
    if (whole) return
    this.#notices.add(
      'VCD_CUT_SHORT',
      () => 'the capture ends in the middle of a word or a section; the rest is missing',
      this.#tokenAt,
    )
  }

  #malformed(code: ErrorCode, message: string, more: { atByte?: number; hint?: string } = {}): CaptureError {
    const hint = more.hint ?? 'cut the file above this line, or export the capture again'
    return new MalformedCaptureError(code, message, { byte: more.atByte ?? this.#tokenAt }, { hint })
  }

  #checkCodeByte(byte: number): void {
    if (byte <= LAST_CODE_BYTE) return
    throw this.#malformed('VCD_VALUE_MALFORMED', `identifier codes are made of ! to ~, found byte ${byte}`)
  }

  #valueWithoutCode(): CaptureError {
    return this.#malformed('VCD_VALUE_MALFORMED', 'a value without an identifier code on its line')
  }

  #codeTooLong(): CaptureError {
    return this.#malformed(
      'VCD_IDENTIFIER_TOO_LONG',
      `identifier code of more than ${MAX_IDENTIFIER_BYTES} characters`,
    )
  }

  #timeMalformed(byte: number): CaptureError {
    const found = byte <= SPACE ? 'white space' : excerptOf(String.fromCharCode(byte))
    return this.#malformed('VCD_TIME_MALFORMED', `expected a decimal time after #, found ${found}`)
  }

  #timeTooLong(): CaptureError {
    return this.#malformed('VCD_TIME_TOO_LARGE', `a time stamp of more than ${MAX_NUMBER_DIGITS} digits`)
  }

  #tooManyDigits(): CaptureError {
    return this.#malformed('VCD_VALUE_MALFORMED', `a value of more than ${MAX_NUMBER_DIGITS} digits`)
  }

  #timeTooLarge(): CaptureError {
    return this.#malformed(
      'VCD_TIME_TOO_LARGE',
      'a time stamp beyond 2^53 - 1 ticks cannot be kept exactly',
      {
        hint: 'export with a coarser time scale, or cut the beginning off the time stamps',
      },
    )
  }

  #timeBackward(to: number): CaptureError {
    return this.#malformed('VCD_TIME_BACKWARD', `time runs backward, from #${this.#rows.now} to #${to}`, {
      hint: 'two captures may be joined here; cut the file above this line',
    })
  }
}

function tally(code: NoticeCode, message: string): Tally {
  return { code, message, firstAtByte: 0, count: 0 }
}

function count(kind: Tally, atByte: number): void {
  if (kind.count++ === 0) kind.firstAtByte = atByte
}
