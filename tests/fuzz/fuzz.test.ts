// A small part of `npm run fuzz`, with seeds that stay: thousands of inputs for the readers, some for whole commands.

import { afterAll, expect, it } from 'vitest'
import { CommandCheck } from './check-command.ts'
import { runCommandInput, runReaderInput } from './fuzzer.ts'

const READER_INPUTS = 1000
const COMMAND_INPUTS = 40

const check = new CommandCheck()
afterAll(() => check.close())

it('the readers answer any bytes with transitions or one clear error, in time, however they are cut', () => {
  const outcomes = new Map<string, number>()
  for (let input = 0; input < READER_INPUTS; input++) {
    const outcome = runReaderInput(1, input)
    outcomes.set(outcome, (outcomes.get(outcome) ?? 0) + 1)
  }
  // else it is the inputs that are at fault
  expect(outcomes.get('vcd read')).toBeGreaterThan(READER_INPUTS / 20)
  expect(outcomes.get('csv read')).toBeGreaterThan(READER_INPUTS / 20)
  expect(outcomes.size).toBeGreaterThan(30)
}, 60_000)

it('whole commands answer any bytes with an answer as promised or one clear error, in time', async () => {
  const outcomes = new Set<string>()
  for (let input = 0; input < COMMAND_INPUTS; input++) outcomes.add(await runCommandInput(1, input, check))
  for (const command of ['identify', 'render', 'pulses', 'report'])
    expect(outcomes).toContain(`${command} answer`)
  expect(outcomes.size).toBeGreaterThan(15)
}, 60_000)
