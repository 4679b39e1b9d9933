// File name and options → measurement, with a progress line for long input on a terminal.

import { availableParallelism } from 'node:os'
import { CaptureError } from '../errors.ts'
import type { CaptureMeasurement, MeasureOptions } from '../measure.ts'
import type { Notice } from '../notices.ts'
import { openCapture, sizeOf, type OpenOptions } from '../open-capture.ts'
import { PassedText, placeInFile } from './find-place.ts'
import type { Io } from './io.ts'
import type { CaptureOptions } from './options.ts'
import { PlacedError } from './placed-error.ts'

/** Reading for longer than this is worth a word. */
const PATIENCE_MS = 700
const BETWEEN_MS = 200
/** Files from this size on are read by a thread of their own. */
const THREAD_BYTES = 16e6

/**
 * Reads and measures one capture.
 * @param onBytes given the bytes of the file as they are, packed or not
 * @param afterChunk awaited before more is read: whoever writes what comes out may hold the reading up
 * @throws {PlacedError} a CaptureError with the file's name, and its place as a text line where that can be told
 */
export async function readCapture(
  file: string,
  options: CaptureOptions,
  io: Io,
  more: Pick<MeasureOptions, 'frames' | 'keepSignal' | 'onPulse' | 'clips'> = {},
  onBytes?: OpenOptions['onBytes'],
  afterChunk?: () => Promise<void>,
): Promise<CaptureMeasurement> {
  const progress = new Progress(io)
  const size = await sizeOf(file)
  const passed = size >= 0 ? undefined : new PassedText()
  const cutShort: Notice[] = []
  try {
    const measureOptions: MeasureOptions = {
      map: options.map,
      connector: options.connector,
      sampleRateHz: options.rate,
      timeUnit: options.timeUnit,
      quick: options.quick,
      ...more,
    }
    if (!onBytes && !afterChunk && !options.quick && isWorthAThread(size)) {
      const { measureInThread } = await import('./read-in-thread.ts')
      // loaded while the thread starts
      const measurer = import('../measure.ts').then(
        (measure) => new measure.TransitionMeasurer(measureOptions),
      )
      return await measureInThread(file, measurer, {
        sampleRateHz: options.rate,
        timeUnit: options.timeUnit,
        onProgress: (bytes, total) => progress.show(bytes, total),
      })
    }
    const { CaptureMeasurer } = await import('../measure.ts')
    const measurer = new CaptureMeasurer(measureOptions)
    const chunks = openCapture(file, {
      // looking at it opens it
      stdin: file === '-' ? io.stdin : undefined,
      onProgress: (bytes, total) => progress.show(bytes, total),
      onBytes,
      onCutShort: (notice) => cutShort.push(notice),
    })
    for await (const chunk of chunks) {
      passed?.write(chunk)
      measurer.write(chunk)
      if (afterChunk) await afterChunk()
      if (measurer.hasEnough) break
    }
    const measurement = measurer.end()
    return { ...measurement, notices: [...measurement.notices, ...cutShort] }
  } catch (error) {
    if (!(error instanceof CaptureError)) throw error
    error.at.file ??= file
    const { byte } = error.at
    if (byte === undefined) throw new PlacedError(error, undefined)
    throw new PlacedError(error, passed ? passed.find(byte) : await placeInFile(file, byte))
  } finally {
    progress.clear()
  }
}

/** A short capture is read before a thread has started; and two threads on one processor core only wait for each other. */
function isWorthAThread(bytes: number): boolean {
  return bytes >= THREAD_BYTES && availableParallelism() > 1
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
