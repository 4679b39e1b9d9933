// Value changes of a VCD → transition batches: the whole grammar, byte by byte. One file: the states of a byte scanner
// belong together.
//
// `#step` can stop and go on after any byte. Between tokens the fast scanners of vcd-scan.ts read what they know. Fed
// with one byte at a time, only `#step` works: the tests hold one against the other.

import type { NoticeList } from '../notices.ts'
import type { CaptureExtent, ReaderOptions } from './capture-header.ts'
import { BATCH_ROWS, LEVEL_UNKNOWN, NO_LEVEL } from './transition-batch.ts'
import {
  codeMalformed,
  codeTooLong,
  headerAmongChanges,
  nothingDeclared,
  timeBackward,
  timeMalformed,
  timeTooLarge,
  timeTooLong,
  tokenUnexpected,
  tooManyDigits,
  valueMalformed,
  valueWithoutCode,
  vectorWithoutDigit,
} from './vcd-body-errors.ts'
import { count, VcdBodyNotices } from './vcd-body-notices.ts'
import type { VcdWire } from './vcd-channels.ts'
import { VcdCode } from './vcd-code.ts'
import { excerptOf } from './vcd-excerpt.ts'
import {
  IdentifierTable,
  LAST_CODE_BYTE,
  SLOT_FIRST_VECTOR,
  SLOT_IGNORED,
  SLOT_UNDECLARED,
} from './vcd-identifier.ts'
import { LEVEL_OF_DIGIT, LEVEL_OF_PORT_STATE } from './vcd-levels.ts'
import { VcdRows } from './vcd-rows.ts'
import { MAX_NUMBER_DIGITS, scanLines, scanTokens } from './vcd-scan.ts'
import { VcdTimeStamp } from './vcd-time-stamp.ts'
import { VcdValue } from './vcd-value.ts'
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
const IN_VECTOR = 5
/** In the text of a real or a string. */
const IN_TEXT = 6
const IN_PORT_STATE = 7
const BEFORE_STRENGTH = 8
const IN_STRENGTH = 9
const IN_KEYWORD = 10
/** Up to the next `$end`. */
const IN_SKIPPED_SECTION = 11

