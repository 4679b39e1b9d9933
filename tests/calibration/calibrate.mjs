// npm run calibrate [-- --captures N --seed N]: measures random captures of known cards and prints how often the errors
// lie within the stated uncertainties. Exit status 1 where they do not as often as they ought to.

import { parseArgs } from 'node:util'
import { createViteServer } from 'vitest/node'

const { values } = parseArgs({
  options: {
    captures: { type: 'string', default: '1000' },
    seed: { type: 'string', default: '1' },
  },
})

// the generator and the judges are TypeScript: loaded as the tests load them
const server = await createViteServer({
  configFile: false,
  appType: 'custom',
  logLevel: 'error',
  server: { middlewareMode: true, watch: null, ws: false },
  optimizeDeps: { noDiscovery: true },
})
try {
  const { calibrate } = await server.ssrLoadModule('/tests/calibration/calibrate.ts')
  const { text, isHeld } = calibrate(Number(values.captures), Number(values.seed))
  console.log(text)
  process.exitCode = isHeld ? 0 : 1
} finally {
  await server.close()
}
