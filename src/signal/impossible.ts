// The error of this folder: what was asked for cannot be put into a capture.

import { CaptureError } from '../errors.ts'

/** @returns an error with the code SYNTHESIS_IMPOSSIBLE */
export function impossible(message: string, hint: string): CaptureError {
  return new CaptureError('SYNTHESIS_IMPOSSIBLE', message, {}, { hint })
}
