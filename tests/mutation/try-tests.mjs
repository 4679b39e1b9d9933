// Runs tests against a mutant up to the first that notices.

import { join } from 'node:path'
import { Worker } from 'node:worker_threads'

/** Times the usual duration, and more, after which a test counts as endless. */
const PATIENCE = 6
const PATIENCE_MORE_MS = 4000
/** Memory that no test needs: a mutant that fills it is noticed. */
const MOST_BYTES = 4e9

/**
 * @param {string} folder of the build
 * @param {{ file: string, index: number, ms: number, loadMs: number }[]} tests in this order
 * @returns {Promise<{ noticed: boolean, tests: number }>} and how many were run
 */
export function tryTests(folder, tests) {
  if (tests.length === 0) return Promise.resolve({ noticed: false, tests: 0 })
  return new Promise((resolve) => {
    const worker = new Worker(join(folder, 'tests/mutation/run-tests.mjs'), {
      workerData: { build: folder, tests: tests.map(({ file, index }) => ({ file, index })) },
      resourceLimits: { maxOldGenerationSizeMb: 2000 },
      stdout: true,
      stderr: true,
    })
    let order = 0
    let limit
    const before = process.memoryUsage.rss()
    const watch = setInterval(() => {
      if (process.memoryUsage.rss() - before > MOST_BYTES) finish(true)
    }, 200)
    const finish = (noticed) => {
      clearTimeout(limit)
      clearInterval(watch)
      void worker.terminate().then(() => resolve({ noticed, tests: order + 1 }))
    }
    worker.on('message', (message) => {
      if (message.passed) return finish(false)
      order = message.begins ?? message.failed
      if (message.failed !== undefined) return finish(true)
      clearTimeout(limit)
      const { ms, loadMs } = tests[order]
      limit = setTimeout(finish, PATIENCE * (ms + loadMs) + PATIENCE_MORE_MS, true)
    })
    worker.on('error', () => finish(true))
  })
}
