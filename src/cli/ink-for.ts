// Whether the answer may be coloured.

import { NO_INK, TERMINAL_INK, type Ink } from '../report/ink.ts'
import type { Io } from './io.ts'

/** Colour only on a terminal, and not where NO_COLOR is set to anything but nothing (no-color.org). */
export function inkFor(io: Io): Ink {
  return io.stdout.isTTY && !io.env.NO_COLOR && io.env.TERM !== 'dumb' ? TERMINAL_INK : NO_INK
}
