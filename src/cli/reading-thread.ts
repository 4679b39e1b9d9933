// Entry of the thread that reads: file → batches in the ring. What it has to say otherwise goes by message, in order.

import { parentPort, workerData } from 'node:worker_threads'
import { AnyReader } from '../capture/any-reader.ts'
import type { CaptureExtent, CaptureHeader, TimeUnit } from '../capture/capture-header.ts'
import { CaptureError, type ErrorCode, type SourceAt } from '../errors.ts'
import { NoticeList, type Notice } from '../notices.ts'
import { openCapture } from '../open-capture.ts'
import { BatchRing } from './batch-ring.ts'

/** What the thread is started with. */
export interface ReadingTask {
  file: string
  memory: SharedArrayBuffer
  timeUnit: TimeUnit | undefined
  sampleRateHz: number | undefined
}

/** What it says: first the header, last the end or a failure. Messages after batches come when those are in the ring. */
export type ReadingNews =
  | { kind: 'header'; header: CaptureHeader }
  | { kind: 'end'; extent: CaptureExtent; notices: Notice[]; cutShort: Notice[] }
  | { kind: 'failure'; failure: ReadingFailure }

/** An error as plain data: classes do not cross threads. */
export interface ReadingFailure {
  name: string
  message: string
  code: ErrorCode
  at: SourceAt
  hint: string | undefined
}

async function read(task: ReadingTask, tell: (news: ReadingNews) => void): Promise<void> {
  const ring = new BatchRing(task.memory)
  const notices = new NoticeList()
  const cutShort: Notice[] = []
  const reader = new AnyReader({
    notices,
    timeUnit: task.timeUnit,
    sampleRateHz: task.sampleRateHz,
    onHeader: (header) => tell({ kind: 'header', header }),
    nextBatch: () => ring.free(),
    sink: (batch) => ring.put(batch),
  })
  try {
    const chunks = openCapture(task.file, {
      isBlocking: true,
      onProgress: (bytes, total) => ring.setProgress(bytes, total),
      onCutShort: (notice) => cutShort.push(notice),
    })
    for await (const chunk of chunks) reader.write(chunk)
    const extent = reader.end()
    tell({ kind: 'end', extent, notices: notices.list(), cutShort })
  } catch (error) {
    // what is no CaptureError is a defect, and ends the thread with its own stack
    if (!(error instanceof CaptureError)) throw error
    const { name, message, code, at, hint } = error
    tell({ kind: 'failure', failure: { name, message, code, at, hint } })
  }
}

const port = parentPort
if (port) await read(workerData as ReadingTask, (news) => port.postMessage(news))
