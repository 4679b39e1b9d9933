// Reading and measuring on two processor cores: a thread reads, this one measures. Of a long capture both take about as long.

import { setImmediate, setTimeout } from 'node:timers/promises'
import { Worker } from 'node:worker_threads'
import type { CaptureHeader } from '../capture/capture-header.ts'
import { CaptureError, MalformedCaptureError, SignalError, UnsupportedCaptureError } from '../errors.ts'
import type { CaptureMeasurement, TransitionMeasurer } from '../measure.ts'
import { BatchRing, newRingMemory } from './batch-ring.ts'
import type { ReadingFailure, ReadingNews, ReadingTask } from './reading-thread.ts'

/** Batches that are measured before anything else gets its turn: a signal, a message, the progress line. */
const BATCHES_AT_ONCE = 128
/**
 * An empty ring is looked at again so much later: some twenty batches. That costs the thread that reads nothing, while a
 * call for each batch would be a system call, and a tenth of its time.
 */
const LOOK_MS = 2

/** How a capture is read by the thread; the rest is the measurer's. */
export type ThreadOptions = Pick<ReadingTask, 'timeUnit' | 'sampleRateHz'> & {
  onProgress?: (bytesRead: number, bytesTotal: number | null) => void
}

/**
 * Reads the file in a thread of its own, begun at once, and measures what comes out.
 *
 * @throws {CaptureError} as `openCapture` and `CaptureMeasurer` do
 */
export async function measureInThread(
  file: string,
  measuring: TransitionMeasurer | Promise<TransitionMeasurer>,
  options: ThreadOptions,
): Promise<CaptureMeasurement> {
  const memory = newRingMemory()
  const ring = new BatchRing(memory)
  const { timeUnit, sampleRateHz, onProgress } = options
  const workerData: ReadingTask = { file, memory, timeUnit, sampleRateHz }
  const worker = new Worker(new URL('./reading-thread.js', import.meta.url), { workerData })
  const news = new News(worker)
  try {
    const measurer = await measuring
    measurer.open(await news.header)
    for (;;) {
      // an end or failure that is known before the ring is emptied comes after what is in it
      const { end, failure } = news
      let batches = 0
      while (batches < BATCHES_AT_ONCE && ring.take((batch) => measurer.take(batch))) batches++
      onProgress?.(ring.bytesRead, ring.bytesTotal)
      if (batches === BATCHES_AT_ONCE) {
        await setImmediate()
      } else if (failure) {
        throw failure
      } else if (end) {
        const measurement = measurer.end(end.extent, end.notices)
        return { ...measurement, notices: [...measurement.notices, ...end.cutShort] }
      } else {
        await setTimeout(LOOK_MS)
      }
    }
  } finally {
    await worker.terminate()
  }
}

/** What the thread has said. */
class News {
  /** Rejects where reading fails before it. */
  readonly header: Promise<CaptureHeader>
  end: Extract<ReadingNews, { kind: 'end' }> | undefined
  failure: Error | undefined

  constructor(worker: Worker) {
    this.header = new Promise<CaptureHeader>((resolve, reject) => {
      const fail = (error: Error): void => {
        this.failure ??= error
        reject(error)
      }
      worker.on('message', (news: ReadingNews) => {
        if (news.kind === 'header') resolve(news.header)
        else if (news.kind === 'end') this.end = news
        else fail(errorOf(news.failure))
      })
      worker.on('error', fail)
      worker.on('exit', () => {
        if (!this.end) fail(new Error('the reading thread ended without an answer'))
      })
    })
    // what fails before anybody waits for it is told when somebody does
    this.header.catch(() => undefined)
  }
}

const CLASSES = { MalformedCaptureError, UnsupportedCaptureError, SignalError }

function errorOf({ name, message, code, at, hint }: ReadingFailure): CaptureError {
  const Known = Object.hasOwn(CLASSES, name) ? CLASSES[name as keyof typeof CLASSES] : CaptureError
  return new Known(code, message, at, hint === undefined ? {} : { hint })
}
