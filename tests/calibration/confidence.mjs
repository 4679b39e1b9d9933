// Prints how often answers of each confidence are right: `npm run calibrate:confidence -- --captures 1000 --seed 1`.

import { parseArgs } from 'node:util'
import { startVitest } from 'vitest/node'

const { values } = parseArgs({
  options: {
    captures: { type: 'string', default: '1000' },
    seed: { type: 'string', default: '1' },
    /** Also one line for every capture. */
    verbose: { type: 'boolean', default: false },
  },
})
process.env.CAPTURES = values.captures
process.env.SEED = values.seed
if (values.verbose) process.env.VERBOSE = '1'
const vitest = await startVitest('test', ['tests/calibration/confidence.test.ts'], {
  run: true,
  watch: false,
  disableConsoleIntercept: true,
})
await vitest?.close()
