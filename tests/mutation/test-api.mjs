// The part of vitest's interface that the tests use, so that they run in a plain thread or process: starting vitest for every mutant
// would take longer than most of them live. `expect` is vitest's own.

import { expect } from 'vitest'

export { expect }

/**
 * @typedef {object} Suite
 * @property {Suite | undefined} parent
 * @property {boolean} skipped
 * @property {Function[]} before run once, before the first of its tests
 * @property {Function[]} beforeEach
 * @property {boolean} begun
 */

/** @type {{ run: Function, suite: Suite, skipped: boolean }[]} */
let collected = []
/** @type {Suite} */
let suite = suiteIn(undefined)

function suiteIn(parent) {
  return { parent, skipped: false, before: [], beforeEach: [], begun: false }
}

/**
 * The tests of one file in the order of the text; none has run yet.
 * @param {() => Promise<unknown>} load imports the file
 */
export async function collect(load) {
  collected = []
  suite = suiteIn(undefined)
  await load()
  return collected
}

/** Runs what has to run once before a test. Says whether there was anything. */
export async function beginGroups({ suite: own }) {
  let ran = false
  for (const one of groupsOf(own)) {
    if (one.begun) continue
    one.begun = true
    for (const hook of one.before) await hook()
    ran ||= one.before.length > 0
  }
  return ran
}

/** Runs one test with what has to run before it. Throws what it throws. */
export async function runTest(one) {
  await beginGroups(one)
  for (const group of groupsOf(one.suite)) for (const hook of group.beforeEach) await hook()
  await one.run()
}

/** From the outermost inwards. */
function groupsOf(own) {
  const groups = []
  for (let one = own; one; one = one.parent) groups.unshift(one)
  return groups
}

function callable(skipped) {
  return (_name, ...more) => {
    const run = more.find((one) => typeof one === 'function')
    if (run) collected.push({ run: () => run({ skip() {} }), suite, skipped })
  }
}

function groupable(skipped) {
  return (_name, ...more) => {
    const outer = suite
    suite = suiteIn(outer)
    suite.skipped = skipped || outer.skipped
    more.find((one) => typeof one === 'function')()
    suite = outer
  }
}

/** Adds `each`, `skip` and `skipIf` to what makes a test or a group. */
function withForms(make) {
  const form = (skipped) => {
    const plain = make(skipped)
    plain.each =
      (rows) =>
      (name, ...more) => {
        const at = more.findIndex((one) => typeof one === 'function')
        for (const row of rows) {
          const run = more[at]
          const withRow = Array.isArray(row) ? () => run(...row) : () => run(row)
          plain(name, ...more.slice(0, at), withRow, ...more.slice(at + 1))
        }
      }
    return plain
  }
  const all = form(false)
  all.skip = form(true)
  all.skipIf = (condition) => form(Boolean(condition))
  return all
}

export const describe = withForms(groupable)
export const test = withForms(callable)
export const it = withForms(callable)
export const beforeAll = (hook) => suite.before.push(hook)
export const beforeEach = (hook) => suite.beforeEach.push(hook)
/** Nothing is put away: the thread or process ends. */
export const afterAll = () => {}
/** Time limits are the caller's. */
export const vi = { setConfig() {} }
