// `main` in process with streams that remember, and captures in a folder of their own.

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Readable, Writable } from 'node:stream'
import { main } from '../../src/cli/main.ts'

export interface Ran {
  status: number
  stdout: string
  stderr: string
}

interface RunOptions {
  stdin?: Iterable<Uint8Array> | AsyncIterable<Uint8Array>
  isTTY?: boolean
  env?: Record<string, string>
}

class Memory extends Writable {
  readonly #chunks: Buffer[] = []
  readonly isTTY: boolean
  constructor(isTTY: boolean) {
    super()
    this.isTTY = isTTY
  }

  override _write(chunk: Buffer, _encoding: string, done: () => void): void {
    this.#chunks.push(chunk)
    done()
  }

  text(): string {
    return Buffer.concat(this.#chunks).toString()
  }
}

/** Runs a command line as the shell would, without a process of its own. */
export async function run(argv: readonly string[], options: RunOptions = {}): Promise<Ran> {
  const { stdin = [], isTTY = false, env = {} } = options
  const stdout = new Memory(isTTY)
  const stderr = new Memory(isTTY)
  const input = Readable.from(stdin, { objectMode: false })
  const status = await main(argv, { stdin: input, stdout, stderr, env })
  return { status, stdout: stdout.text(), stderr: stderr.text() }
}

/** A folder that is gone when the tests of a file are through; pass its `remove` to afterAll. */
export class TemporaryFolder {
  readonly path: string = mkdtempSync(join(tmpdir(), 'rastertap-'))

  /** Writes a file and returns its path. */
  file(name: string, contents: Uint8Array | string): string {
    const path = join(this.path, name)
    writeFileSync(path, contents)
    return path
  }

  join(name: string): string {
    return join(this.path, name)
  }

  readonly remove = (): void => rmSync(this.path, { recursive: true, force: true })
}
