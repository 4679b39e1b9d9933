// npm run bench: generates captures, times readers, whole identify, other packages and the floor on them, prints Markdown.
//
//   npm run bench -- [--quick | --size MB] [--runs N] [--input TEXT] [--contender TEXT] [--memory]
//
// --quick takes 20 MB inputs instead of 100 MB; --input and --contender pick those whose id or name holds the text;
// --memory compares the peak memory of identify on inputs of 100 MB and of 1 GB instead.

import { fork } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { cpus, tmpdir } from 'node:os'
import { join } from 'node:path'
import { isDeepStrictEqual, parseArgs } from 'node:util'
import { endWithSignals } from '../support/end-with-signals.mjs'
import { CONTENDERS } from './contenders.mjs'
import { INPUTS, writeInput } from './inputs.mjs'
import { MEMORY_HEAD, memoryRow, TABLE_HEAD, tableRows } from './table.mjs'

const MEGABYTE = 1e6
/** A contender that takes this long is timed fewer times. */
const SLOW_SECONDS = 5
const SLOW_RUNS = 2
const MEMORY_SIZES = [100 * MEGABYTE, 1000 * MEGABYTE]

const { values: options } = parseArgs({
  options: {
    size: { type: 'string' },
    runs: { type: 'string', default: '3' },
    quick: { type: 'boolean', default: false },
    memory: { type: 'boolean', default: false },
    input: { type: 'string', default: '' },
    contender: { type: 'string', default: '' },
  },
})
const sizeBytes = Number(options.size ?? (options.quick ? 20 : 100)) * MEGABYTE
const runs = Number(options.runs)
if (!(sizeBytes >= MEGABYTE)) throw new RangeError('--size takes megabytes, at least 1')
if (!(runs >= 1)) throw new RangeError('--runs takes a number, at least 1')

const inputs = INPUTS.filter(({ id }) => id.includes(options.input))
const folder = mkdtempSync(join(tmpdir(), 'rastertap-bench-'))
process.on('exit', () => rmSync(folder, { recursive: true, force: true }))
endWithSignals()

console.log(`Node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}\n`)
if (options.memory) await compareMemory()
else await compareSpeed()

async function compareSpeed() {
  console.log(`Inputs of ${sizeBytes / MEGABYTE} MB; median of up to ${runs} runs.\n\n${TABLE_HEAD}`)
  for (const input of inputs) {
    await withInput(input, sizeBytes, async (file, contents) => {
      const rivals = CONTENDERS.filter(({ reads, name }, i) => {
        return (reads?.(input) ?? true) && (i === 0 || name.includes(options.contender))
      })
      const results = await timed(rivals, input, file, contents)
      console.log(tableRows(results))
    })
  }
}

async function compareMemory() {
  console.log(`${MEMORY_HEAD}`)
  const command = CONTENDERS.find(({ name }) => name === 'our identify (command)')
  for (const input of inputs) {
    const peaks = []
    for (const size of MEMORY_SIZES) {
      await withInput(input, size, async (file, contents) => {
        peaks.push((await run(command, input, file, contents)).peakBytes)
      })
    }
    console.log(memoryRow(input.name, MEMORY_SIZES, peaks))
  }
}

async function withInput(input, bytes, use) {
  const file = join(folder, input.id)
  const contents = writeInput(input, file, bytes)
  try {
    await use(file, contents)
  } finally {
    rmSync(file)
  }
}

/**
 * Round by round, so that a busy minute of the machine falls on all alike. Every run's answer is checked; the file has
 * just been written, so all find it in the page cache.
 */
async function timed(rivals, input, file, contents) {
  const seconds = rivals.map(() => [])
  const peaks = rivals.map(() => [])
  for (let round = 0; round < runs; round++) {
    for (const [i, contender] of rivals.entries()) {
      if (round >= SLOW_RUNS && Math.max(...seconds[i]) > SLOW_SECONDS) continue
      const timing = await run(contender, input, file, contents)
      seconds[i].push(timing.seconds)
      if (timing.peakBytes !== null) peaks[i].push(timing.peakBytes)
    }
  }
  return rivals.map((contender, i) => ({
    input,
    contender,
    megabytesPerSecond: contents.bytes / MEGABYTE / median(seconds[i]),
    peakBytes: peaks[i].length > 0 ? Math.max(...peaks[i]) : null,
  }))
}

function median(values) {
  const sorted = values.toSorted((a, b) => a - b)
  return (sorted[(sorted.length - 1) >> 1] + sorted[sorted.length >> 1]) / 2
}

/** One run in a child process. @throws where the answer is not what the generator wrote */
async function run(contender, input, file, contents) {
  // the child starts with this process's peak as its own, so nothing large may ever live here
  const child = fork(new URL('./run-contender.mjs', import.meta.url), [contender.name, input.id, file])
  const message = await new Promise((resolve, reject) => {
    child.on('message', resolve)
    child.on('exit', (status) => reject(new Error(`${contender.name} on ${input.id} ended with ${status}`)))
  })
  const expected = contender.expected(contents)
  if (isDeepStrictEqual(message.answer, expected)) return message
  throw new Error(
    `${contender.name} on ${input.id} answers ${JSON.stringify(message.answer)}, not ${JSON.stringify(expected)}`,
  )
}
