// Files that a command writes: whole or not at all, by way of a temporary name beside them.

import { randomBytes } from 'node:crypto'
import { fstatSync, type Stats } from 'node:fs'
import { link, open, realpath, rename, stat, writeFile } from 'node:fs/promises'
import { basename, dirname, join, resolve } from 'node:path'
import type { Io } from './io.ts'
import { withUnfinished } from './unfinished-files.ts'
import { UsageError } from './usage-error.ts'

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: 'the folder does not exist',
  ENOTDIR: 'part of the path is not a folder',
  EISDIR: 'it is a folder',
  EACCES: 'permission denied',
  EPERM: 'permission denied',
  EROFS: 'the file system is read-only',
  ENOSPC: 'the disk is full',
  EFBIG: 'it would be larger than a file may be',
  EDQUOT: 'the disk quota is used up',
  ENAMETOOLONG: 'the name is too long',
}
/** What a file system without hard links answers. */
const NO_LINKS = new Set(['EPERM', 'ENOTSUP', 'EOPNOTSUPP', 'ENOSYS', 'EMLINK'])

/** A file's bytes at once, or in chunks as they are made. */
export type FileBytes = Uint8Array | Iterable<Uint8Array> | AsyncIterable<Uint8Array>

/**
 * Says no before a long capture is read rather than after it.
 * @param input name of what is read, `-` for standard input: never overwritten, under whatever name; null without one
 * @param inputIs what it is, for the message
 * @throws {UsageError} where `file` is the capture, a folder, or taken while `force` is not given
 */
export async function checkOutputFile(
  file: string,
  force: boolean,
  input: string | null,
  io: Io,
  inputIs = 'capture',
): Promise<void> {
  const there = await stat(file).catch(() => null)
  if (input !== null && (await isSameFile(file, there, input, io))) {
    throw new UsageError(`the output is the ${inputIs} itself`, 'give another name with -o')
  }
  if (there?.isDirectory()) throw new UsageError(`cannot write ${file}: it is a folder`)
  if (there && !force) throw taken(file)
  const folder = await stat(dirname(file)).catch((cause: NodeJS.ErrnoException) => {
    throw cannotWrite(file, cause)
  })
  if (!folder.isDirectory()) throw new UsageError(`cannot write ${file}: ${REASONS.ENOTDIR}`)
}

async function isSameFile(file: string, there: Stats | null, input: string, io: Io): Promise<boolean> {
  const source = input === '-' ? inputStats(io) : await stat(input).catch(() => null)
  if (there && source) return there.dev === source.dev && there.ino === source.ino
  return input !== '-' && resolve(file) === resolve(input)
}

/** A capture redirected to standard input is a file too. */
function inputStats(io: Io): Stats | null {
  const fd = (io.stdin as { fd?: unknown }).fd
  try {
    return typeof fd === 'number' ? fstatSync(fd) : null
  } catch {
    return null
  }
}

/**
 * Writes a file: into a temporary name in the same folder, then renamed.
 * @throws {UsageError} where the name is taken and `force` is not given, or the system says no
 */
export async function writeWhole(file: string, bytes: FileBytes, force: boolean): Promise<void> {
  try {
    const there = force ? await stat(file).catch(() => null) : null
    // a device or a pipe has nothing to keep, and must not be replaced by a file
    if (there && !there.isFile() && !there.isDirectory()) return await writeFile(file, bytes)
    // the file that a symbolic link names is what the user means
    await writeByTemporary(there ? await realpath(file) : file, bytes, force)
  } catch (cause) {
    // what has no code of the system came out of whoever makes the bytes
    if (cause instanceof UsageError || !(cause instanceof Error && 'code' in cause)) throw cause
    throw cannotWrite(file, cause as NodeJS.ErrnoException)
  }
}

async function writeByTemporary(file: string, bytes: FileBytes, force: boolean): Promise<void> {
  const temporary = join(
    dirname(file),
    `.${basename(file).slice(0, 100)}.${randomBytes(6).toString('hex')}.part`,
  )
  await withUnfinished(temporary, async () => {
    await writeFile(temporary, bytes, { flag: 'wx' })
    if (force) await rename(temporary, file)
    else await renameToFree(temporary, file)
  })
}

/** Renames unless the name has appeared meanwhile, which `rename` alone would overwrite. */
async function renameToFree(temporary: string, file: string): Promise<void> {
  try {
    await link(temporary, file)
  } catch (cause) {
    if (!NO_LINKS.has((cause as NodeJS.ErrnoException).code ?? '')) throw cause
    // claims the name first, so that only a file of our own is overwritten
    await (await open(file, 'wx')).close()
    await rename(temporary, file)
  }
}

function cannotWrite(file: string, { code, message }: NodeJS.ErrnoException): UsageError {
  if (code === 'EEXIST') return taken(file)
  return new UsageError(`cannot write ${file}: ${REASONS[code ?? ''] ?? code ?? message}`)
}

function taken(file: string): UsageError {
  return new UsageError(`${file} exists already`, 'give another name, or --force to replace it')
}
