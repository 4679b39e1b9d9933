// npm run fuzz: random inputs for as long as one likes.
//
//   npm run fuzz -- [--inputs N] [--seed S] [--share F] [--only N --command]
//
// --share is the part of the inputs that goes through whole commands, the rest goes to the readers; --only makes one input
// again, writes it to standard output and checks it, as a reader's or with --command as a command's. Exits with 1 when an
// input did what no input may do.

import { writeFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { CommandCheck } from './check-command.ts'
import { commandInput, readerInput, runCommandInput, runReaderInput } from './fuzzer.ts'

const REPORT_EVERY = 20_000
/** Asking for the peak costs as much as a small input. */
const MEMORY_EVERY = 64
/** Peak memory that no input may drive the process over, in megabytes. */
const MAX_MEMORY_MB = 900
const MOST_FINDINGS = 20

const { values: options } = parseArgs({
  options: {
    inputs: { type: 'string', default: '100000' },
    seed: { type: 'string', default: String(Date.now() % 1e9) },
    share: { type: 'string', default: '0.02' },
    only: { type: 'string' },
    command: { type: 'boolean', default: false },
  },
})
const seed = Number(options.seed)
const inputs = Number(options.inputs)
const every = Math.max(1, Math.round(1 / Number(options.share)))
if (!(inputs > 0) || !Number.isInteger(seed) || !(Number(options.share) >= 0))
  throw new RangeError('--inputs, --seed and --share take numbers')

const check = new CommandCheck()
try {
  if (options.only === undefined) await runAll()
  else await runOne(Number(options.only))
} finally {
  check.close()
}

async function runOne(input: number): Promise<void> {
  const { bytes } = options.command ? commandInput(seed, input) : readerInput(seed, input)
  writeFileSync(1, bytes)
  console.error(options.command ? await runCommandInput(seed, input, check) : runReaderInput(seed, input))
}

async function runAll(): Promise<void> {
  const outcomes = new Map<string, number>()
  const began = Date.now()
  let findings = 0
  let commands = 0
  for (let input = 0; input < inputs && findings < MOST_FINDINGS; input++) {
    const isCommand = input % every === 0
    try {
      const outcome = isCommand ? await runCommandInput(seed, input, check) : runReaderInput(seed, input)
      outcomes.set(outcome, (outcomes.get(outcome) ?? 0) + 1)
    } catch (error) {
      findings++
      console.log(`finding: --seed ${seed} --only ${input}${isCommand ? ' --command' : ''}`)
      console.log(
        error instanceof Error
          ? `${error.message}\n${error.cause instanceof Error ? error.cause.stack : error.stack}`
          : error,
      )
    }
    if (isCommand) commands++
    if ((input + 1) % REPORT_EVERY === 0)
      console.log(`${input + 1} inputs, ${seconds()} s, peak ${peakMegabytes()} MB`)
    if (input % MEMORY_EVERY === 0 && peakMegabytes() > MAX_MEMORY_MB) {
      findings++
      console.log(`finding: peak memory ${peakMegabytes()} MB at or before --seed ${seed} --only ${input}`)
      break
    }
  }
  for (const [outcome, times] of [...outcomes].sort()) console.log(`${String(times).padStart(9)}  ${outcome}`)
  const run = [...outcomes.values()].reduce((sum, times) => sum + times, 0) + findings
  console.log(
    `${run} inputs (${commands} through whole commands) with seed ${seed} in ${seconds()} s, peak ${peakMegabytes()} MB, findings: ${findings}`,
  )
  if (findings > 0) process.exitCode = 1

  function seconds(): string {
    return ((Date.now() - began) / 1000).toFixed(0)
  }
}

function peakMegabytes(): number {
  return Math.round(process.resourceUsage().maxRSS / 1024)
}
