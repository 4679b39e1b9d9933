// Declarations of a VCD, byte by byte, up to where the value changes begin: time scale, scopes, variables.

import { CaptureError, MalformedCaptureError, UnsupportedCaptureError } from '../errors.ts'
import type { NoticeList } from '../notices.ts'
import { MAX_IDENTIFIERS, VcdChannelList } from './vcd-channels.ts'
import { excerptOf } from './vcd-excerpt.ts'
import { readTimescale, sampleRateIn, statedRateIn } from './vcd-timescale.ts'
import { readVariable, type VcdScope, type VcdToken } from './vcd-variable.ts'

/** Longest word of a declaration; only escaped names come near it. */
const MAX_TOKEN_BYTES = 4096
/** Words in one declaration that is not free text. */
const MAX_DECLARATION_TOKENS = 256
/** Bytes of all declarations together, free text not counted: what is kept of them stays a small multiple of this. */
export const MAX_DECLARED_BYTES: number = 32 * 1024 * 1024
/** How much of a comment or a junk line is looked at. */
const MAX_TEXT_BYTES = 1024
const MAX_SCOPE_DEPTH = 1024

const LINE_FEED = 0x0a
const SPACE = 0x20
const DOLLAR = 0x24
/** UTF-8 byte order mark, which editors put before the first byte. */
const BYTE_ORDER_MARK = [0xef, 0xbb, 0xbf]

/** The first bytes a value change or time stamp can have: the header is over, whatever it says. */
const BODY_BYTES: ReadonlySet<number> = new Set(
  [...'#01xXzZuUwWlLhH-?bBrRsSp'].map((one) => one.charCodeAt(0)),
)
const BODY_KEYWORDS: ReadonlySet<string> = new Set(
  '$dumpvars $dumpall $dumpon $dumpoff $dumpports $dumpportsall $dumpportson $dumpportsoff $vcdclose'.split(
    ' ',
  ),
)
const DECLARATIONS: ReadonlySet<string> = new Set(
  '$var $scope $upscope $timescale $enddefinitions'.split(' '),
)
const FREE_TEXTS: ReadonlySet<string> = new Set(['$comment', '$date', '$version'])

// Where the scan stands between two bytes.
const BETWEEN_SECTIONS = 0
const IN_KEYWORD = 1
const IN_SECTION = 2
const IN_JUNK = 3
const OVER = 4

export class VcdHeader {
  readonly channelList: VcdChannelList = new VcdChannelList()
  /** Seconds per tick as `$timescale` says; null without one. */
  secondsPerTick: number | null = null
  /** Sample rate stated in a comment or a line before the header, in hertz. */
  statedRateHz: number | null = null
  /** Byte of the word or character that ended the header. */
  endedAtByte = 0

  readonly #notices: NoticeList
  /** With the user's word on the tick, a time scale that cannot be read does no harm. */
  readonly #timescaleMatters: boolean
  readonly #decoder = new TextDecoder()
  readonly #token = new Uint8Array(MAX_TOKEN_BYTES)
  #tokenLength = 0
  #tokenAt = 0
  #state = BETWEEN_SECTIONS
  #position = 0
  #sawAnything = false
  #sawSection = false
  #scope: VcdScope | null = null
  #scopeDepth = 0
  #section = ''
  #sectionAt = 0
  #tokens: VcdToken[] = []
  #declaredBytes = 0
  #text = ''

  constructor(notices: NoticeList, timescaleMatters: boolean) {
    this.#notices = notices
    this.#timescaleMatters = timescaleMatters
  }

