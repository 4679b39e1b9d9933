// The tree is the data flow: an import may point upstream only. Read from the import lines, so that types count too.

import { existsSync, readFileSync, readdirSync } from 'node:fs'
import { dirname, join, normalize, sep } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it, test } from 'vitest'

const SOURCE = fileURLToPath(new URL('../src', import.meta.url))

const FLOW = ['capture', 'transitions', 'sync', 'dots', 'classify', 'picture', 'report']
const BESIDE = ['adapter', 'signal', 'page']
const FREE = ['errors.ts', 'notices.ts', 'measurement.ts', 'timebase.ts']
const WITH_NODE = /^(cli\/|picture\/png\.ts$|open-capture\.ts$)/

/** `src/`-relative path → its top folder, or the file's own name in the root. */
const top = (path: string): string => path.split('/')[0]!

/** Why `from` must not import `specifier`, both as written; undefined where it may. */
function violation(from: string, specifier: string): string | undefined {
  if (specifier.startsWith('node:')) return WITH_NODE.test(from) ? undefined : 'only doors use Node modules'
  if (!specifier.startsWith('.')) return undefined
  const to = normalize(join(dirname(from), specifier))
    .split(sep)
    .join('/')
  if (to.startsWith('..')) return 'leaves src'
  const [source, target] = [top(from), top(to)]
  for (const place of [source, target]) {
    if (!place.endsWith('.ts') && ![...FLOW, ...BESIDE, 'cli'].includes(place))
      return `${place}/ has no place in the flow`
  }
  if (source === 'cli' || source === target) return undefined
  if (target === 'cli') return 'nothing imports cli'
  if (FREE.includes(target)) return undefined
  if (FREE.includes(source)) return 'what is free to all imports no stage'
  // root files tie the stages together; the folders beside the flow take from it what they need
  if (source.endsWith('.ts') || BESIDE.includes(source)) return undefined
  // the last stage tells of all that was measured or worked out
  if (source === 'report') return undefined
  if (target.endsWith('.ts')) return 'a stage does not import what runs the stages'
  if (BESIDE.includes(target)) return 'the flow does not import what stands beside it'
  return FLOW.indexOf(target) < FLOW.indexOf(source) ? undefined : 'points downstream'
}

/** What a file imports, re-exports or loads at run time. */
function importsOf(text: string): string[] {
  const specifiers = text.matchAll(
    /^\s*(?:import|export)\b(?:[^'"]*?\bfrom)?\s*['"]([^'"]+)['"]|\bimport\(\s*['"]([^'"]+)['"]/gm,
  )
  return [...specifiers].map((match) => (match[1] ?? match[2])!)
}

const files = readdirSync(SOURCE, { recursive: true, encoding: 'utf8' })
  .map((path) => path.split(sep).join('/'))
  .filter((path) => path.endsWith('.ts'))

describe('src', () => {
  test('has files to check, and some of them import', () => {
    expect(files.length).toBeGreaterThan(0)
    expect(
      files.flatMap((file) => importsOf(readFileSync(join(SOURCE, file), 'utf8'))).length,
    ).toBeGreaterThan(0)
  })

  test.each(files)('%s imports upstream only, and files that exist', (file) => {
    const specifiers = importsOf(readFileSync(join(SOURCE, file), 'utf8'))
    const wrong = specifiers.flatMap((specifier) => {
      const why =
        violation(file, specifier) ??
        (specifier.startsWith('.') && !existsSync(join(SOURCE, dirname(file), specifier))
          ? 'no such file'
          : undefined)
      return why === undefined ? [] : [`${specifier}: ${why}`]
    })
    expect(wrong).toEqual([])
  })
})

describe('the rule', () => {
  it.each([
    ['sync/hsync.ts', '../dots/dot-clock.ts', 'points downstream'],
    ['capture/vcd-body.ts', '../transitions/pulses.ts', 'points downstream'],
    ['picture/raster.ts', '../report/text.ts', 'points downstream'],
    ['report/text.ts', '../cli/options.ts', 'nothing imports cli'],
    ['measure.ts', './cli/options.ts', 'nothing imports cli'],
    ['adapter/preview.ts', '../cli/options.ts', 'nothing imports cli'],
    ['dots/dot-clock.ts', '../signal/card.ts', 'the flow does not import what stands beside it'],
    ['dots/dot-clock.ts', '../page/html.ts', 'the flow does not import what stands beside it'],
    ['sync/hsync.ts', '../measure.ts', 'a stage does not import what runs the stages'],
    ['errors.ts', './capture/role.ts', 'what is free to all imports no stage'],
    ['capture/vcd-body.ts', '../utils/bytes.ts', 'utils/ has no place in the flow'],
    ['capture/vcd-body.ts', '../../tests/support/random.ts', 'leaves src'],
    ['capture/gzip.ts', 'node:zlib', 'only doors use Node modules'],
    ['picture/raster.ts', 'node:fs', 'only doors use Node modules'],
    ['measure.ts', 'node:fs', 'only doors use Node modules'],
  ])('refuses %s importing %s', (from, specifier, why) => {
    expect(violation(from, specifier)).toBe(why)
  })

  it.each([
    ['dots/dot-clock.ts', '../sync/scanlines.ts'],
    ['dots/dot-clock.ts', './sample-dots.ts'],
    ['capture/vcd-body.ts', '../errors.ts'],
    ['measure.ts', './report/schema.ts'],
    ['report/text.ts', '../measure.ts'],
    ['report/text.ts', '../adapter/preview.ts'],
    ['adapter/preview.ts', '../picture/raster.ts'],
    ['page/html.ts', '../adapter/preview.ts'],
    ['cli/commands/identify.ts', '../../measure.ts'],
    ['cli/main.ts', 'node:fs'],
    ['picture/png.ts', 'node:zlib'],
    ['open-capture.ts', 'node:fs'],
    ['picture/png.ts', 'pngjs'],
  ])('allows %s importing %s', (from, specifier) => {
    expect(violation(from, specifier)).toBeUndefined()
  })

  it('sees imports of every form', () => {
    const text = `// import x from './comment.ts'
import './a.ts'
import type { B } from './b.ts'
import {
  c,
} from "./c.ts"
export * from './d.ts'
export type { E } from './e.ts'
const f = await import('./f.ts')
export const g = 'no import'
`
    expect(importsOf(text)).toEqual(['./a.ts', './b.ts', './c.ts', './d.ts', './e.ts', './f.ts'])
  })
})
