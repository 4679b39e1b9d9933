// Runs tests against a mutant up to the first that notices, in a process of its own: a list that grows without end takes
// its whole process down.

import { fork } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'

/** Times the usual duration, and more, after which a test counts as endless. */
const PATIENCE = 6
const PATIENCE_MORE_MS = 4000
/** Memory that no test needs: a mutant that fills it is noticed. */
const MOST_BYTES = 4e9

const running = new Set()
process.on('exit', () => {
  for (const child of running) child.kill('SIGKILL')
})

/**
 * @param {string} folder of the build
 * @param {{ file: string, index: number, ms: number, loadMs: number }[]} tests in this order
 * @returns {Promise<{ noticed: boolean, tests: number }>} and how many were run
 */
export function tryTests(folder, tests) {
  if (tests.length === 0) return Promise.resolve({ noticed: false, tests: 0 })
  return new Promise((resolve) => {
    const child = fork(join(folder, 'tests/mutation/run-tests.mjs'), {
      execArgv: ['--max-old-space-size=2000'],
      stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
    })
    running.add(child)
    child.send({ build: folder, tests: tests.map(({ file, index }) => ({ file, index })) })
    let order = 0
    let limit
    let over = false
    const watch = setInterval(() => {
      if (bytesOf(child.pid) > MOST_BYTES) finish(true)
    }, 200)
    const finish = (noticed) => {
      if (over) return
      over = true
      clearTimeout(limit)
      clearInterval(watch)
      running.delete(child)
      child.kill('SIGKILL')
      resolve({ noticed, tests: order + 1 })
    }
    child.on('message', (message) => {
      if (message.passed) return finish(false)
      order = message.begins ?? message.failed
      if (message.failed !== undefined) return finish(true)
      clearTimeout(limit)
      const { ms, loadMs } = tests[order]
      limit = setTimeout(finish, PATIENCE * (ms + loadMs) + PATIENCE_MORE_MS, true)
    })
    child.on('exit', () => finish(true))
    child.on('error', () => finish(true))
  })
}

/** Memory of a process; 0 where the system does not tell. */
function bytesOf(pid) {
  try {
    return 4096 * Number(readFileSync(`/proc/${pid}/statm`, 'utf8').split(' ')[1])
  } catch {
    return 0
  }
}
