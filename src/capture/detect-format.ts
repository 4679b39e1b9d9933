// First bytes → which reader. What gave it away is a byte pattern or a keyword, never the file's name.

import { MalformedCaptureError, UnsupportedCaptureError } from '../errors.ts'

export type CaptureFormat = 'vcd' | 'csv' | 'gzip'

/** First bytes that are enough to tell the format. */
export const FORMAT_BYTES = 4096

// IEEE 1364-2005, 18.2.3: declaration and simulation keywords; some writers put a line of their own before the first.
const VCD_KEYWORD =
  /(?:^|\s)\$(?:attrbegin|attrend|comment|date|dumpall|dumpoff|dumpon|dumpvars|enddefinitions|scope|timescale|upscope|var|version)(?:\s|$)/

const END_OF_FILE = 0x1a
/** Control characters that are no white space. Hardly any text has one, and a pattern is soon through it. */
const CONTROL = /[^\P{Cc}\t-\r]/u

/** Files that are taken for captures now and then, by how they begin. */
const OTHER_KINDS: readonly (readonly [RegExp, string, string])[] = [
  [
    /^\s*<(?:!doctype|html|\?xml|svg|[a-z]+[\s>])/i,
    'HTML or XML',
    'save the capture itself rather than the page about it',
  ],
  [/^\s*(?:\{\s*["}]|\[\s*[[{"\]])/, 'JSON', 'export the capture as VCD or CSV'],
  [/^%PDF-/, 'PDF', 'export the capture as VCD or CSV'],
  [/^\{\\rtf/, 'a word processor file', 'save it as plain text'],
]

/**
 * Tells the format of a capture.
 *
 * @param head first bytes, {@link FORMAT_BYTES} or all there are; more are not looked at
 * @throws {MalformedCaptureError} CAPTURE_EMPTY
 * @throws {UnsupportedCaptureError} CAPTURE_FORMAT_UNKNOWN
 */
export function detectFormat(head: Uint8Array): CaptureFormat {
  // RFC 1952, 2.3.1: ID1 = 31, ID2 = 139
  if (head[0] === 0x1f && head[1] === 0x8b) return 'gzip'
  const start = head.subarray(0, FORMAT_BYTES)
  const text = latin1(start).replace(/^\u00ef\u00bb\u00bf/, '')
  if (text.trim() === '') {
    throw new MalformedCaptureError(
      'CAPTURE_EMPTY',
      'the capture holds no text',
      { byte: 0 },
      { hint: 'export it again' },
    )
  }
  if (VCD_KEYWORD.test(text)) return 'vcd'
  refuseNonText(start)
  return 'csv'
}

/**
 * Refuses bytes that cannot be a table: other kinds of files, 16-bit text, binary.
 *
 * @throws {UnsupportedCaptureError} CAPTURE_FORMAT_UNKNOWN
 */
export function refuseNonText(head: Uint8Array): void {
  const start = latin1(head.subarray(0, FORMAT_BYTES))
  const bare = start.replace(/^\u00ef\u00bb\u00bf/, '')
  if (/^(?:\u00ff\u00fe|\u00fe\u00ff)/.test(start))
    throw unknown('16-bit text (UTF-16)', 'save it as UTF-8', 0)
  // APPNOTE 4.3.7: local file header signature
  if (start.startsWith('PK\u0003\u0004'))
    throw unknown('a ZIP archive', 'unpack it and give the file inside', 0)
  for (const [pattern, kind, hint] of OTHER_KINDS) if (pattern.test(bare)) throw unknown(kind, hint, 0)
  const control = CONTROL.test(new TextDecoder().decode(head)) ? head.findIndex(isControl) : -1
  if (control >= 0) {
    throw unknown(
      `a byte 0x${head[control]!.toString(16).padStart(2, '0')}, which no text has`,
      'export the capture as VCD or CSV',
      control,
    )
  }
}

/** Whether no text has it: text of 8 bits has others, and some ends with a mark. */
function isControl(byte: number): boolean {
  return byte < 0x20 ? (byte < 0x09 || byte > 0x0d) && byte !== END_OF_FILE : byte === 0x7f
}

function unknown(found: string, hint: string, byte: number): UnsupportedCaptureError {
  return new UnsupportedCaptureError(
    'CAPTURE_FORMAT_UNKNOWN',
    `expected a VCD or CSV capture (or one packed with gzip), found ${found}`,
    { byte },
    { hint },
  )
}

/** @param bytes at most {@link FORMAT_BYTES}: they become arguments */
function latin1(bytes: Uint8Array): string {
  return Reflect.apply(String.fromCharCode, null, bytes)
}
