// The answer → stdout, whole, and the failure to do so as an error of its own.

import { escapedJson } from '../report/printable.ts'
import type { Io } from './io.ts'

/** A pipe that the reader closed: Node's codes for it on the platforms there are. */
const CLOSED_PIPE = new Set(['EPIPE', 'ERR_STREAM_DESTROYED', 'ERR_STREAM_WRITE_AFTER_END', 'EOF'])
const REASONS: Readonly<Record<string, string>> = {
  ENOSPC: 'the disk is full',
  EIO: 'input/output error',
  EBADF: 'standard output is closed',
}

/** Standard output does not take the answer. */
export class OutputError extends Error {
  readonly isClosedPipe: boolean
  constructor(cause: NodeJS.ErrnoException) {
    const code = cause.code ?? ''
    super(REASONS[code] ?? (code || cause.message), { cause })
    this.name = 'OutputError'
    this.isClosedPipe = CLOSED_PIPE.has(code)
  }
}

/**
 * Writes all of it, however slow the reader is.
 * @throws {OutputError}
 */
export async function print(io: Io, text: string): Promise<void> {
  await new Promise<void>((resolve, reject) => {
    io.stdout.write(text, (error) => (error ? reject(new OutputError(error)) : resolve()))
  })
}

/** @throws {OutputError} */
export function printJson(io: Io, report: unknown): Promise<void> {
  return print(io, `${escapedJson(report)}\n`)
}

/** Writes to stderr; where that fails there is nobody left to tell. */
export async function complain(io: Io, text: string): Promise<void> {
  if (text === '') return
  await new Promise<void>((resolve) => {
    io.stderr.write(text, () => resolve())
  })
}
