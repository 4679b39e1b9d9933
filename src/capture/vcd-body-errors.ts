// What can be wrong with a value change or a time stamp, in words. `byte` is where the token began.

import { MalformedCaptureError, type CaptureError, type ErrorCode } from '../errors.ts'
import { excerptOf } from './vcd-excerpt.ts'
import { MAX_IDENTIFIER_BYTES } from './vcd-identifier.ts'
import { MAX_NUMBER_DIGITS } from './vcd-scan.ts'

const CUT_ABOVE = 'cut the file above this line, or export the capture again'
const JOINED = 'two captures may be joined here; cut the file above this line'

export function tokenUnexpected(byte: number, found: number): CaptureError {
  return malformed(
    'VCD_TOKEN_UNEXPECTED',
    `expected a time stamp, a value change or a keyword, found ${characterOf(found)}`,
    byte,
    'the file may be damaged here; cut it above this line',
  )
}

export function headerAmongChanges(byte: number, keyword: string): CaptureError {
  return malformed('VCD_TOKEN_UNEXPECTED', `${keyword} stands among the value changes`, byte, JOINED)
}

/** @param expected `binary digits, x or z in a vector` */
export function valueMalformed(byte: number, expected: string, found: number): CaptureError {
  return malformed('VCD_VALUE_MALFORMED', `expected ${expected}, found ${characterOf(found)}`, byte)
}

export function valueWithoutCode(byte: number): CaptureError {
  return malformed('VCD_VALUE_MALFORMED', 'a value without an identifier code on its line', byte)
}

export function vectorWithoutDigit(byte: number): CaptureError {
  return malformed('VCD_VALUE_MALFORMED', 'a vector change without a digit', byte)
}

export function tooManyDigits(byte: number): CaptureError {
  return malformed('VCD_VALUE_MALFORMED', `a value of more than ${MAX_NUMBER_DIGITS} digits`, byte)
}

export function codeMalformed(byte: number, found: number): CaptureError {
  return malformed('VCD_VALUE_MALFORMED', `identifier codes are made of ! to ~, found byte ${found}`, byte)
}

export function codeTooLong(byte: number): CaptureError {
  return malformed(
    'VCD_IDENTIFIER_TOO_LONG',
    `identifier code of more than ${MAX_IDENTIFIER_BYTES} characters`,
    byte,
  )
}

export function nothingDeclared(byte: number): CaptureError {
  return malformed(
    'VCD_IDENTIFIER_UNKNOWN',
    'no value change has an identifier code of the header',
    byte,
    'header and values may come from different files',
  )
}

export function timeMalformed(byte: number, found: number): CaptureError {
  return malformed('VCD_TIME_MALFORMED', `expected a decimal time after #, found ${characterOf(found)}`, byte)
}

export function timeTooLong(byte: number): CaptureError {
  return malformed('VCD_TIME_TOO_LARGE', `a time stamp of more than ${MAX_NUMBER_DIGITS} digits`, byte)
}

export function timeTooLarge(byte: number): CaptureError {
  return malformed(
    'VCD_TIME_TOO_LARGE',
    'a time stamp beyond 2^53 - 1 ticks cannot be kept exactly',
    byte,
    'export with a coarser time scale, or cut the beginning off the time stamps',
  )
}

export function timeBackward(byte: number, from: number, to: number): CaptureError {
  return malformed('VCD_TIME_BACKWARD', `time runs backward, from #${from} to #${to}`, byte, JOINED)
}

function malformed(code: ErrorCode, message: string, byte: number, hint: string = CUT_ABOVE): CaptureError {
  return new MalformedCaptureError(code, message, { byte }, { hint })
}

function characterOf(byte: number): string {
  return byte <= 0x20 ? 'white space' : excerptOf(String.fromCharCode(byte))
}
