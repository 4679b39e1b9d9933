// A thread or process that runs tests of one build, in the order it is told, up to the first that fails. With `offsets` it runs them
// all and says which places of the program each of them reaches.

import { once } from 'node:events'
import { Session } from 'node:inspector/promises'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { parentPort, workerData } from 'node:worker_threads'
import { beginGroups, collect, runTest } from './test-api.mjs'

/**
 * @type {{
 *   build: string,
 *   tests: { file: string, index: number }[] | undefined,
 *   file: string | undefined,
 *   offsets: Record<string, number[]> | undefined,
 * }}
 */
const { build, tests, file: wholeFile, offsets } = workerData ?? (await once(process, 'message'))[0]

/** Tells whoever started this. */
const tell = (message) => (parentPort ? parentPort.postMessage(message) : process.send(message))

const testsIn = new Map()
async function testsOf(file) {
  let known = testsIn.get(file)
  if (!known) {
    known = await collect(() => import(pathToFileURL(join(build, file)).href))
    testsIn.set(file, known)
  }
  return known
}

async function runInOrder() {
  for (const [order, { file, index }] of tests.entries()) {
    tell({ begins: order })
    try {
      await runTest((await testsOf(file))[index])
    } catch {
      tell({ failed: order })
      return
    }
  }
  tell({ passed: true })
}

/** Tells for every test how long it takes, what it reaches, and whether it passes as it should. */
async function runWatched() {
  const session = new Session()
  session.connect()
  await session.post('Profiler.enable')
  await session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true })
  const began = performance.now()
  const all = await testsOf(wholeFile)
  const loadMs = performance.now() - began
  // what a file works out while it loads serves all its tests
  const loaded = await reached(session)
  for (const [index, one] of all.entries()) {
    if (one.skipped || one.suite.skipped) continue
    const start = performance.now()
    let error
    try {
      // what runs before a group serves all its tests
      if (await beginGroups(one)) merge(loaded, await reached(session))
      await runTest(one)
    } catch (thrown) {
      error = String(thrown)
    }
    const ms = performance.now() - start
    const hits = await reached(session)
    merge(hits, loaded)
    tell({ index, ms, error, hits })
  }
  tell({ loadMs, passed: true })
}

/** One bit an offset, the files' offsets one after the other: whether it was reached since the last call. */
async function reached(session) {
  const { result } = await session.post('Profiler.takePreciseCoverage')
  const byUrl = new Map(result.map((script) => [script.url, script]))
  const bits = new Uint8Array(Math.ceil(Object.values(offsets).flat().length / 8))
  let at = 0
  for (const [file, places] of Object.entries(offsets)) {
    const script = byUrl.get(pathToFileURL(join(build, file)).href)
    const ranges = script?.functions.flatMap((one) => one.ranges) ?? []
    for (const place of places) {
      if (countAt(ranges, place) > 0) bits[at >> 3] |= 1 << (at & 7)
      at++
    }
  }
  return bits
}

function merge(into, bits) {
  for (let i = 0; i < bits.length; i++) into[i] |= bits[i]
}

/** Ranges lie in one another; the innermost counts. */
function countAt(ranges, offset) {
  let best
  for (const range of ranges) {
    if (range.startOffset > offset || range.endOffset <= offset) continue
    if (!best || range.endOffset - range.startOffset <= best.endOffset - best.startOffset) best = range
  }
  return best?.count ?? 0
}

// what it tells last is still on its way: a process is ended by whoever started it
if (!parentPort) process.on('message', () => {})
await (tests ? runInOrder() : runWatched())
