// Files under a temporary name → gone, also where a signal ends the process in the middle of writing.

import { rmSync } from 'node:fs'
import { rm } from 'node:fs/promises'

/** What a terminal, a supervisor and a closed window send. */
const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const

const unfinished = new Set<string>()

function onSignal(signal: NodeJS.Signals): void {
  for (const file of unfinished) rmSync(file, { force: true })
  // without our ear the signal does what it always does: whoever waits sees that it was one
  stopListening()
  process.kill(process.pid, signal)
}

function stopListening(): void {
  for (const signal of SIGNALS) process.off(signal, onSignal)
}

/**
 * Runs `work`, which writes a file of this name and may give it another one; the name is gone afterwards.
 * @param temporary path of the file
 */
export async function withUnfinished(temporary: string, work: () => Promise<void>): Promise<void> {
  if (unfinished.size === 0) for (const signal of SIGNALS) process.on(signal, onSignal)
  unfinished.add(temporary)
  try {
    await work()
  } finally {
    await rm(temporary, { force: true }).catch(() => undefined)
    unfinished.delete(temporary)
    if (unfinished.size === 0) stopListening()
  }
}
