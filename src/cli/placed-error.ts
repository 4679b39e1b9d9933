// A capture's error together with the place a person finds it at. The library knows bytes only.

import type { TextPosition } from '../capture/text-position.ts'
import type { CaptureError } from '../errors.ts'

/** What went wrong and where; `position` is undefined where the text is gone, as in the middle of a long pipe. */
export class PlacedError extends Error {
  readonly captureError: CaptureError
  readonly position: TextPosition | undefined
  constructor(captureError: CaptureError, position: TextPosition | undefined) {
    super(captureError.message, { cause: captureError })
    this.name = 'PlacedError'
    this.captureError = captureError
    this.position = position
  }
}
