// The scripts and the style that go into a page: read from the charting library as it is installed, and from our own file.

import { createHash } from 'node:crypto'
import { readFile } from 'node:fs/promises'
import { createRequire } from 'node:module'
import { fileURLToPath } from 'node:url'
import type { InlineScript, PageSubject } from '../page/page-subject.ts'

/** Beside the sources: a browser's script is not compiled, so it is the same file whether we run from src or from dist. */
const PAGE_SCRIPT = new URL('../../src/page/page-script.js', import.meta.url)

/** Reads what `reportPage` puts into its page. */
export async function readPageCode(): Promise<PageSubject['code']> {
  const require = createRequire(import.meta.url)
  const files = [
    require.resolve('uplot/dist/uPlot.iife.min.js'),
    require.resolve('uplot/dist/uPlot.min.css'),
    require.resolve('uplot/LICENSE'),
    fileURLToPath(PAGE_SCRIPT),
  ] as const
  const [charts, chartStyle, licence, page] = await Promise.all([
    readFile(files[0], 'utf8'),
    readFile(files[1], 'utf8'),
    readFile(files[2], 'utf8'),
    readFile(files[3], 'utf8'),
  ])
  return {
    // its licence asks to go wherever it goes
    charts: inlineScript(`/*\n${licence.trim()}\n*/\n${charts}`),
    chartStyle,
    page: inlineScript(page),
  }
}

function inlineScript(source: string): InlineScript {
  // HTML parsing turns every line end into a line feed, and the digest is taken of what comes out
  const normal = source.replaceAll('\r\n', '\n')
  return { source: normal, sha256Base64: createHash('sha256').update(normal).digest('base64') }
}
