// What every test reaches and how long it takes, when nothing is changed. Kept between calls, for it takes minutes: a test
// file is run again when it, or anything but tests, has changed.

import { createHash } from 'node:crypto'
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { Worker } from 'node:worker_threads'
import { filesIn } from './build.mjs'

/** Where the measuring core is tested: by itself, and in the whole flow from the bytes on. */
const FOLDERS = /^tests\/((approved|calibration|classify|dots|report|sync|transitions)\/)?[^/]+\.test\.js$/
/** Tests that start processes, or read the program's text, or watch the clock. */
const LEFT_OUT = /\/(cuts|error-codes|fixtures|flow|measure-time|open-capture|readme.*|.*-shared)\.test/
/** A file that takes longer than this is of no use. */
const MOST_MS = 10 * 60_000

/**
 * @typedef {object} WatchedTest
 * @property {string} file
 * @property {number} index
 * @property {number} ms
 * @property {number} loadMs what the file works out before its first test
 * @property {Uint8Array} hits one bit an offset
 */

/**
 * @param {string} folder of the build
 * @param {Record<string, number[]>} offsets by file of the program
 * @param {RegExp} wanted names of test files
 * @returns {Promise<WatchedTest[]>}
 */
export async function watchedTests(folder, offsets, wanted) {
  const basis =
    JSON.stringify(offsets) +
    contentOf(folder, [...filesIn(folder, 'src', '.js'), ...filesIn(folder, 'tests/support', '')])
  const store = join(tmpdir(), 'rastertap-mutate-reach')
  mkdirSync(store, { recursive: true })
  const tests = []
  const files = filesIn(folder, 'tests', '')
  for (const file of files.filter(
    (name) => FOLDERS.test(name) && !LEFT_OUT.test(name) && wanted.test(name),
  )) {
    // a test file leans on what lies beside it, if that is no test itself
    const beside = files.filter((name) => dirname(name) === dirname(file) && !/\.test\.js$|\.map$/.test(name))
    const hash = createHash('sha256')
      .update(basis)
      .update(contentOf(folder, [file, ...beside]))
      .digest('hex')
    const kept = join(store, `${hash}.json`)
    let watched
    try {
      watched = JSON.parse(readFileSync(kept, 'utf8'))
    } catch {
      watched = await watch(folder, file, offsets)
      writeFileSync(kept, JSON.stringify(watched))
    }
    for (const { error, hits, ...rest } of watched) {
      if (error === undefined) tests.push({ file, ...rest, hits: Buffer.from(hits, 'base64') })
      else console.log(`fails before anything is changed, left out: ${file} ${rest.index}: ${error}`)
    }
  }
  return tests
}

function watch(folder, file, offsets) {
  return new Promise((resolve, reject) => {
    const worker = new Worker(join(folder, 'tests/mutation/run-tests.mjs'), {
      workerData: { build: folder, file, offsets },
      stdout: true,
      stderr: true,
    })
    const list = []
    const began = Date.now()
    const limit = setTimeout(() => finish({ loadMs: 0 }), MOST_MS)
    const finish = ({ loadMs }) => {
      clearTimeout(limit)
      void worker.terminate()
      console.log(`${file}: ${list.length} tests, ${((Date.now() - began) / 1000).toFixed(1)} s`)
      resolve(list.map((one) => ({ ...one, loadMs })))
    }
    worker.on('message', (message) => {
      if (message.passed) finish(message)
      else list.push({ ...message, hits: Buffer.from(message.hits).toString('base64') })
    })
    worker.on('error', (error) => {
      clearTimeout(limit)
      reject(new Error(`${file}: ${error.stack}`))
    })
  })
}

function contentOf(folder, names) {
  const hash = createHash('sha256')
  for (const name of names) hash.update(readFileSync(join(folder, name)))
  return hash.digest('hex')
}
