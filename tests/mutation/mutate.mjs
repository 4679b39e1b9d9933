// npm run mutate: changes the measuring core one operator or constant at a time, and sees whether the tests notice.
//
//   npm run mutate -- [--count 300] [--seed 1] [--folders sync,dots,classify] [--minutes 60]
//
// Works in a copy of src/ and tests/ in a temporary folder. A mutant runs against the tests of its own folder first, and
// against those of the whole flow if it survives them. A run that takes far longer than usual counts as noticed: a loop
// that never ends is seen by everybody.

import { spawnSync } from 'node:child_process'
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { mutantsOf } from './mutants.mjs'

const ROOT = fileURLToPath(new URL('../..', import.meta.url))
/** Tests of the whole flow, for what those of a folder let through: those that say most in a minute. */
const FLOW_TESTS = [
  'tests/measure-faults.test.ts',
  'tests/measure-crtc.test.ts',
  'tests/measure-properties.test.ts',
  'tests/measure-evidence.test.ts',
  'tests/measure-odd.test.ts',
  'tests/pulses.test.ts',
  'tests/pulses-vsync.test.ts',
]
/** Times the usual duration after which a run counts as endless. */
const PATIENCE = 6

const { values: options } = parseArgs({
  options: {
    count: { type: 'string', default: '300' },
    seed: { type: 'string', default: '1' },
    folders: { type: 'string', default: 'sync,dots,classify' },
    minutes: { type: 'string', default: '600' },
  },
})
const folders = options.folders.split(',')
const deadline = Date.now() + Number(options.minutes) * 60_000

const copy = mkdtempSync(join(tmpdir(), 'rastertap-mutate-'))
process.on('exit', () => rmSync(copy, { recursive: true, force: true }))
process.on('SIGINT', () => process.exit(130))
for (const name of [
  'src',
  'tests',
  'fixtures',
  'package.json',
  'tsconfig.json',
  'README.md',
  'DEVELOPERS.md',
])
  cpSync(join(ROOT, name), join(copy, name), { recursive: true })
symlinkSync(join(ROOT, 'node_modules'), join(copy, 'node_modules'))

const all = folders.flatMap((folder) =>
  readdirSync(join(copy, 'src', folder))
    .filter((name) => name.endsWith('.ts'))
    .flatMap((name) => {
      const file = join('src', folder, name)
      return mutantsOf(file, readFileSync(join(copy, file), 'utf8'))
    }),
)
const chosen = shuffled(all, Number(options.seed)).slice(0, Number(options.count))
console.log(`${all.length} mutants in ${folders.join(', ')}; ${chosen.length} of them, seed ${options.seed}`)

// how long the tests take when nothing is changed, and that they pass
const usual = new Map()
for (const tests of [...folders.map(testsOf), FLOW_TESTS]) {
  const began = Date.now()
  const { noticed, output } = run(tests, 30 * 60_000)
  if (noticed) throw new Error(`the tests fail before anything is changed:\n${output}`)
  usual.set(tests.join(), Date.now() - began)
}

let noticed = 0
let tried = 0
for (const mutant of chosen) {
  if (Date.now() > deadline) break
  const path = join(copy, mutant.file)
  const source = readFileSync(path, 'utf8')
  writeFileSync(path, source.slice(0, mutant.start) + mutant.after + source.slice(mutant.end))
  const own = testsOf(mutant.file.split('/')[1])
  const isNoticed = [own, FLOW_TESTS].some((tests) => run(tests, PATIENCE * usual.get(tests.join())).noticed)
  writeFileSync(path, source)
  tried++
  if (isNoticed) noticed++
  else
    console.log(`survived: ${mutant.file}:${mutant.line}  ${mutant.before} -> ${mutant.after || 'nothing'}`)
  if (tried % 20 === 0) console.log(`${noticed} of ${tried} noticed`)
}
console.log(`${noticed} of ${tried} noticed: ${((100 * noticed) / tried).toFixed(1)} %`)

function testsOf(folder) {
  return [`tests/${folder}/`]
}

/** @returns whether the tests notice: they fail, or do not end */
function run(tests, mostMs) {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [join(ROOT, 'node_modules/vitest/vitest.mjs'), 'run', ...tests, '--bail', '1', '--maxWorkers', '1'],
    { cwd: copy, encoding: 'utf8', timeout: mostMs, killSignal: 'SIGKILL', env: { ...process.env, CI: '1' } },
  )
  return { noticed: status !== 0, output: `${stdout}${stderr}`.slice(-2000) }
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
