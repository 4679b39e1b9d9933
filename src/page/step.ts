// A thing to do, with its command as something to copy.

import type { Step } from '../report/section.ts'
import { markup, type Piece } from './markup.ts'
import { withMicro } from './quantity.ts'

/** A sentence as it is; a step with its command on a row of its own. */
export function stepMarkup(item: string | Step): Piece {
  if (typeof item === 'string') return withMicro(item)
  return markup`${withMicro(item.text)}:<br><code>${item.command}</code>`
}
