// Where answers go: text or JSON on stdout, files by way of a temporary name beside them.

import { link, open, rename, rm, stat } from 'node:fs/promises'
import { basename, dirname, join, resolve } from 'node:path'
import { NO_INK, TERMINAL_INK, type Ink } from '../report/ink.ts'
import type { Io } from './io.ts'
import { UsageError } from './usage-error.ts'

/** Colour only on a terminal, and not where NO_COLOR is set (to anything). */
export function inkFor(io: Io): Ink {
  return io.stdout.isTTY && !io.env.NO_COLOR && io.env.TERM !== 'dumb' ? TERMINAL_INK : NO_INK
}

/** Writes all of it, however slow the reader is. */
export async function print(io: Io, text: string): Promise<void> {
  if (io.stdout.write(text)) return
  await new Promise<void>((resolve) => {
    io.stdout.once('drain', resolve)
    io.stdout.once('close', resolve)
    io.stdout.once('error', () => resolve())
  })
}

export function printJson(io: Io, report: unknown): Promise<void> {
  return print(io, `${JSON.stringify(report, null, 2)}\n`)
}

/**
 * Writes a file whole or not at all: into a temporary name in the same folder, then renamed.
 * @param input the capture's name: never overwritten
 * @throws {UsageError} where the name is taken and `force` is not given, or the system says no
 */
export async function writeWhole(
  file: string,
  bytes: Uint8Array,
  force: boolean,
  input: string | null,
): Promise<void> {
  await refuseInput(file, input)
  if (!force && (await exists(file))) throw taken(file)
  const temporary = join(dirname(file), `.${basename(file)}.${process.pid}.part`)
  try {
    const handle = await open(temporary, 'wx')
    try {
      await handle.writeFile(bytes)
    } finally {
      await handle.close()
    }
    if (force) await rename(temporary, file)
    else {
      // link fails where a name appeared meanwhile, rename would overwrite it
      await link(temporary, file)
      await rm(temporary)
    }
  } catch (cause) {
    await rm(temporary, { force: true }).catch(() => undefined)
    const { code, message } = cause as NodeJS.ErrnoException
    if (code === 'EEXIST') throw taken(file)
    throw new UsageError(`cannot write ${file}: ${REASONS[code ?? ''] ?? code ?? message}`)
  }
}

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: 'the folder does not exist',
  ENOTDIR: 'part of the path is not a folder',
  EISDIR: 'it is a folder',
  EACCES: 'permission denied',
  EPERM: 'permission denied',
  EROFS: 'the file system is read-only',
  ENOSPC: 'the disk is full',
}

function taken(file: string): UsageError {
  return new UsageError(`${file} exists already`, 'give another name, or --force to replace it')
}

async function exists(file: string): Promise<boolean> {
  return stat(file).then(
    () => true,
    () => false,
  )
}

async function refuseInput(file: string, input: string | null): Promise<void> {
  if (input === null || input === '-') return
  const [a, b] = await Promise.all([stat(file).catch(() => null), stat(input).catch(() => null)])
  const same = a && b ? a.dev === b.dev && a.ino === b.ino : resolve(file) === resolve(input)
  if (same) throw new UsageError('the output is the capture itself', 'give another name with -o')
}
