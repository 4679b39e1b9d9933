// The outside world as the commands see it; `process` fits, and so do fakes in tests.

import type { Readable, Writable } from 'node:stream'

export interface Io {
  stdin: Readable
  stdout: Writable & { isTTY?: boolean; columns?: number }
  stderr: Writable & { isTTY?: boolean; columns?: number }
  env: Readonly<Record<string, string | undefined>>
}
