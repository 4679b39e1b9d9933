// What a page is made of. Whoever opens files and packs pictures hands it in; the page itself is text made of it.

import type { AdapterDescription } from '../adapter/adapter-description.ts'
import type { CaptureMeasurement } from '../measure.ts'
import type { RenderedFrame } from '../render-frame.ts'
import type { OutputAnswer } from '../report/output-report.ts'
import type { SamplingAnswer } from '../report/sampling-report.ts'

/** Something the capture gave, or the sentence that says why it did not. */
export type Found<T> = { value: T; missing: null } | { value: null; missing: string }

/** The frame and its PNG. */
export interface PagePicture {
  frame: RenderedFrame
  png: Uint8Array
}

/** A script as it stands in the page, with the digest by which the page's own policy lets it run. */
export interface InlineScript {
  source: string
  /** SHA-256 of `source` in UTF-8, base64. */
  sha256Base64: string
}

/** All that the page tells. */
export interface PageSubject {
  /** The capture's name as it was given, `-` for standard input. */
  file: string
  /** Measured with `keepSignal` and `clips`, else eyes and waveforms are missing. */
  measurement: CaptureMeasurement
  picture: Found<PagePicture>
  sampling: Found<SamplingAnswer>
  /** What plans were made for; it decides how other clocks do. */
  adapter: AdapterDescription
  output: Found<OutputAnswer>
  /** How the page can be made again. */
  made: {
    version: string
    /** The whole command line, for a shell. */
    command: string
    inputBytes: number
    /** SHA-256 of the input as it was read, packed or not, in hexadecimal digits. */
    inputSha256: string
  }
  /** The charting library, its style, and the page's own script. */
  code: { charts: InlineScript; chartStyle: string; page: InlineScript }
}