// Kinds of value.
const SCALAR = 0
const VECTOR = 1
const REAL = 2
const STRING = 3

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
  readonly #time = new VcdTimeStamp()
  readonly #value = new VcdValue()
  #strengths = 0
  readonly #code = new VcdCode()
  /** A code of its own begins a token: white space stands between it and its value. */
  #codeApart = false
  #keywordLength = 0
  readonly #keyword = new Uint8Array(MAX_KEYWORD_BYTES)
  #endMatched = 0

  readonly #odd = new VcdBodyNotices()

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
    const { count, firstAtByte } = this.#odd.undeclared
    if (count > 0 && !rows.sawDeclared && rows.count === 0) {
      throw nothingDeclared(firstAtByte)
    }
    rows.flush()
    this.reportNotices()
    return rows.extent()
  }

  /** Hands over what was counted, in a fixed order; once, at the end or before an error is thrown on. */
  reportNotices(): void {
    this.#odd.report(this.#notices)
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
    this.#codeApart = false
    this.#value.clear()
    const level = LEVEL_OF_DIGIT[byte]!
    if (level !== NO_LEVEL) {
      this.#kind = SCALAR
      this.#addDigit(level)
      this.#state = BEFORE_CODE
    } else if (byte === HASH) {
      this.#time.begin()
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
      throw tokenUnexpected(at, byte)
    }
  }

  #stepTime(byte: number): void {
    const time = this.#time
    const digit = byte - ZERO
    if (digit >= 0 && digit <= 9) {
      time.addDigit(digit)
      if (time.digits > MAX_NUMBER_DIGITS) throw timeTooLong(this.#tokenAt)
    } else if (byte <= SPACE && time.digits > 0) {
      this.#endTime()
    } else if (byte === DOT && time.digits > 0) {
      this.#state = IN_TIME_FRACTION
    } else if (byte === MINUS && time.digits === 0 && !time.isNegative) {
      time.isNegative = true
    } else {
      throw timeMalformed(this.#tokenAt, byte)
    }
  }

  #stepFraction(byte: number): void {
    const digit = byte - ZERO
    if (digit >= 0 && digit <= 9) {
      this.#time.addFractionDigit(digit)
      if (this.#time.digits > MAX_NUMBER_DIGITS) throw timeTooLong(this.#tokenAt)
    } else if (byte <= SPACE) {
      this.#endTime()
    } else {
      throw timeMalformed(this.#tokenAt, byte)
    }
  }

  #endTime(): void {
    if (this.#state === IN_TIME_FRACTION) count(this.#odd.fractional, this.#tokenAt)
    this.#state = AT_TOKEN
    const time = this.#time.value
    if (time > Number.MAX_SAFE_INTEGER || time < Number.MIN_SAFE_INTEGER) throw timeTooLarge(this.#tokenAt)
    const rows = this.#rows
    if (!rows.started) this.#start(time)
    else if (time < rows.now) throw timeBackward(this.#tokenAt, rows.now, time)
    else rows.now = time
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
      this.#codeApart = true
      return
    }
    if (byte <= SPACE) throw valueWithoutCode(this.#tokenAt)
    // Value and code touch: one token. Else the code is a token of its own.
    if (this.#codeApart) this.#tokenAt = at
    this.#checkCodeByte(byte)
    this.#code.begin(byte)
    this.#state = IN_CODE
  }

  #stepCode(byte: number): void {
    if (byte <= SPACE) {
      this.#endChange(byte)
      return
    }
    this.#checkCodeByte(byte)
    if (this.#code.isFull) throw codeTooLong(this.#tokenAt)
    this.#code.add(byte)
  }

  #checkCodeByte(byte: number): void {
    if (byte > LAST_CODE_BYTE) throw codeMalformed(this.#tokenAt, byte)
  }

  /** Value and code are read. */
  #endChange(byte: number): void {
    if (this.#kind === REAL || this.#kind === STRING) {
      count(this.#kind === REAL ? this.#odd.reals : this.#odd.strings, this.#changeAt)
      this.#state = AT_TOKEN
      return
    }
    const slot = this.#code.slotIn(this.#table)
    if (slot === SLOT_UNDECLARED) {
      if ((byte === SPACE || byte === TAB) && this.#reReadAsVector()) return
      count(this.#odd.undeclared, this.#tokenAt)
    } else if (slot === SLOT_IGNORED) {
      this.#rows.sawDeclared = true
    } else if (this.#value.digits === 0) {
      throw vectorWithoutDigit(this.#tokenAt)
    } else if (slot >= 0) {
      this.#emit(slot, this.#value.level)
    } else {
      this.#emitVector(SLOT_FIRST_VECTOR - slot)
    }
    this.#state = AT_TOKEN
  }

  /** Some writers start vectors with `0b` in place of `b`: what looked like a code is the value. */
  #reReadAsVector(): boolean {
    if (this.#kind !== SCALAR || !this.#value.isZero) return false
    const { text } = this.#code
    if (!/^b[01xz]+$/i.test(text)) return false
    this.#kind = VECTOR
    this.#value.clear()
    for (let i = 1; i < text.length; i++) this.#addDigit(LEVEL_OF_DIGIT[text.charCodeAt(i)]!)
    this.#codeApart = true
    this.#state = BEFORE_CODE
    return true
  }

  #addDigit(level: number): void {
    this.#value.add(level)
    if (this.#value.digits > MAX_NUMBER_DIGITS) throw tooManyDigits(this.#tokenAt)
  }

  #stepVector(byte: number): void {
    const level = LEVEL_OF_DIGIT[byte]!
    if (level !== NO_LEVEL) {
      this.#addDigit(level)
    } else if (byte <= SPACE) {
      this.#endValue(byte)
    } else if ((byte === LOWER_B || byte === UPPER_B) && this.#value.digits === 1 && this.#value.isZero) {
      this.#value.clear()
    } else {
      throw valueMalformed(this.#tokenAt, 'binary digits, x or z in a vector', byte)
    }
  }

  #endValue(byte: number): void {
    if (byte !== SPACE && byte !== TAB) throw valueWithoutCode(this.#tokenAt)
    this.#codeApart = true
    this.#state = BEFORE_CODE
  }

  #stepPortState(byte: number): void {
    const level = LEVEL_OF_PORT_STATE[byte]!
    if (level !== NO_LEVEL) {
      this.#addDigit(level)
    } else if ((byte === SPACE || byte === TAB) && this.#value.digits > 0) {
      this.#strengths = 0
      this.#state = BEFORE_STRENGTH
    } else if (byte <= SPACE) {
      throw valueWithoutCode(this.#tokenAt)
    } else {
      throw valueMalformed(this.#tokenAt, 'a port state such as D or U', byte)
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
      throw valueWithoutCode(this.#tokenAt)
    } else {
      throw valueMalformed(this.#tokenAt, 'a port strength of digits 0 to 7', byte)
    }
  }

  #keywordText(): string {
    return String.fromCharCode(...this.#keyword.subarray(0, this.#keywordLength))
  }

  #endKeyword(): void {
    const keyword = this.#keywordText()
    this.#state = AT_TOKEN
    if (TRANSPARENT_KEYWORDS.has(keyword)) return
    if (HEADER_KEYWORDS.has(keyword)) throw headerAmongChanges(this.#tokenAt, keyword)
    if (keyword !== '$comment') {
      this.#odd.keywords.message ||= `${excerptOf(keyword)} is not known among value changes; it was passed over up to its $end`
      count(this.#odd.keywords, this.#tokenAt)
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
      count(this.#odd.beforeTime, this.#changeAt)
    }
  }

  #addRow(channel: number, level: number): void {
    if (level === LEVEL_UNKNOWN) count(this.#odd.unknownLevels, this.#changeAt)
    this.#rows.add(channel, level)
  }

  /** Emits the wires of a vector that changed; `#value` holds the change. */
  #emitVector(vector: number): void {
    const vectors = this.#vectors
    const told = this.#value
    let changed = vectors.change(vector, told.value, told.unknown, told.digits, told.firstUnknown)
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
    if ((state === IN_TIME && this.#time.digits > 0) || state === IN_TIME_FRACTION) {
      whole = !this.#rows.started || this.#time.value >= this.#rows.now
      if (whole) this.#endTime()
    } else if (state === IN_CODE) {
      whole =
        this.#kind === REAL || this.#kind === STRING || this.#code.slotIn(this.#table) !== SLOT_UNDECLARED
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
}
