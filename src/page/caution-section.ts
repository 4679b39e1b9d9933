// What to know before anything is connected: the cautions of all screens that the page takes the place of.

import { cautionsFor, type Caution } from '../adapter/cautions.ts'
import type { Markup } from './markup.ts'
import { section, sentences } from './section.ts'

export function cautionSection(): Markup {
  const all = new Map<string, Caution>()
  for (const place of ['output', 'capture'] as const)
    for (const caution of cautionsFor(place)) all.set(caution.id, caution)
  return section(
    'cautions',
    'Before you connect anything',
    sentences([...all.values()].map(({ text }) => text)),
  )
}
