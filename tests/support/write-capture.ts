// One door to every file form a test wants: samples in, bytes of a VCD or CSV out, packed or not.

import { gzipSync } from 'node:zlib'

import type { SampledSignal } from './sample-signal.ts'
import type { CsvOptions } from './write-csv.ts'
import { writeCsv } from './write-csv.ts'
import type { VcdOptions } from './write-vcd.ts'
import { writeVcd } from './write-vcd.ts'

export type CaptureForm = ({ kind: 'vcd' } & VcdOptions) | ({ kind: 'csv' } & CsvOptions)

/** Bytes of a capture file; `gzip` packs them. */
export function writeCapture(samples: SampledSignal, form: CaptureForm & { gzip?: boolean }): Uint8Array {
  const bytes = form.kind === 'vcd' ? writeVcd(samples, form) : writeCsv(samples, form)
  return form.gzip === true ? gzipBytes(bytes) : bytes
}

/** gzip (RFC 1952) at a fast level. */
function gzipBytes(bytes: Uint8Array): Uint8Array {
  return Uint8Array.from(gzipSync(bytes, { level: 1 }))
}
