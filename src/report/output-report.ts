// Output choices, or a check of an adapter's output → the object that `output --json` prints. The text is in
// output-text.ts, the schema in output-schema.ts.

import { cautionsFor, type Caution } from '../adapter/cautions.ts'
import type { MeasuredInput } from '../adapter/input-mode.ts'
import { whyNotDirect } from '../adapter/monitor-kinds.ts'
import type { OutputCheck } from '../adapter/output-check.ts'
import type { InputMode, OutputChoice } from '../adapter/output-modes.ts'

/** What `output` was asked and found. */
export interface OutputAnswer {
  /** The capture's name; null where a mode was named. */
  file: string | null
  measured: MeasuredInput
  ramBytes: number | null
  bitsPerDot: number
  choices: readonly OutputChoice[]
}

/** What `output --check` found. */
export interface OutputCheckAnswer {
  file: string
  check: OutputCheck
}

/** `rastertap.output/1`. Hertz, seconds, dots, scanlines, bytes, as the names say. */
export interface OutputReport {
  format: 'rastertap.output/1'
  file: string | null
  /** What the card sends; null for a check. */
  input: (InputMode & { standard: string | null; name: string; assumed: string[] }) | null
  ramBytes: number | null
  bitsPerDot: number | null
  /** Why the input cannot go straight to a VGA monitor. */
  whyNotDirect: string[]
  choices: OutputChoice[]
  check: OutputCheck | null
  cautions: Caution[]
}

export function outputReport({ file, measured, ramBytes, bitsPerDot, choices }: OutputAnswer): OutputReport {
  const { input, ...named } = measured
  return {
    format: 'rastertap.output/1',
    file,
    input: { ...input, ...named },
    ramBytes,
    bitsPerDot,
    whyNotDirect: whyNotDirect(input.hsyncHz, input.vsyncHz),
    choices: [...choices],
    check: null,
    cautions: [...cautionsFor('output')],
  }
}

export function outputCheckReport({ file, check }: OutputCheckAnswer): OutputReport {
  return {
    format: 'rastertap.output/1',
    file,
    input: null,
    ramBytes: null,
    bitsPerDot: null,
    whyNotDirect: [],
    choices: [],
    check,
    cautions: [...cautionsFor('output')],
  }
}
