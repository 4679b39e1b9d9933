// What a check of one input found: a promise that the reader or the command did not keep.

/** The input did what no input may do. */
export class Finding extends Error {
  constructor(message: string, cause?: unknown) {
    super(message, cause === undefined ? {} : { cause })
    this.name = new.target.name
  }
}

/** @throws {Finding} unless it holds */
export function must(holds: boolean, otherwise: () => string): asserts holds {
  if (!holds) throw new Finding(otherwise())
}

/** A reader may take this long whatever it reads, and this much for each byte: a thousand times what it does take. */
const GRACE_MS = 150
const MS_PER_BYTE = 0.02

/** Time that this process has worked, in milliseconds: whatever else the machine does meanwhile does not count. */
export function workedMs(): number {
  const { user, system } = process.cpuUsage()
  return (user + system) / 1000
}

/** What one run of a reader or a command may take, in milliseconds. */
export function timeAllowed(bytes: number, graceMs: number = GRACE_MS): number {
  return graceMs + bytes * MS_PER_BYTE
}
