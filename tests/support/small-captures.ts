// Captures that tests of the whole flow share: one line from a timing's key to the bytes of a file.

import type { DrawOptions } from './draw-signal.ts'
import { drawSignal } from './draw-signal.ts'
import type { PictureKind } from './pictures.ts'
import { drawPicture } from './pictures.ts'
import { sampleSignal } from './sample-signal.ts'
import type { TimingKey } from './timings.ts'
import { TIMINGS } from './timings.ts'
import type { CaptureForm } from './write-capture.ts'
import { writeCapture } from './write-capture.ts'

interface SmallCapture extends Partial<DrawOptions> {
  picture?: PictureKind
  sampleRateHz?: number
  form?: CaptureForm & { gzip?: boolean }
}

/** Some two frames at 24 MS/s as a VCD, unless told otherwise. */
export function smallCapture(key: TimingKey, options: SmallCapture = {}): Uint8Array {
  const { picture = 'text-full', sampleRateHz = 24e6, form = { kind: 'vcd' }, ...draw } = options
  const timing = TIMINGS[key]
  // begins in mid-frame: two vsyncs, one whole frame between them
  const signal = drawSignal(timing, drawPicture(picture, timing), { frames: 2.2, startFrames: 0.4, ...draw })
  return writeCapture(sampleSignal(signal, { sampleRateHz, phase: 0.3 }), form)
}
