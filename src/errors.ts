// What can go wrong with a capture, by what the reader of the message can do about it; free to all stages.

/** Where in the capture. Text lines count from 1, bytes from 0 (in the unpacked text). */
export interface SourceAt {
  file?: string
  line?: number
  byte?: number
  column?: string
}

/** Every code an error of the library can carry; DEVELOPERS.md explains each. */
export type ErrorCode =
  // any capture
  | 'CAPTURE_EMPTY'
  | 'CAPTURE_FORMAT_UNKNOWN'
  | 'CAPTURE_NOT_READABLE'
  | 'CAPTURE_GZIP_BROKEN'
  | 'CAPTURE_NO_TRANSITIONS'
  // VCD
  | 'VCD_NO_CHANNELS'
  | 'VCD_TOO_MANY_CHANNELS'
  | 'VCD_HEADER_UNTERMINATED'
  | 'VCD_DECLARATION_MALFORMED'
  | 'VCD_TIMESCALE_MALFORMED'
  | 'VCD_IDENTIFIER_UNKNOWN'
  | 'VCD_IDENTIFIER_TOO_LONG'
  | 'VCD_TOKEN_UNEXPECTED'
  | 'VCD_VALUE_MALFORMED'
  | 'VCD_TIME_MALFORMED'
  | 'VCD_TIME_BACKWARD'
  | 'VCD_TIME_TOO_LARGE'
  // CSV
  | 'CSV_NO_ROWS'
  | 'CSV_NO_CHANNELS'
  | 'CSV_TOO_MANY_CHANNELS'
  | 'CSV_NOT_A_WAVEFORM'
  | 'CSV_TIME_MISSING'
  | 'CSV_TIME_NOT_NUMBER'
  | 'CSV_TIME_BACKWARD'
  | 'CSV_TIME_TOO_LARGE'
  | 'CSV_TIME_STANDS_STILL'
  | 'CSV_TIME_TOO_COARSE'
  | 'CSV_LEVEL_MALFORMED'
  | 'CSV_ROW_LENGTH'
  | 'CSV_ROW_TOO_LONG'
  | 'CSV_QUOTES_MALFORMED'
  // channels and signal
  | 'CHANNEL_NAME_TOO_LONG'
  | 'CHANNEL_NOT_FOUND'
  | 'CHANNEL_ROLE_UNKNOWN'
  | 'CHANNEL_ROLE_TWICE'
  | 'SYNC_NOT_FOUND'
  | 'HSYNC_TOO_FEW_EDGES'
  | 'TIMEBASE_UNKNOWN'
  | 'SEGMENT_NOT_FOUND'
  | 'FRAME_NOT_FOUND'
  | 'DOT_CLOCK_UNKNOWN'
  | 'FRAMES_NOT_MERGEABLE'
  | 'VIDEO_NOT_FOUND'
  | 'PICTURE_TOO_LARGE'
  | 'PALETTE_UNKNOWN'
  | 'PALETTE_MALFORMED'
  // adapter
  | 'ADAPTER_MALFORMED'
  // synthesis
  | 'SYNTHESIS_IMPOSSIBLE'
  | 'PICTURE_NOT_READABLE'

/** What an error carries besides code, message and place. */
interface ErrorMore {
  /** A thing to do, never a restatement. */
  hint?: string
  cause?: unknown
}

/** Base of every error the library throws on purpose. */
export class CaptureError extends Error {
  readonly code: ErrorCode
  readonly at: SourceAt
  readonly hint: string | undefined
  constructor(code: ErrorCode, message: string, at: SourceAt = {}, more: ErrorMore = {}) {
    super(message, 'cause' in more ? { cause: more.cause } : {})
    this.name = new.target.name
    this.code = code
    this.at = at
    this.hint = more.hint
  }
}

/** The file breaks its own format. */
export class MalformedCaptureError extends CaptureError {}

/** The file is valid; this part of the format is not read. */
export class UnsupportedCaptureError extends CaptureError {}

/** The file reads well; the signal in it cannot be measured. */
export class SignalError extends CaptureError {}
