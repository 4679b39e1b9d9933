// File name and options → measurement, with a progress line for long input on a terminal.

import { CaptureError } from '../errors.ts'
import { CaptureMeasurer, type CaptureMeasurement, type MeasureOptions } from '../measure.ts'
import { openCapture } from '../open-capture.ts'
import type { Io } from './io.ts'
import type { CaptureOptions } from './options.ts'

/** Reading for longer than this is worth a word. */
const PATIENCE_MS = 700
const BETWEEN_MS = 200

/** @throws {CaptureError} with the file's name in its place */
export async function readCapture(
  file: string,
  options: CaptureOptions,
  io: Io,
  frames?: MeasureOptions['frames'],
): Promise<CaptureMeasurement> {
  const progress = new Progress(io)
  try {
    const measurer = new CaptureMeasurer({
      map: options.map,
      connector: options.connector,
      sampleRateHz: options.rate,
      timeUnit: options.timeUnit,
      frames,
    })
    const chunks = openCapture(file, io.stdin, (bytes, total) => progress.show(bytes, total))
    for await (const chunk of chunks) measurer.write(chunk)
    return measurer.end()
  } catch (error) {
    if (error instanceof CaptureError) error.at.file ??= file
    throw error
  } finally {
    progress.clear()
  }
}

class Progress {
  readonly #io: Io
  readonly #began = Date.now()
  #last = 0
  #shown = false

  constructor(io: Io) {
    this.#io = io
  }

  show(bytes: number, total: number | null): void {
    if (!this.#io.stderr.isTTY) return
    const now = Date.now()
    if (now - this.#began < PATIENCE_MS || now - this.#last < BETWEEN_MS) return
    this.#last = now
    this.#shown = true
    const megabytes = (bytes / 1e6).toFixed(0)
    const share = total ? `, ${((100 * bytes) / total).toFixed(0)} %` : ''
    this.#io.stderr.write(`\rread ${megabytes} MB${share}   `)
  }

  clear(): void {
    if (this.#shown) this.#io.stderr.write('\r\u001b[K')
  }
}
