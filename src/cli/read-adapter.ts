// --adapter FILE.json → what the adapter is built of.

import { readFile, stat } from 'node:fs/promises'
import { parseAdapter, type AdapterDescription } from '../adapter/adapter-description.ts'
import { UsageError } from './usage-error.ts'

/** A description is a page of text; more is some other file. */
const MOST_BYTES = 1024 * 1024

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: 'no such file',
  EACCES: 'permission denied',
  EISDIR: 'it is a folder',
  ENOTDIR: 'part of the path is not a folder',
}

/**
 * @returns an empty description where no file is given
 * @throws {UsageError} where the file cannot be read
 * @throws {MalformedCaptureError} ADAPTER_MALFORMED, with the file's name
 */
export async function readAdapter(file: string | undefined): Promise<AdapterDescription> {
  if (file === undefined) return {}
  return parseAdapter(await textOf(file), file)
}

async function textOf(file: string): Promise<string> {
  try {
    const { size } = await stat(file)
    if (size > MOST_BYTES)
      throw new UsageError(`cannot read ${file}: ${size} bytes are too many for a description of an adapter`)
    return await readFile(file, 'utf8')
  } catch (cause) {
    if (cause instanceof UsageError) throw cause
    const { code, message } = cause as NodeJS.ErrnoException
    throw new UsageError(`cannot read ${file}: ${REASONS[code ?? ''] ?? code ?? message}`)
  }
}