  /**
   * Takes the next bytes.
   *
   * @returns index in the chunk of the first byte of the body, or -1 while the header goes on
   * @throws {CaptureError} VCD_DECLARATION_MALFORMED, VCD_IDENTIFIER_TOO_LONG, VCD_TIMESCALE_MALFORMED,
   * VCD_TOKEN_UNEXPECTED, VCD_TOO_MANY_CHANNELS
   */
  write(chunk: Uint8Array): number {
    for (let i = 0; i < chunk.length; i++) {
      this.#step(chunk[i]!, this.#position)
      // A step that ends the header leaves its byte to the body: it is white space or the first of a change.
      if (this.#state === OVER) return i
      this.#position++
    }
    return -1
  }

  /**
   * The capture ended inside the header: fine only where its last word ends the header.
   *
   * @throws {CaptureError} CAPTURE_EMPTY, VCD_HEADER_UNTERMINATED and those of `write`
   */
  finish(): void {
    this.#step(LINE_FEED, this.#position)
    if (this.#state === OVER) return
    if (!this.#sawAnything) {
      throw new MalformedCaptureError(
        'CAPTURE_EMPTY',
        'the capture holds no text at all',
        { byte: 0 },
        { hint: 'export it again' },
      )
    }
    const open = this.#state === IN_SECTION
    throw new MalformedCaptureError(
      'VCD_HEADER_UNTERMINATED',
      open
        ? `${excerptOf(this.#section)} is never closed by $end, and no value change follows`
        : 'the capture ends before $enddefinitions and before the first value change',
      { byte: open ? this.#sectionAt : this.#position },
      { hint: 'the file was cut in its header; export or copy the capture again' },
    )
  }

  #step(byte: number, at: number): void {
    if (byte <= SPACE) {
      this.#endToken(byte)
      return
    }
    if (at < BYTE_ORDER_MARK.length && byte === BYTE_ORDER_MARK[at] && this.#tokenLength === 0) return
    this.#sawAnything = true
    if (this.#tokenLength === 0) {
      this.#tokenAt = at
      if (this.#state === BETWEEN_SECTIONS) this.#beginBetween(byte, at)
      if (this.#state === OVER) return
    }
    if (this.#tokenLength < MAX_TOKEN_BYTES) this.#token[this.#tokenLength++] = byte
    else if (DECLARATIONS.has(this.#section)) throw this.#tooLong()
  }

  /** First byte of a token outside any section. */
  #beginBetween(byte: number, at: number): void {
    if (byte === DOLLAR) {
      this.#state = IN_KEYWORD
    } else if (!this.#sawSection) {
      // Instruments put lines of their own before the header.
      this.#state = IN_JUNK
      this.#sectionAt = at
      this.#text = ''
    } else if (BODY_BYTES.has(byte)) {
      this.#endEarly(at)
    } else {
      const shown = excerptOf(String.fromCharCode(byte))
      throw new MalformedCaptureError(
        'VCD_TOKEN_UNEXPECTED',
        `expected a declaration such as $var, or a value change, found ${shown}`,
        { byte: at },
        { hint: 'the header may be damaged here; export the capture again' },
      )
    }
  }

  #endToken(byte: number): void {
    if (this.#tokenLength > 0) {
      const text = this.#decoder.decode(this.#token.subarray(0, this.#tokenLength))
      this.#tokenLength = 0
      if (this.#state === IN_KEYWORD) this.#beginSection(text)
      else if (this.#state === IN_JUNK) this.#addText(text)
      else this.#addWord(text)
    }
    if (byte === LINE_FEED && this.#state === IN_JUNK) this.#endJunk()
  }

  #endJunk(): void {
    this.#state = BETWEEN_SECTIONS
    const line = this.#text
    this.#notices.add(
      'VCD_LINE_BEFORE_HEADER',
      () => `a line before the header is no part of the format: ${excerptOf(line)}`,
      this.#sectionAt,
    )
    this.statedRateHz ??= sampleRateIn(line)
  }

  #beginSection(keyword: string): void {
    this.#sawSection = true
    if (keyword === '$enddefinitions') {
      this.#end(this.#tokenAt)
    } else if (BODY_KEYWORDS.has(keyword)) {
      this.#endEarly(this.#tokenAt)
    } else if (keyword === '$end') {
      this.#state = BETWEEN_SECTIONS
    } else {
      this.#state = IN_SECTION
      this.#section = keyword
      this.#sectionAt = this.#tokenAt
      this.#tokens = []
      this.#text = ''
    }
  }

  #addWord(text: string): void {
    const atByte = this.#tokenAt
    if (text === '$end') {
      this.#state = BETWEEN_SECTIONS
      this.#endSection()
    } else if (!DECLARATIONS.has(this.#section)) {
      this.#addText(text)
    } else {
      // The third word of $var is a code, and any word is a good code.
      const isCode = this.#section === '$var' && this.#tokens.length === 2
      if (!isCode && (DECLARATIONS.has(text) || FREE_TEXTS.has(text))) throw this.#unclosed(text, atByte)
      if (this.#tokens.length === MAX_DECLARATION_TOKENS) throw this.#tooLong()
      this.#declaredBytes += text.length + 1
      if (this.#declaredBytes > MAX_DECLARED_BYTES) throw this.#tooMuch()
      this.#tokens.push({ text, atByte })
    }
  }

  #addText(text: string): void {
    if (this.#text.length < MAX_TEXT_BYTES) this.#text += `${this.#text === '' ? '' : ' '}${text}`
  }

  #endSection(): void {
    const keyword = this.#section
    if (keyword === '$var') {
      this.channelList.add(readVariable(this.#tokens, this.#sectionAt, this.#scope))
      if (this.channelList.identifierCount > MAX_IDENTIFIERS) throw this.#tooMany()
    } else if (keyword === '$scope') {
      // type, then the name, which some writers leave empty and others write with spaces
      const name = this.#tokens.slice(1).map((token) => token.text)
      this.#scope = { name: name.join(' ').replace(/^\\/, ''), parent: this.#scope }
      if (++this.#scopeDepth > MAX_SCOPE_DEPTH) throw this.#tooDeep()
    } else if (keyword === '$upscope') {
      if (this.#scope) this.#scopeDepth--
      this.#scope = this.#scope?.parent ?? null
    } else if (keyword === '$timescale') {
      this.#endTimescale()
    } else if (keyword === '$comment') {
      this.statedRateHz ??= statedRateIn(this.#text)
    } else if (!FREE_TEXTS.has(keyword)) {
      this.#notices.add(
        'VCD_UNKNOWN_KEYWORD',
        () => `${excerptOf(keyword)} is not known; it was passed over up to its $end`,
        this.#sectionAt,
      )
    }
    this.#section = ''
  }

  #endTimescale(): void {
    const text = this.#tokens.map((token) => token.text).join('')
    // An empty one says as much as none; that is noticed when the header ends.
    if (text === '') return
    const timescale = readTimescale(text)
    if (!timescale && this.#timescaleMatters) {
      throw new MalformedCaptureError(
        'VCD_TIMESCALE_MALFORMED',
        `expected a time scale such as 1 ns, found ${excerptOf(text)}`,
        { byte: this.#tokens[0]!.atByte },
        { hint: 'state the unit of a tick yourself, as a time unit' },
      )
    }
    if (!timescale?.standard) {
      this.#notices.add(
        'VCD_TIMESCALE_NOT_STANDARD',
        () => `the time scale ${excerptOf(text)} is not 1, 10 or 100 of s, ms, us, ns, ps or fs`,
        this.#sectionAt,
      )
    }
    if (timescale) this.secondsPerTick = timescale.secondsPerTick
  }

  #endEarly(at: number): void {
    this.#notices.add(
      'VCD_NO_ENDDEFINITIONS',
      () => 'value changes begin without $enddefinitions before them',
      at,
    )
    this.#end(at)
  }

  #end(at: number): void {
    this.#state = OVER
    this.endedAtByte = at
    if (this.secondsPerTick === null && this.#timescaleMatters) {
      this.#notices.add('VCD_NO_TIMESCALE', () => 'the file does not say how long a tick is', null)
    }
  }

  #unclosed(found: string, atByte: number): CaptureError {
    return new MalformedCaptureError(
      'VCD_DECLARATION_MALFORMED',
      `expected $end of ${this.#section}, found ${excerptOf(found)}`,
      { byte: atByte },
      { hint: `close the ${this.#section} at byte ${this.#sectionAt} with $end` },
    )
  }

  #tooLong(): CaptureError {
    return new MalformedCaptureError(
      'VCD_DECLARATION_MALFORMED',
      `a ${this.#section} of more than ${MAX_DECLARATION_TOKENS} words or ${MAX_TOKEN_BYTES} bytes in a word`,
      { byte: this.#sectionAt },
      { hint: `close the ${this.#section} with $end` },
    )
  }

  #tooDeep(): CaptureError {
    return new MalformedCaptureError(
      'VCD_DECLARATION_MALFORMED',
      `scopes lie deeper than ${MAX_SCOPE_DEPTH} in each other`,
      { byte: this.#sectionAt },
      { hint: 'close scopes with $upscope $end' },
    )
  }

  #tooMuch(): CaptureError {
    return new UnsupportedCaptureError(
      'VCD_TOO_MANY_CHANNELS',
      `the declarations are longer than ${MAX_DECLARED_BYTES} bytes`,
      { byte: this.#sectionAt },
      { hint: 'export only the scope that drives the video output' },
    )
  }

  #tooMany(): CaptureError {
    return new MalformedCaptureError(
      'VCD_TOO_MANY_CHANNELS',
      `more than ${MAX_IDENTIFIERS} identifier codes are declared`,
      { byte: this.#sectionAt },
      { hint: 'export only the scope that drives the video output' },
    )
  }
}
