// npm run mutate: changes the measuring core one operator or constant at a time, and sees whether the tests notice.
//
//   npm run mutate -- [--count 300] [--seed 1] [--folders sync,dots,classify] [--only sync/wander] [--tests '/(approved|sync)/'] [--minutes 60] [--workers 1]
//
// The program and its tests are compiled once. Every test is then run with nothing changed, to see what it reaches. A mutant
// is tried against the tests that reach it, in a process of its own: first those that notice most in a second. A test that
// does not end counts as noticing; MOST_MS is how much of the tests' time a mutant may live through.

import { readFileSync, writeFileSync } from 'node:fs'
import { SourceMap } from 'node:module'
import { availableParallelism } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { endWithSignals } from '../support/end-with-signals.mjs'
import { build, copyOf, filesIn } from './build.mjs'
import { mutantsOf } from './mutants.mjs'
import { placesOf } from './places.mjs'
import { tryTests } from './try-tests.mjs'
import { watchedTests } from './watched-tests.mjs'

/** Usual time of the tests that are tried on one mutant. */
const MOST_MS = 40_000

const { values: options } = parseArgs({
  options: {
    count: { type: 'string', default: '300' },
    seed: { type: 'string', default: '1' },
    folders: { type: 'string', default: 'sync,dots,classify' },
    only: { type: 'string', default: '' },
    tests: { type: 'string', default: '' },
    minutes: { type: 'string', default: '600' },
    workers: { type: 'string', default: String(Math.ceil(availableParallelism() / 2)) },
  },
})
const deadline = Date.now() + Number(options.minutes) * 60_000
endWithSignals()

const folder = build()
const sources = new Map(
  filesIn(folder, 'src', '.js').map((file) => [file, readFileSync(join(folder, file), 'utf8')]),
)
const places = placesOf(sources)
const all = options.folders
  .split(',')
  .flatMap((name) => filesIn(folder, `src/${name}`, '.js'))
  .flatMap((file) => mutantsOf(file, sources.get(file)))
  .map((mutant) => ({ ...mutant, ...places(mutant) }))

const offsets = {}
for (const { file, offset } of all.flatMap((mutant) => mutant.places)) (offsets[file] ??= []).push(offset)
for (const file of Object.keys(offsets)) offsets[file] = [...new Set(offsets[file])].sort((a, b) => a - b)
const bitOf = new Map()
for (const file of Object.keys(offsets))
  for (const offset of offsets[file]) bitOf.set(`${file}:${offset}`, bitOf.size)

const tests = (await watchedTests(folder, offsets, new RegExp(options.tests))).map((test) => ({
  ...test,
  tried: 0,
  noticed: 0,
}))
/** Test files that look at a constant themselves, such as a table: what they reach in functions says nothing of that. */
const wordsOf = new Map()
for (const { file } of tests)
  if (!wordsOf.has(file))
    wordsOf.set(file, new Set(readFileSync(join(folder, file), 'utf8').match(/[\w$]+/g)))
const wanted = all.filter(({ file }) => file.includes(options.only))
const chosen = shuffled(wanted, Number(options.seed)).slice(0, Number(options.count))
console.log(
  `${all.length} mutants in ${options.folders}; ${chosen.length} of them, seed ${options.seed}; ${tests.length} tests`,
)

const began = Date.now()
let noticed = 0
let tried = 0
const queue = [...chosen]
const folders = [folder]
while (folders.length < Number(options.workers)) folders.push(copyOf(folder))
await Promise.all(folders.map(work))
console.log(
  `${noticed} of ${tried} noticed: ${((100 * noticed) / tried).toFixed(1)} %, ` +
    `${((Date.now() - began) / 1000 / tried).toFixed(1)} s each`,
)

async function work(own) {
  for (;;) {
    const mutant = Date.now() > deadline ? undefined : queue.shift()
    if (!mutant) return
    const path = join(own, mutant.file)
    const source = sources.get(mutant.file)
    writeFileSync(path, source.slice(0, mutant.start) + mutant.after + source.slice(mutant.end))
    const reaching = testsFor(mutant)
    const end = await tryTests(own, reaching)
    writeFileSync(path, source)
    tried++
    for (const test of reaching.slice(0, end.tests)) test.tried++
    if (end.noticed) {
      noticed++
      reaching[end.tests - 1].noticed++
    } else {
      const ms = reaching.reduce((sum, test) => sum + test.ms, 0)
      console.log(
        `survived: ${placeOf(mutant)}  ${mutant.before} -> ${mutant.after || 'nothing'}` +
          `  (${reaching.length} tests, ${(ms / 1000).toFixed(0)} s)`,
      )
    }
    if (tried % 20 === 0) console.log(`${noticed} of ${tried} noticed`)
  }
}

/** Those that reach it: first those that notice most in a second, as far as is known by now. */
function testsFor(mutant) {
  const bits = mutant.places.map(({ file, offset }) => bitOf.get(`${file}:${offset}`))
  const worth = ({ tried, noticed, ms, loadMs }) => (noticed + 0.5) / (tried + 5) / (20 + ms + loadMs / 4)
  const reaching = tests
    .filter(
      ({ file, hits }) =>
        bits.some((bit) => hits[bit >> 3] & (1 << (bit & 7))) ||
        mutant.names.some((name) => wordsOf.get(file).has(name)),
    )
    .sort((a, b) => worth(b) - worth(a))
  const list = []
  let ms = 0
  for (const test of reaching) {
    if (ms + test.ms > MOST_MS) continue
    ms += test.ms
    list.push(test)
  }
  return list
}

/** In the TypeScript, with the text of the line. */
function placeOf({ file, line, start }) {
  const map = new SourceMap(JSON.parse(readFileSync(join(folder, `${file}.map`), 'utf8')))
  const column = start - (sources.get(file).lastIndexOf('\n', start - 1) + 1)
  const { originalLine } = map.findEntry(line - 1, column)
  const name = file.replace(/\.js$/, '.ts')
  const text = sources.get(file).split('\n')[line - 1].trim()
  return `${name}:${originalLine + 1}  ${text}  |`
}

/** Fisher and Yates, with numbers from a generator that gives the same for a seed (mulberry32, common practice). */
function shuffled(list, seed) {
  const result = [...list]
  let state = seed
  const random = () => {
    state = (state + 0x6d2b79f5) | 0
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296
  }
  for (let i = result.length - 1; i > 0; i--) {
    const other = Math.floor(random() * (i + 1))
    ;[result[i], result[other]] = [result[other], result[i]]
  }
  return result
}
