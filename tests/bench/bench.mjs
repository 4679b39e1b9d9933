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
import { CONTENDERS } from './contenders.mjs'
import { INPUTS, writeInput } from './inputs.mjs'
import { MEMORY_HEAD, memoryRow, TABLE_HEAD, tableRows } from './table.mjs'

const MEGABYTE = 1e6
/** A contender this slow is as good as timed after two runs. */
const SLOW_SECONDS = 5
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
process.on('SIGINT', () => process.exit(130))

console.log(`Node ${process.version}, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown processor'}\n`)
if (options.memory) await compareMemory()
else await compareSpeed()

async function compareSpeed() {
  console.log(`Inputs of ${sizeBytes / MEGABYTE} MB; median of up to ${runs} runs.\n\n${TABLE_HEAD}`)
  for (const input of inputs) {
    await withInput(input, sizeBytes, async (file, contents) => {
      const results = []
      const rivals = CONTENDERS.filter(({ reads, name }, i) => {
        return (reads?.(input) ?? true) && (i === 0 || name.includes(options.contender))
      })
      for (const contender of rivals) results.push(await timed(contender, input, file, contents))
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

/** Every run's answer is checked; the file has just been written, so all find it in the page cache. */
async function timed(contender, input, file, contents) {
  const timings = []
  const peaks = []
  for (let wanted = runs; timings.length < wanted; ) {
    const { seconds, peakBytes } = await run(contender, input, file, contents)
    timings.push(seconds)
    if (peakBytes !== null) peaks.push(peakBytes)
    if (seconds > SLOW_SECONDS) wanted = Math.min(wanted, 2)
  }
  return {
    input,
    contender,
    megabytesPerSecond: contents.bytes / MEGABYTE / median(timings),
    peakBytes: peaks.length > 0 ? Math.max(...peaks) : null,
  }
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
