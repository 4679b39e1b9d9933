// Child process of the benchmark: one contender, one input, once. Its peak memory is nobody else's.

import { CONTENDERS } from './contenders.mjs'
import { INPUTS } from './inputs.mjs'

const [contenderName, inputId, file] = process.argv.slice(2)
const contender = CONTENDERS.find(({ name }) => name === contenderName)
const input = INPUTS.find(({ id }) => id === inputId)
globalThis.gc?.()
const began = performance.now()
const { peakBytes, ...answer } = await contender.run(file, input)
const seconds = (performance.now() - began) / 1000
process.send({
  seconds,
  answer,
  // a contender that is another process tells its own; of wc and cat it is not known
  peakBytes: contender.side === 'floor' ? null : (peakBytes ?? process.resourceUsage().maxRSS * 1024),
})
process.disconnect()
